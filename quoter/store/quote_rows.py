"""Quotes, decisions and events as rows, and rows as them. Documents are JSON text, results compressed."""

import json
import zlib
from dataclasses import asdict
from decimal import Decimal
from typing import Any

import orjson

from quoter.books.effect import IssuedJob
from quoter.engine.earnings import Earning
from quoter.job import job_from
from quoter.records.quotes import Agreement, Contact, Decision, IssuedQuote, QuoteEvent
from quoter.records.results import made_of
from quoter.store.quote_search import contact_words

COMPRESSION = 1
"""The quickest: results are larger for it, and nobody waits longer than they must while a quote is kept."""

DECISION_COLUMNS = (
    "decision",
    "revision",
    "name",
    "at",
    "how",
    "contact",
    "extra",
    "up_to",
    "note",
    "recorded_by",
    "recorded_at",
)

REVISION = f"""
    select quotes.id, quotes.number, quotes.version, quotes.link, quotes.standing, quotes.agreement, quotes.erased_at,
        quotes.contact_name, quotes.contact_phone, quotes.contact_email, quotes.revision as newest,
        (select json_object({", ".join(f"'{name}', decisions.{name}" for name in DECISION_COLUMNS)})
            from decisions where decisions.quote = revisions.quote and decisions.revision = revisions.revision
            order by decisions.version desc limit 1) as decision,
        revisions.*
    from quotes join revisions on revisions.quote = quotes.id
"""
"""A revision with what stands with the whole quote, in one select, so that nobody writes in between."""


def quote_row(quote: IssuedQuote) -> dict[str, Any]:
    """What changes in the life of a quote."""
    return {
        "version": quote.version,
        "revision": quote.revision,
        "standing": quote.standing,
        "expires_at": quote.expires_at,
        "link": quote.link,
        "contact_name": quote.contact.name,
        "contact_phone": quote.contact.phone,
        "contact_email": quote.contact.email,
        "contact_words": contact_words(quote.contact),
        "agreement": _text(_agreement_data(quote.agreement)) if quote.agreement else None,
    }


def revision_row(quote: IssuedQuote) -> dict[str, Any]:
    """What never changes of a revision, with what many are summed up from."""
    totals, economics = quote.result["totals"], quote.result["economics"]
    return {
        "quote": quote.id,
        "revision": quote.revision,
        "issued_at": quote.issued_at,
        "issued_by": quote.issued_by,
        "expires_at": quote.expires_at,
        "reason": quote.reason,
        "told": _text(quote.told),
        "book": quote.book,
        "book_version": quote.book_version,
        "book_digest": quote.book_digest,
        "currency": quote.result["currency"],
        "net": totals["net"],
        "gross": totals["gross"],
        "cost": economics["cost"],
        "margin": economics["margin"],
        "below_floor": int(economics["below_floor"]),
        "job": _text(quote.job),
        "result": made_of(quote.result, "stored", lambda: zlib.compress(orjson.dumps(quote.result), COMPRESSION)),
    }


def decision_row(quote_id: str, version: int, decision: Decision) -> dict[str, Any]:
    """A decision, with the version that the quote has had since."""
    extra = None if decision.extra is None else str(decision.extra)
    return asdict(decision) | {"quote": quote_id, "version": version, "extra": extra}


def event_row(event: QuoteEvent) -> dict[str, Any]:
    """An event for good."""
    return asdict(event) | {"data": _text(event.data)}


def quote_from(row: dict[str, Any]) -> IssuedQuote:
    """A row of `REVISION`."""
    same = (
        "id",
        "number",
        "revision",
        "issued_at",
        "issued_by",
        "expires_at",
        "reason",
        "version",
        "link",
        "erased_at",
    )
    book = ("book", "book_version", "book_digest")
    return IssuedQuote(
        **{name: row[name] for name in (*same, *book)},
        job=orjson.loads(row["job"]),
        result=orjson.loads(zlib.decompress(row["result"])),
        contact=Contact(name=row["contact_name"], phone=row["contact_phone"], email=row["contact_email"]),
        told=tuple(json.loads(row["told"])),
        standing=row["standing"] if row["revision"] == row["newest"] else "superseded",
        decision=_decision(json.loads(row["decision"])) if row["decision"] else None,
        agreement=_agreement(json.loads(row["agreement"])) if row["agreement"] else None,
    )


def event_from(row: dict[str, Any]) -> QuoteEvent:
    """An event; what people wrote freely is kept elsewhere and filled in as far as it is still there."""
    erasable = {name: row.pop(name) for name in ("name", "contact", "note", "reason")}
    told = {name: value for name, value in erasable.items() if value}
    return QuoteEvent(**row | {"data": json.loads(row["data"]) | told})


def issued_job(row: dict[str, Any]) -> IssuedJob:
    """What was asked and what it came to, without the document."""
    margin = None if row["margin"] is None else Decimal(row["margin"])
    net, gross, cost = (Decimal(row[name]) for name in ("net", "gross", "cost"))
    return IssuedJob(
        id=row["id"],
        number=row["number"],
        currency=row["currency"],
        job=job_from(json.loads(row["job"])),
        earning=Earning(net, gross, cost, margin, bool(row["below_floor"])),
    )


def _agreement_data(agreement: Agreement) -> dict[str, Any]:
    amounts = {name: str(getattr(agreement, name)) for name in ("gross", "net", "limit")}
    return asdict(agreement) | amounts


def _agreement(data: dict[str, Any]) -> Agreement:
    return Agreement(**data | {name: Decimal(data[name]) for name in ("gross", "net", "limit")})


def _decision(data: dict[str, Any]) -> Decision:
    return Decision(**data | {"extra": None if data["extra"] is None else Decimal(data["extra"])})


def _text(document: Any) -> str:
    return orjson.dumps(document).decode()
