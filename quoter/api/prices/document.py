"""A quote as the API and the command line give it: a snapshot's plain data, with every figure as text beside it."""

import datetime as dt
from collections.abc import Mapping, Set
from dataclasses import asdict
from typing import Any

from orjson import Fragment, dumps

from quoter.records.access import StoredKey
from quoter.records.quotes import IssuedQuote
from quoter.records.results import Result
from quoter.service.quotes.snapshot import Data
from quoter.words.shown import TextOf
from quoter.words.wording import wording_for

NEVER_SHOWN = ("digits", "titles", "translations")
"""Members of a snapshot that serve to show it and are not shown themselves."""

HIDDEN_FROM = {
    "owner": frozenset[str](),
    "staff": frozenset({"economics"}),
    "customer": frozenset({"economics", "plan", "consumption", "parts", "cuts", "needs_owner"}),
}
"""Members that an audience does not see."""

READS_COSTS = frozenset({"part", "consumable"})
"""Kinds of line whose derivation starts from what the shop pays."""


def document(
    result: Mapping[str, Any], job: Mapping[str, Any], book: Mapping[str, Any], tag: str, audience: str
) -> Data:
    """A priced job in a locale, as one of the audiences of `HIDDEN_FROM` may see it."""
    text = TextOf(result, job, wording_for(tag))
    hidden = HIDDEN_FROM[audience].union(NEVER_SHOWN)
    return {
        "currency": result["currency"],
        "locale": wording_for(tag).tag,
        "book": book,
        "job": job,
        **{name: value for name, value in result.items() if name not in hidden},
        "lines": [_line(line, text, audience) for line in result["lines"]],
        "formatted": _formatted(text, result.keys() - hidden),
    }


def kept_document(
    result: Mapping[str, Any], job: Mapping[str, Any], book: Mapping[str, Any], tag: str, audience: str
) -> Data:
    """The same for who only sends it on; in the job's locale its members are written once for a result at hand."""
    if not isinstance(result, Result) or tag != job["locale"]:
        return document(result, job, book, tag, audience)
    return result.made(f"written for {audience}", lambda: _written(document(result, job, book, tag, audience)))


def _written(shown: Mapping[str, Any]) -> Data:
    """Each large member, and each of those in `formatted`, as JSON that is copied into the answer as it is."""
    members = {name: _text(value) for name, value in shown.items() if name != "formatted"}
    return members | {"formatted": {name: _text(value) for name, value in shown["formatted"].items()}}


def _text(value: Any) -> Any:
    """A copy of the bytes, since those that orjson gives take several times their length."""
    return Fragment(bytes(memoryview(dumps(value)))) if isinstance(value, dict | list) else value


def audience_of(key: StoredKey) -> str:
    """Who looks through a key: the web form shows customers, a desk key staff, unless it may see economics."""
    if key.sees_economics:
        return "owner"
    return "customer" if key.scope == "form" else "staff"


def quote_document(quote: IssuedQuote, now: str, tag: str, audience: str) -> Data:
    """An issued quote in a locale: its identity and state, then what was priced."""
    zone = quote.result["shop"]["timezone"]
    book = {"code": quote.book, "version": quote.book_version, "digest": quote.book_digest}
    identity = {
        "id": quote.id,
        "number": quote.number,
        "revision": quote.revision,
        "state": quote.state_at(now),
        "issued_at": quote.issued_at,
        "issued_by": quote.issued_by,
        "expires_at": quote.expires_at,
    }
    shown = kept_document(quote.result, quote.job, book, tag, audience)
    issued_at = wording_for(tag).formats.moment(dt.datetime.fromisoformat(quote.issued_at), zone)
    return {**identity, **shown, "formatted": {**shown["formatted"], "issued_at": issued_at}}


def quote_summary(quote: IssuedQuote, now: str, tag: str) -> Data:
    """An issued quote in a list."""
    result, wording = quote.result, wording_for(tag)
    zone = result["shop"]["timezone"]
    return {
        "id": quote.id,
        "number": quote.number,
        "revision": quote.revision,
        "state": quote.state_at(now),
        "issued_at": quote.issued_at,
        "valid_until": result["valid_until"],
        "contact": asdict(quote.contact),
        "device": quote.job["device"],
        "title": result["titles"]["device"],
        "procedures": [repair["procedure"] for repair in quote.job["repairs"]],
        "currency": result["currency"],
        "totals": result["totals"],
        "formatted": {
            "issued_at": wording.formats.moment(dt.datetime.fromisoformat(quote.issued_at), zone),
            "valid_until": wording.formats.date(dt.date.fromisoformat(result["valid_until"])),
            "totals": TextOf(result, quote.job, wording).totals(),
        },
    }


def _formatted(text: TextOf, members: Set[str]) -> Data:
    """What everybody sees, and of the rest what is among the members: an older quote has fewer."""
    made = {"plan": text.plan, "consumption": text.consumption, "cuts": text.cuts, "economics": text.economics}
    return text.quote() | {member: make() for member, make in made.items() if member in members}


def _line(line: Mapping[str, Any], text: TextOf, audience: str) -> Data:
    shown = {**line, "description": text.description(line)}
    if audience == "customer" or (audience == "staff" and line["kind"] in READS_COSTS):
        del shown["because"]
    return shown
