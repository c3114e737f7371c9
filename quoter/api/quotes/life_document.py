"""A quote with what has become of it: revisions, decision, agreement, what comes next, history, comparison."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import asdict
from decimal import Decimal

from quoter.api.prices.document import quote_document
from quoter.records.quotes import Agreement, Decision, IssuedQuote, QuoteEvent
from quoter.service.quotes.agreements import Consent, consent_needed, next_decisions
from quoter.service.quotes.side_by_side import side_by_side
from quoter.service.quotes.snapshot import Data
from quoter.service.quotes.telling import events_told
from quoter.words.compared import ComparisonText
from quoter.words.shown import TextOf
from quoter.words.wording import Wording, wording_for


def whole_document(
    quote: IssuedQuote, revisions: Iterable[IssuedQuote], now: str, tag: str, audience: str, link: str
) -> Data:
    """A revision in a locale with the life of its quote so far; `link` is where its customer reads it."""
    wording = wording_for(tag)
    text, consent = TextOf(quote.result, quote.job, wording), consent_needed(quote)
    shown = quote_document(quote, now, tag, audience)
    formatted = {
        "decision": _decision_text(quote, text, wording),
        "agreement": _agreement_text(quote.agreement, text),
        "needs_consent": _consent_text(consent, text) if consent else None,
    }
    return {
        **shown,
        "version": quote.version,
        "contact": asdict(quote.contact),
        "erased_at": quote.erased_at,
        "link": link,
        "reason": quote.reason,
        "told": list(quote.told),
        "revisions": [_revision(each, now, wording) for each in revisions],
        "decision": _decision(quote.decision),
        "agreement": _agreement(quote.agreement),
        "needs_consent": _consent(consent) if consent else None,
        "next": list(next_decisions(quote, now)),
        "formatted": {**shown["formatted"], **formatted},
    }


def comparison_document(old: IssuedQuote, new: IssuedQuote, tag: str) -> Data:
    """Two revisions beside each other in a locale."""
    wording = wording_for(tag)
    comparison, text = side_by_side(old, new), ComparisonText(old, new, wording)
    rows = [{**row, "description": text.description(row)} for row in comparison["lines"]]
    formatted = {"locale": wording.tag, "direction": wording.formats.direction, **text.all(comparison)}
    return {**comparison, "lines": rows, "formatted": formatted}


def history_document(quote: IssuedQuote, events: list[QuoteEvent], tag: str) -> Data:
    """What has happened to a quote, each event also as a sentence in a locale."""
    wording = wording_for(tag)
    text = TextOf(quote.result, quote.job, wording)
    told = [wording.text(message) for message in events_told(events, text.measured)]
    return {
        "events": [_event(each, sentence, quote, wording) for each, sentence in zip(events, told, strict=True)],
    }


def meanwhile(quote: IssuedQuote, events: list[QuoteEvent], tag: str) -> tuple[str, ...]:
    """What has happened since somebody looked, a line each."""
    return tuple(each["formatted"]["text"] for each in history_document(quote, events, tag)["events"])


def _event(event: QuoteEvent, sentence: str, quote: IssuedQuote, wording: Wording) -> Data:
    return {
        "version": event.version,
        "at": event.at,
        "by": event.by,
        "kind": event.kind,
        "revision": event.revision,
        "data": dict(event.data),
        "formatted": {"at": _moment(event.at, quote, wording), "text": sentence},
    }


def _revision(quote: IssuedQuote, now: str, wording: Wording) -> Data:
    text, totals = TextOf(quote.result, quote.job, wording), quote.result["totals"]
    return {
        "revision": quote.revision,
        "issued_at": quote.issued_at,
        "issued_by": quote.issued_by,
        "reason": quote.reason,
        "state": quote.state_at(now),
        "book_version": quote.book_version,
        "gross": totals["gross"],
        "formatted": {
            "issued_at": _moment(quote.issued_at, quote, wording),
            "gross": text.money(totals["gross"]),
        },
    }


def _consent(consent: Consent) -> Data:
    return {"extra": _plain(consent.extra), "limit": _plain(consent.limit), "of": consent.of}


def _consent_text(consent: Consent, text: TextOf) -> Data:
    return {
        name: text.measured(amount, consent.of) for name, amount in (("extra", consent.extra), ("limit", consent.limit))
    }


def _decision(decision: Decision | None) -> Data | None:
    return asdict(decision) | {"extra": _plain(decision.extra)} if decision else None


def _decision_text(quote: IssuedQuote, text: TextOf, wording: Wording) -> Data | None:
    decision = quote.decision
    if decision is None:
        return None
    return {
        "at": _moment(decision.at, quote, wording),
        "recorded_at": _moment(decision.recorded_at, quote, wording),
        "extra": None if decision.extra is None else text.money(decision.extra),
    }


def _agreement(agreement: Agreement | None) -> Data | None:
    if agreement is None:
        return None
    amounts = {name: _plain(getattr(agreement, name)) for name in ("gross", "limit")}
    return {"revision": agreement.revision, **amounts, "of": agreement.of}


def _agreement_text(agreement: Agreement | None, text: TextOf) -> Data | None:
    return {name: text.money(getattr(agreement, name)) for name in ("gross", "limit")} if agreement else None


def _plain(amount: Decimal | None) -> str | None:
    return None if amount is None else format(amount, "f")


def _moment(at: str, quote: IssuedQuote, wording: Wording) -> str:
    return wording.formats.moment(dt.datetime.fromisoformat(at), quote.result["shop"]["timezone"])
