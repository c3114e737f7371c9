"""What the form of a revision offers: everything that the rates have for the device, with what is chosen now."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from quoter.book import Part, RateBook
from quoter.money import ARITHMETIC
from quoter.records import IssuedQuote
from quoter.service.devices import findings_for

Data = dict[str, Any]


def revision_form(quote: IssuedQuote, book: RateBook) -> Data:
    """Repairs, parts, findings and terms of the newest job among all that a version of the rates offers."""
    job = quote.job
    chosen = {repair["procedure"]: repair for repair in job["repairs"]}
    offered = book.offered.get(job["device"], {})
    repairs = [_repair(code, chosen.get(code), job["device"], book) for code in offered]
    discount = job["discount"]
    return {
        "job": job,
        "repairs": [each for each in repairs if each["chosen"]],
        "more_repairs": [each for each in repairs if not each["chosen"]],
        "slots": [_slot(slot, sku, job["device"], book) for slot, sku in job["parts"].items()],
        "findings": [
            {"code": finding.code, "title": finding.title, "chosen": finding.code in job["findings"]}
            for finding in (findings_for(job["device"], book) if offered else ())
        ],
        "percent": _percent(discount["rate"]) if discount else "",
        "discount_reason": discount["reason"] if discount else "",
    }


def _percent(rate: str) -> str:
    return format(Decimal(rate).scaleb(2, ARITHMETIC).normalize(), "f")


def _repair(code: str, chosen: Mapping[str, str] | None, device: str, book: RateBook) -> Data:
    procedure = book.procedures[code]
    fitting = book.parts_for(device, procedure.slot) if procedure.slot else ()
    wish = chosen or {}
    return {
        "code": code,
        "title": procedure.title,
        "chosen": chosen is not None,
        "wish": f"part:{wish['part']}" if "part" in wish else f"grade:{wish['grade']}" if "grade" in wish else "",
        "grades": list(dict.fromkeys(part.grade for part in fitting)),
        "parts": [_part(part) for part in fitting],
    }


def _slot(slot: str, sku: str | None, device: str, book: RateBook) -> Data:
    return {"slot": slot, "sku": sku or "", "parts": [_part(part) for part in book.parts_for(device, slot)]}


def _part(part: Part) -> Data:
    return {"sku": part.sku, "title": part.title}
