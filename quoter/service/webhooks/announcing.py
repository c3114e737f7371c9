"""What is announced to other programs: that something happened to a quote, an enquiry or a rate book.

An announcement is kept in the transaction of what it tells about: it is lost with it, and never without it. It has
ids, states, amounts and times; never a name, a number, a note, or what the shop earns.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from quoter.records.quotes import DECISIONS, IssuedQuote, QuoteEvent
from quoter.records.rates import BookVersion
from quoter.records.webhooks import TRIAL, Announcement, Delivery, Webhook
from quoter.service.clock import Clock, stamp
from quoter.service.ids import time_ordered_id
from quoter.service.ports import Expiries, Outbox, Together

Data = dict[str, Any]

KINDS = {"issued": "quote.issued", "revised": "quote.revised", **dict.fromkeys(DECISIONS, "quote.decided")}
"""By the kind of a quote's event. What changes only how a customer is reached is nobody else's business."""

MOST_AT_ONCE = 100
"""Expired quotes that are announced in one transaction: others want to write, too."""


@dataclass(frozen=True, slots=True)
class Announcing:
    """Keeps announcements for the webhooks that want them. Where nobody does, nothing is written."""

    outbox: Outbox
    expiries: Expiries
    together: Together
    now: Clock

    def tell(self, kind: str, about: str, body: Mapping[str, Any]) -> None:
        """Announces that something has happened just now. `about` is the path of the thing in the API.

        Call it within the transaction that keeps what happened.
        """
        self._tell(kind, about, body, stamp(self.now()))

    def quote_changed(self, quote: IssuedQuote, event: QuoteEvent) -> None:
        """Announces an event of a quote; first that the revision before had expired, if nobody has said so yet."""
        if event.kind != "issued":
            self._tell_expired(self.expiries.take(event.at, 1, quote.id))
        if event.kind in KINDS:
            self._tell(KINDS[event.kind], quote_path(quote), quote_data(quote, event), event.at)

    def book_published(self, version: BookVersion) -> None:
        """Announces a version of a rate book, with the moment from which it counts."""
        self._tell("book.published", f"/v1/books/{version.code}", version_data(version), version.published_at)

    def tell_expired(self) -> bool:
        """Announces some of the quotes that have expired undecided, each once. False where there is none."""
        now = stamp(self.now())
        if not self.expiries.any_due(now):
            return False
        with self.together():
            self._tell_expired(self.expiries.take(now, MOST_AT_ONCE))
        return True

    def trial(self, webhook: Webhook) -> Delivery:
        """Something to be told to this webhook alone, which says nothing."""
        moment = self.now()
        about, at = f"/v1/webhooks/{webhook.id}", stamp(moment)
        (delivery,) = self.outbox.add(_announcement(moment, TRIAL, about, at, {"webhook": webhook.id}), webhook.id)
        return delivery

    def _tell_expired(self, quotes: list[IssuedQuote]) -> None:
        for quote in quotes:
            self._tell("quote.expired", quote_path(quote), expiry_data(quote), quote.expires_at)

    def _tell(self, kind: str, about: str, data: Mapping[str, Any], at: str) -> None:
        self.outbox.add(_announcement(self.now(), kind, about, at, data))


def _announcement(moment: Any, kind: str, about: str, at: str, data: Mapping[str, Any]) -> Announcement:
    return Announcement(id=time_ordered_id(moment), kind=kind, about=about, at=at, body=message(kind, about, at, data))


def message(kind: str, about: str, at: str, data: Mapping[str, Any]) -> str:
    """The document that is sent, byte for byte the same at every attempt."""
    whole = {"type": kind, "timestamp": at, "about": about, "data": data}
    return json.dumps(whole, ensure_ascii=False, separators=(",", ":"))


def quote_path(quote: IssuedQuote) -> str:
    """Where a quote is read."""
    return f"/v1/quotes/{quote.id}"


def quote_data(quote: IssuedQuote, event: QuoteEvent) -> Data:
    """What is said about an event of a quote: what it is now, and of a decision what and when."""
    said = _quote_data(quote, quote.standing)
    if event.kind in DECISIONS:
        said |= {"decision": event.kind, "decided_at": event.data["decided_at"], "how": event.data["how"]}
    return said


def expiry_data(quote: IssuedQuote) -> Data:
    """What is said about a revision that the clock has ended."""
    return _quote_data(quote, "expired")


def _quote_data(quote: IssuedQuote, state: str) -> Data:
    totals = quote.result["totals"]
    return {
        "quote": quote.id,
        "number": quote.number,
        "revision": quote.revision,
        "version": quote.version,
        "state": state,
        "book": quote.book,
        "book_version": quote.book_version,
        "device": quote.job["device"],
        "currency": quote.result["currency"],
        "net": totals["net"],
        "gross": totals["gross"],
        "issued_at": quote.issued_at,
        "expires_at": quote.expires_at,
    }


def version_data(version: BookVersion) -> Data:
    """What is said about a version of a rate book. Why it was published is for the owner."""
    names = ("code", "version", "digest", "published_at", "counts_from", "returns_to")
    said = {name: getattr(version, name) for name in names}
    return {"book": said.pop("code"), **said}
