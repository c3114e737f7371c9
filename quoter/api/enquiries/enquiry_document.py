"""An enquiry as its visitor and as the shop may see it: plain data, with every figure as text beside it."""

import datetime as dt
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from quoter.api.prices.document import document
from quoter.records.enquiries import Enquiry
from quoter.records.quotes import IssuedQuote
from quoter.service.quotes.snapshot import Data
from quoter.words.shown import TextOf
from quoter.words.wording import Wording, wording_for

_RECEIPT = ("ceiling", "time", "lead_days", "cautions")
_RECEIPT_TEXTS = ("locale", "direction", "device", "ceiling", "time", "lead_time", "cautions")


def receipt(enquiry: Enquiry) -> Data:
    """What a visitor is told, in their locale: no id, nothing of how they are reached, nothing of the shop's."""
    wording = wording_for(enquiry.locale)
    whole = _indication(enquiry, enquiry.locale, "customer")
    told, texts = whole["totals"], whole["formatted"]
    amounts = ("net", "tax", "gross")
    return {
        "reference": enquiry.reference,
        "received_at": enquiry.received_at,
        "locale": whole["locale"],
        "indicative": True,
        "price": {
            "currency": whole["currency"],
            "display": whole["display"],
            **{name: told[name] for name in amounts},
        },
        **{name: whole[name] for name in _RECEIPT},
        "formatted": {
            **{name: texts[name] for name in _RECEIPT_TEXTS},
            "received_at": _moment(enquiry, wording),
            "indicative": indication_text(wording, texts["ceiling"].get("gross")),
            "price": {name: texts["totals"][name] for name in amounts},
        },
    }


def indication_text(wording: Wording, ceiling: str | None) -> str:
    """That the price binds nobody yet, and how far it may go."""
    if ceiling is None:
        return wording.say(
            "This price is an indication. The shop makes you a quote once it knows what the device needs."
        )
    return wording.say(
        "This price is an indication: with what may come to light on the bench it can be up to {ceiling}. "
        "The shop makes you a quote once it knows what the device needs.",
        ceiling=ceiling,
    )


def enquiry_document(enquiry: Enquiry, quote: IssuedQuote | None, tag: str, audience: str) -> Data:
    """An enquiry as the shop sees it; `quote` is the newest revision of what was made of it."""
    wording = wording_for(tag)
    made = quote_of_enquiry(enquiry, quote) if quote else None
    return {
        **_identity(enquiry),
        "version": enquiry.version,
        "through": enquiry.through,
        "origin": enquiry.origin,
        "locale": enquiry.locale,
        "may_be_contacted": enquiry.may_be_contacted,
        "noticed": enquiry.noticed,
        "told_gross": enquiry.result["totals"]["gross"],
        "indication": _indication(enquiry, tag, audience),
        "quote": made,
        "closed_because": enquiry.closed_because,
        "erased_at": enquiry.erased_at,
        "formatted": {
            "received_at": _moment(enquiry, wording),
            "told_gross": TextOf(enquiry.result, enquiry.job, wording).money(enquiry.result["totals"]["gross"]),
            "quote": _quote_texts(made, quote, wording) if made and quote else None,
        },
    }


def enquiry_summary(enquiry: Enquiry, tag: str) -> Data:
    """An enquiry in a list."""
    wording, result = wording_for(tag), enquiry.result
    text = TextOf(result, enquiry.job, wording)
    return {
        **_identity(enquiry),
        "device": enquiry.job["device"],
        "title": result["titles"]["device"],
        "procedures": [repair["procedure"] for repair in enquiry.job["repairs"]],
        "currency": result["currency"],
        "told_gross": result["totals"]["gross"],
        "quote": enquiry.quote,
        "formatted": {
            "received_at": _moment(enquiry, wording),
            "told_gross": text.money(result["totals"]["gross"]),
            "procedures": [text.procedure(repair["procedure"]) for repair in enquiry.job["repairs"]],
        },
    }


def quote_of_enquiry(enquiry: Enquiry, quote: IssuedQuote) -> Data:
    """What was made of an enquiry, and by how much it is more than what the visitor was told."""
    currency, gross = quote.result["currency"], quote.result["totals"]["gross"]
    more = Decimal(gross) - Decimal(enquiry.result["totals"]["gross"])
    return {
        "id": quote.id,
        "number": quote.number,
        "currency": currency,
        "gross": gross,
        "difference": format(more, "f") if currency == enquiry.result["currency"] else None,
    }


def _quote_texts(made: Data, quote: IssuedQuote, wording: Wording) -> dict[str, Any]:
    text = TextOf(quote.result, quote.job, wording)
    return {name: None if made[name] is None else text.money(made[name]) for name in ("gross", "difference")}


def _identity(enquiry: Enquiry) -> Data:
    return {
        "id": enquiry.id,
        "reference": enquiry.reference,
        "standing": enquiry.standing,
        "received_at": enquiry.received_at,
        "contact": asdict(enquiry.contact),
    }


def _indication(enquiry: Enquiry, tag: str, audience: str) -> Data:
    book = {"code": enquiry.book, "version": enquiry.book_version, "digest": enquiry.book_digest}
    return document(enquiry.result, enquiry.job, book, tag, audience)


def _moment(enquiry: Enquiry, wording: Wording) -> str:
    return wording.formats.moment(dt.datetime.fromisoformat(enquiry.received_at), enquiry.result["shop"]["timezone"])
