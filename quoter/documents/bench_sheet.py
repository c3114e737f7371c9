"""A quote as the workshop gets it: plain data in working order, with the plan, how far the
customer has agreed to go, and no other price."""

from collections.abc import Iterator, Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from quoter.documents.cut_drawing import Material, Strip, cut_picture, scale_of
from quoter.documents.reading import Data, Reading, fact, told
from quoter.records.quotes import IssuedQuote
from quoter.words.agreed import agreed_text
from quoter.words.wording import Wording

TENTH = Decimal("0.1")


def bench_sheet(quote: IssuedQuote, wording: Wording) -> Data:
    """The bench copy."""
    read, say = Reading.of(quote, wording), wording.say
    return {
        "copy": "bench",
        **read.frame(say("Bench copy")),
        "agreed": _agreed(read),
        "facts": _facts(read),
        "work": {"heading": say("To be repaired"), "items": read.repairs()},
        "findings": {"heading": say("Seen on the device"), "items": read.findings()},
        "cautions": {"heading": say("Before you begin"), "items": _first_cautions(read)},
        "steps": _steps(read),
        "parts": _parts(read),
        "consumables": _consumables(read),
        "cuts": _cuts(read),
    }


def _agreed(read: Reading) -> str:
    """On top, so that whoever finds more knows when to stop and ask."""
    nothing = read.wording.say("Nothing is agreed yet: the customer is asked about this price.")
    return agreed_text(read.quote, read.wording) or nothing


def _facts(read: Reading) -> list[Data]:
    say, quote, time = read.wording.say, read.quote, read.figures["time"]
    return told(
        fact("number", say("Number"), quote.number),
        fact("revision", say("Revision"), read.wording.formats.number(Decimal(quote.revision))),
        fact("device", say("Device"), read.figures["device"]),
        fact("issued", say("Issued on"), read.day_of(quote.issued_at)),
        fact("quoted", say("Time quoted"), time["quoted"]),
        fact("expected", say("Time expected"), time["expected"]),
        fact("elapsed", say("From start to end"), time["elapsed"]),
    )


def _first_cautions(read: Reading) -> list[str]:
    """Those that belong to no step, for they come from what was seen; and a swollen cell in any case."""
    of_steps = {step["caution"] for step in read.result["plan"]}
    return read.book_texts(
        each["text"] for each in read.cautions() if each["code"] not in of_steps or "swollen" in each["code"]
    )


def _steps(read: Reading) -> Data:
    say = read.wording.say
    return {
        "heading": say("Steps"),
        "columns": [say("Step"), say("Expected"), say("Quoted"), say("Waiting")],
        "tools": say("Tools"),
        "rows": list(_step_rows(read)),
    }


def _step_rows(read: Reading) -> Iterator[Data]:
    """A caution stands in full where it first matters; later steps lead back to it."""
    texts = {each["code"]: read.wording.of_book(each["text"]) for each in read.result["cautions"]}
    first: dict[str, int] = {}
    for number, (step, shown) in enumerate(zip(read.result["plan"], read.text.plan(), strict=True), start=1):
        code = step["caution"]
        yield {
            "number": read.wording.formats.number(Decimal(number)),
            "title": shown["title"],
            "expected": _tenths(read, step["expected_minutes"]),
            "quoted": _tenths(read, step["quoted_minutes"]),
            "waiting": shown["dwell"] if Decimal(step["dwell_minutes"]) else "",
            "tools": read.book_texts(step.get("tools", ())),
            "caution": _caution_at(read, texts.get(code, ""), first.get(code)),
        }
        first.setdefault(code, number)


def _tenths(read: Reading, minutes: str) -> str:
    """Minutes of a step: rounded up to whole ones, as for a customer, they would come to more than the job."""
    return read.wording.formats.quantity(Decimal(minutes).quantize(TENTH, ROUND_HALF_UP), "min")


def _caution_at(read: Reading, text: str, earlier: int | None) -> str:
    if not text or earlier is None:
        return text
    return read.wording.say("The caution at step {n} holds here too.", n=read.wording.formats.number(Decimal(earlier)))


def _parts(read: Reading) -> Data:
    say, formats = read.wording.say, read.wording.formats
    rows = [
        [formats.number(Decimal(part["quantity"])), read.wording.of_book(part["title"]), part["sku"]]
        for part in read.result.get("parts", ())
    ]
    return {"heading": say("Parts"), "columns": [say("Quantity"), say("Part"), say("SKU")], "rows": rows}


def _consumables(read: Reading) -> Data:
    say = read.wording.say
    shown = read.text.consumption() if "consumption" in read.result else []
    rows = [[each["title"], each["needed"], each["billed"]] for each in shown]
    return {"heading": say("Consumables"), "columns": [say("Consumable"), say("Needed"), say("Billed")], "rows": rows}


def _cuts(read: Reading) -> Data:
    """Strips to cut, drawn to scale; the drawing's text alternative says as much as it."""
    say, heading = read.wording.say, read.wording.say("To cut")
    materials = [_material(read, cut) for cut in read.result.get("cuts", ())]
    if not materials:
        return {"heading": heading, "scale": "", "svg": "", "alt": ""}
    listed = [f"{each.title}: {'; '.join(strip.text for strip in each.strips)}." for each in materials]
    drawing = cut_picture(materials, heading, " ".join(listed), rightward=read.wording.direction == "ltr")
    scale = read.wording.formats.number(scale_of(materials))
    return {"heading": heading, "scale": say("Scale 1 : {scale}", scale=scale), "svg": drawing.svg, "alt": drawing.alt}


def _material(read: Reading, cut: Mapping[str, Any]) -> Material:
    width = None if cut["width_mm"] is None else Decimal(cut["width_mm"])
    return Material(read.wording.of_book(cut["title"]), width, [_strip(read, each) for each in cut["pieces"]])


def _strip(read: Reading, piece: Mapping[str, Any]) -> Strip:
    say, formats = read.wording.say, read.wording.formats
    count, length = piece["count"], Decimal(piece["length_mm"])
    places = {"long_sides": say("long sides"), "short_sides": say("short sides"), "corners": say("corners")}
    titles = {step["step"]: read.wording.of_book(step["title"]) for step in read.result["plan"]}
    many = f"{formats.number(Decimal(count))} × {formats.quantity(length, 'mm')}"
    told = (many, places.get(piece["basis"], ""), titles.get(piece["step"], piece["step"]))
    return Strip(count, length, " · ".join(filter(None, told)))
