"""All that is held on one customer as a document for them to read: no costs, no margins, no plans."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import asdict

from quoter.api.prices.document import document, quote_document
from quoter.records.customers import Held, HeldQuote, Who
from quoter.records.enquiries import Enquiry
from quoter.records.quotes import Contact, IssuedQuote, QuoteEvent
from quoter.service.quotes.snapshot import Data
from quoter.service.quotes.telling import events_told
from quoter.words.catalogues import ENGLISH
from quoter.words.shown import TextOf
from quoter.words.wording import Wording, wording_for

ORDER = ("number", "revision", "state", "reason", "told", "issued_at", "expires_at")
"""What a revision begins with; who issued it and under which id is the shop's own business."""


def customer_document(held: Held, now: str) -> Data:
    """In the language of what was quoted or asked last, which explains itself."""
    tags = [each.newest.job["locale"] for each in held.quotes] or [each.locale for each in held.enquiries]
    wording = wording_for(tags[-1] if tags else ENGLISH)
    return {
        "made_at": now,
        "locale": wording.tag,
        "asked_for": _asked_for(held.who),
        "found": not held.is_nothing,
        "explanation": [] if held.is_nothing else _explanation(wording),
        "quotes": [_quote(each, now) for each in held.quotes],
        "enquiries": [_enquiry(each) for each in held.enquiries],
    }


def _asked_for(who: Who) -> Data:
    return {who.named_by: who.value}


def _explanation(wording: Wording) -> list[str]:
    """What the document holds, in sentences."""
    say = wording.say
    return [
        say("This is all that the shop's quotes hold on you, at the moment that made_at names."),
        say("Each quote stands here with your contact data, every revision as you were shown it, and what happened."),
        say("The data of a decision says who decided, when, how, and what was noted then."),
        say("An enquiry is what was sent with the shop's form, and the price that it was answered with."),
        say("What has erased_at was erased at that moment: names, numbers and free texts; figures stay."),
        say("Amounts are decimal numbers as text, moments are in UTC; formatted has both as you read them."),
    ]


def _quote(held: HeldQuote, now: str) -> Data:
    newest = held.newest
    return {
        "number": newest.number,
        "state": newest.state_at(now),
        "contact": asdict(newest.contact),
        "erased_at": newest.erased_at,
        "revisions": [_revision(each, now) for each in held.revisions],
        "history": list(_history(newest, held.events)),
    }


def _revision(quote: IssuedQuote, now: str) -> Data:
    shown = quote_document(quote, now, quote.job["locale"], "customer")
    shown |= {"reason": quote.reason, "told": list(quote.told)}
    for name in ("id", "issued_by"):
        del shown[name]
    return {name: shown[name] for name in ORDER} | shown


def _history(quote: IssuedQuote, events: Iterable[QuoteEvent]) -> Iterable[Data]:
    """What happened, when and as a sentence; `data` is what the sentence is made of."""
    happened = list(events)
    wording = wording_for(quote.job["locale"])
    text = TextOf(quote.result, quote.job, wording)
    for event, message in zip(happened, events_told(happened, text.measured), strict=True):
        yield {
            "at": event.at,
            "kind": event.kind,
            "revision": event.revision,
            "text": wording.text(message),
            "data": dict(event.data),
        }


def _enquiry(enquiry: Enquiry) -> Data:
    book = {"code": enquiry.book, "version": enquiry.book_version, "digest": enquiry.book_digest}
    price = document(enquiry.result, enquiry.job, book, enquiry.locale, "customer")
    zone = enquiry.result["shop"]["timezone"]
    received = wording_for(enquiry.locale).formats.moment(dt.datetime.fromisoformat(enquiry.received_at), zone)
    return {
        "reference": enquiry.reference,
        "received_at": enquiry.received_at,
        "sent_from": enquiry.origin,
        "noticed": enquiry.noticed,
        "contact": asdict(enquiry.contact),
        "may_be_contacted": enquiry.may_be_contacted,
        "standing": enquiry.standing,
        "erased_at": enquiry.erased_at,
        "price": price,
        "formatted": {"received_at": received},
    }


def reached(contact: Contact) -> str:
    """Name, phone and email in one line, as far as they are there."""
    return ", ".join(filter(None, (contact.name, contact.phone, contact.email)))
