"""A quote as its customer gets it: plain data in printing order, every label and figure as text in one language.

The PDF, the page to print and the customer's own page draw from it. It never prices, and nothing in it is the shop's
own business: no cost, margin, plan or derivation.
"""

from decimal import Decimal

from quoter.documents.reading import Data, Reading, fact, told
from quoter.documents.sheet_terms import cautions, contingencies, notices, warranty
from quoter.records.quotes import IssuedQuote
from quoter.words.erased import decider, erased_text
from quoter.words.wording import Wording


def quote_sheet(quote: IssuedQuote, wording: Wording, *, now: str, link: str) -> Data:
    """The customer's copy. `link` is the whole address of the customer's page; "" leaves it out."""
    read = Reading.of(quote, wording)
    state = quote.state_at(now)
    return {
        "copy": "customer",
        **read.frame(read.label()),
        "state": state,
        "notice": _state_notice(read, state),
        "decided": _decided(read, state),
        "shop": _shop(read),
        "facts": _facts(read),
        "headline": _headline(read),
        "customer": fact("customer", wording.say("Customer"), quote.contact.name or erased_text(quote, wording)),
        "device": fact("device", wording.say("Device"), read.figures["device"]),
        "work": {"heading": wording.say("To be repaired"), "items": read.repairs()},
        "findings": {"heading": wording.say("Seen on the device"), "items": read.findings()},
        "lines": _lines(read),
        "totals": _totals(read),
        "tax_reason": read.wording.of_book(read.result["tax_reason"] or ""),
        "practical": _practical(read),
        "contingencies": contingencies(read),
        "warranty": warranty(read),
        "cautions": cautions(read),
        "notices": notices(read),
        "signing": _signing(read, state),
        "online": _online(read, link),
    }


def _state_notice(read: Reading, state: str) -> str:
    """What the reader must know before anything else; nothing while the quote holds."""
    say = read.wording.say
    match state:
        case "expired":
            return say("This is no longer valid: it was valid until {date}.", date=read.figures["valid_until"])
        case "superseded":
            return say("This is no longer valid: a newer revision has taken its place.")
        case "withdrawn":
            return say("This is no longer valid: it was withdrawn.")
        case _:
            return ""


def _decided(read: Reading, state: str) -> str:
    """Who said yes or no, and when; and how far a yes goes."""
    say, decision = read.wording.say, read.quote.decision
    if decision is None or state != decision.decision:
        return ""
    places = {"name": decider(decision, read.wording), "date": read.day_of(decision.at)}
    ceiling = read.figures["ceiling"].get("gross")
    match state:
        case "accepted" if decision.up_to == "ceiling" and ceiling:
            return say("Accepted by {name} on {date}, up to {amount}.", amount=ceiling, **places)
        case "accepted":
            return say("Accepted by {name} on {date}.", **places)
        case "declined":
            return say("Declined by {name} on {date}.", **places)
        case _:
            return ""


def _shop(read: Reading) -> Data:
    say, shop = read.wording.say, read.result["shop"]
    return {
        "name": shop["name"],
        "address": [line for line in map(str.strip, shop["address"].split(",")) if line],
        "contacts": told(
            fact("phone", say("Phone"), shop["phone"]),
            fact("email", say("Email"), shop["email"]),
            fact("contact", say("Also"), read.wording.of_book(shop.get("contact", ""))),
            fact("tax-number", say("Tax number"), shop["tax_number"]),
        ),
    }


def _facts(read: Reading) -> list[Data]:
    say, quote = read.wording.say, read.quote
    return [
        fact("number", say("Number"), quote.number),
        fact("issued", say("Issued on"), read.day_of(quote.issued_at)),
        fact("revision", say("Revision"), read.wording.formats.number(Decimal(quote.revision))),
        fact("valid", say("Valid until"), read.figures["valid_until"]),
    ]


def _headline(read: Reading) -> Data:
    """The one figure to be found at once, and how much of it is tax, in the way that prices are shown there."""
    say, totals, law = read.wording.say, read.figures["totals"], read.result.get("law") or {}
    if not Decimal(read.result["totals"]["tax"]):
        note = ""
    elif law.get("tax_in_price", read.result["display"] == "inclusive"):
        note = say("including {tax} tax", tax=totals["tax"])
    else:
        note = say("{net} and {tax} tax", net=totals["net"], tax=totals["tax"])
    return {"label": read.total_label(), "text": totals["gross"], "note": note}


def _lines(read: Reading) -> Data:
    """What is charged, before tax. One thing alone has no price for one beside its amount."""
    say = read.wording.say
    conditions = {part["sku"]: _condition(read, part.get("condition")) for part in read.result.get("parts", ())}
    rows = [
        {
            **shown,
            "unit_price": "" if (line["quantity"], line["unit"]) == ("1", "each") else shown["unit_price"],
            "detail": conditions.get(line["ref"], "") if line["kind"] == "part" else "",
        }
        for line, shown in zip(read.result["lines"], read.figures["lines"], strict=True)
    ]
    columns = [say("Description"), say("Quantity"), say("Unit price before tax"), say("Amount before tax")]
    return {"heading": say("Price"), "columns": columns, "rows": rows}


def _condition(read: Reading, condition: str | None) -> str:
    """Whether a part is new, where the shop says so."""
    say = read.wording.say
    names = {"new": say("New part"), "refurbished": say("Refurbished part"), "used": say("Used part")}
    return names.get(condition or "", "")


def _totals(read: Reading) -> list[Data]:
    """From what the lines come to, to what is to be paid. Cash stands there where it is paid and rounded."""
    say, shown, totals = read.wording.say, read.figures["totals"], read.result["totals"]
    taxes = [fact("tax-rate", _tax_label(read, row), row["tax"]) for row in read.figures["tax"]]
    rows = [fact("net", say("Total before tax"), shown["net"]), *taxes]
    if len(taxes) != 1:
        rows.append(fact("tax", say("Tax"), shown["tax"]))
    rows.append(fact("gross", read.total_label(), shown["gross"]))
    if read.quote.job["payment"] == "cash" and totals["cash"] != totals["gross"]:
        rows.append(fact("cash", say("To pay in cash"), shown["cash"]))
    if Decimal(read.result["deposit"]):
        rows.append(fact("deposit", say("Of this as a deposit"), read.figures["deposit"]))
    return rows


def _tax_label(read: Reading, row: Data) -> str:
    places = {"name": read.wording.of_book(row["name"]), "taxable": row["taxable"]}
    if row["rate"] is None:
        return read.wording.say("{name} on {taxable}", **places)
    return read.wording.say("{name} {rate} on {taxable}", rate=row["rate"], **places)


def _practical(read: Reading) -> Data:
    """Time, place, and what helps meanwhile."""
    say, shop, figures = read.wording.say, read.result["shop"], read.figures
    lead_time = figures["lead_time"] if read.result["lead_days"] else ""
    handover = read.wording.of_book(shop.get("handover", "")) or shop["address"]
    return {
        "heading": say("Time and place"),
        "facts": told(
            fact("time", say("Time"), _ready(read)),
            fact("lead-time", say("Parts must be ordered"), lead_time),
            fact("handover", say("Bring it to, fetch it from"), handover),
            fact("loan", say("A device meanwhile"), read.wording.of_book(shop.get("loan_device", ""))),
        ),
    }


def _ready(read: Reading) -> str:
    """Nobody shall come back in an hour for a part that arrives tomorrow."""
    say, elapsed = read.wording.say, read.figures["time"]["elapsed"]
    if read.result["lead_days"]:
        return say("Once all parts are here, ready in about {time}", time=elapsed)
    return say("Ready in about {time}", time=elapsed)


def _signing(read: Reading, state: str) -> Data:
    """Lines to sign on, as long as there is something to decide."""
    say = read.wording.say
    if state != "issued":
        return {"text": "", "lines": []}
    return {
        "text": say("I want the repair as described here, at this price."),
        "lines": [say("Name"), say("Date"), say("Signature")],
    }


def _online(read: Reading, link: str) -> Data:
    say = read.wording.say
    return {
        "label": say("To read and answer online"),
        "text": link,
        "alt": say("A code to scan that leads to {address}", address=link) if link else "",
    }
