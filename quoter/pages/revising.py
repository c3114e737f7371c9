"""What the form of a revision offers: everything that the rates have for the device, with what is chosen now."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from quoter.book import Finding, Part, RateBook
from quoter.money import ARITHMETIC
from quoter.records.quotes import IssuedQuote
from quoter.service.rates.devices import findings_for

Data = dict[str, Any]


def revision_form(quote: IssuedQuote, book: RateBook, tag: str) -> Data:
    """Repairs, parts, findings and terms of the newest job among all that a version of the rates offers."""
    job, offered = quote.job, book.offered.get(quote.job["device"], {})
    repairs = [_repair(code, job, book, tag) for code in offered]
    discount = job["discount"]
    return {
        "job": job,
        "repairs": [each for each in repairs if each["chosen"]],
        "more_repairs": [each for each in repairs if not each["chosen"]],
        "slots": [_slot(slot, sku, job["device"], book, tag) for slot, sku in job["parts"].items()],
        "findings": [
            _finding(finding, job, book, tag) for finding in (findings_for(job["device"], book) if offered else ())
        ],
        "percent": _percent(discount["rate"]) if discount else "",
        "discount_reason": discount["reason"] if discount else "",
    }


def _finding(finding: Finding, job: Mapping[str, Any], book: RateBook, tag: str) -> Data:
    """With the warning that comes with it, in the words for the shop."""
    caution = book.cautions[finding.caution] if finding.caution else None
    return {
        "code": finding.code,
        "title": book.text_in(tag, ("findings", finding.code, "title"), finding.title),
        "chosen": finding.code in job["findings"],
        "stops": finding.stops,
        "caution": book.text_in(tag, ("cautions", caution.code, "text"), caution.text) if caution else "",
    }


def _percent(rate: str) -> str:
    return format(Decimal(rate).scaleb(2, ARITHMETIC).normalize(), "f")


def _repair(code: str, job: Mapping[str, Any], book: RateBook, tag: str) -> Data:
    procedure = book.procedures[code]
    fitting = book.parts_for(job["device"], procedure.slot) if procedure.slot else ()
    chosen = next((repair for repair in job["repairs"] if repair["procedure"] == code), None)
    wishes = [f"{kind}:{(chosen or {})[kind]}" for kind in ("part", "grade") if kind in (chosen or {})]
    return {
        "code": code,
        "title": book.text_in(tag, ("procedures", code, "title"), procedure.title),
        "chosen": chosen is not None,
        "wish": wishes[0] if wishes else "",
        "grades": list(dict.fromkeys(part.grade for part in fitting)),
        "parts": [_part(part, book, tag) for part in fitting],
    }


def _slot(slot: str, sku: str | None, device: str, book: RateBook, tag: str) -> Data:
    fitting = [_part(part, book, tag) for part in book.parts_for(device, slot)]
    return {"slot": slot, "sku": sku or "", "parts": fitting}


def _part(part: Part, book: RateBook, tag: str) -> Data:
    return {"sku": part.sku, "title": book.text_in(tag, ("parts", part.sku, "title"), part.title)}
