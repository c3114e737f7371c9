"""Issued quotes: each with every revision, whole."""

import json
import zlib
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from sqlite_utils import Database

from quoter.books.effect import IssuedJob
from quoter.engine.earnings import Earning
from quoter.job import job_from
from quoter.records import IssuedQuote, QuoteFilter, QuoteRange
from quoter.store.database import Store

BATCH = 500
"""Issued jobs that are read at a time."""

_CURRENT = """
    select quotes.id, quotes.number, quotes.expires_at, revisions.*
    from quotes join revisions on revisions.quote = quotes.id and revisions.revision = quotes.revision
"""


class Quotes:
    """Quotes by id. What `add` was given is on disk when it returns."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, quote: IssuedQuote, device_words: str) -> IssuedQuote:
        """Keeps a new quote and gives it the next number of its year, in one transaction."""
        with self._store.write() as database:
            quote = quote.numbered(_next(database, f"quotes {quote.issued_at[:4]}"))
            database.table("quotes").insert(
                {
                    "id": quote.id,
                    "number": quote.number,
                    "book": quote.book,
                    "device": quote.job["device"],
                    "device_words": device_words,
                    "revision": quote.revision,
                    "issued_at": quote.issued_at,
                    "expires_at": quote.expires_at,
                }
            )
            database.table("revisions").insert(_revision_row(quote))
        return quote

    def get(self, quote_id: str) -> IssuedQuote | None:
        """The newest revision of a quote."""
        row = self._store.row(f"{_CURRENT} where quotes.id = :id", {"id": quote_id})
        return _quote(row) if row else None

    def find(self, wanted: QuoteFilter, now: str) -> list[IssuedQuote]:
        """The newest quotes first, at most `wanted.limit`, from after `wanted.after` on."""
        conditions, values = _conditions(wanted, now)
        rows = self._store.rows(
            f"{_CURRENT} where {' and '.join(conditions)} order by quotes.id desc limit :limit", values
        )
        return [_quote(row) for row in rows]

    def count_issued(self, book: str, wanted: QuoteRange) -> int:
        """How many `issued_jobs` will give."""
        row = self._store.row(f"select count(*) as count {_RANGE}", _range_values(book, wanted))
        return min(row["count"] if row else 0, wanted.limit)

    def issued_jobs(self, book: str, wanted: QuoteRange) -> Iterator[IssuedJob]:
        """The jobs of a book's issued quotes with what they came to, the newest first, without their documents.

        Read in batches: who takes their time over them keeps nobody from writing.
        """
        sql = f"""
            select quotes.id, number, currency, net, gross, cost, margin, below_floor, job {_RANGE}
            and quotes.id < :after order by quotes.id desc limit :limit
        """
        values, left = _range_values(book, wanted) | {"after": "~"}, wanted.limit
        while left > 0:
            rows = self._store.rows(sql, values | {"limit": min(left, BATCH)})
            yield from map(_issued_job, rows)
            if len(rows) < BATCH:
                return
            left -= len(rows)
            values["after"] = rows[-1]["id"]


_RANGE = """
    from quotes join revisions on revisions.quote = quotes.id and revisions.revision = quotes.revision
    where quotes.book = :book and quotes.issued_at >= :since and quotes.issued_at < :until
"""


def _range_values(book: str, wanted: QuoteRange) -> dict[str, Any]:
    return {"book": book, "since": wanted.since or "", "until": wanted.until or "~"}


def _issued_job(row: dict[str, Any]) -> IssuedJob:
    margin = None if row["margin"] is None else Decimal(row["margin"])
    net, gross, cost = (Decimal(row[name]) for name in ("net", "gross", "cost"))
    return IssuedJob(
        id=row["id"],
        number=row["number"],
        currency=row["currency"],
        job=job_from(json.loads(row["job"])),
        earning=Earning(net, gross, cost, margin, bool(row["below_floor"])),
    )


def _revision_row(quote: IssuedQuote) -> dict[str, Any]:
    totals, economics = quote.result["totals"], quote.result["economics"]
    return {
        "quote": quote.id,
        "revision": quote.revision,
        "issued_at": quote.issued_at,
        "issued_by": quote.issued_by,
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
        "result": zlib.compress(_text(quote.result).encode()),
    }


def _next(database: Database, name: str) -> int:
    sql = (
        "insert into counters (name, value) values (:name, 1) "
        "on conflict (name) do update set value = value + 1 returning value"
    )
    return int(next(iter(database.execute(sql, {"name": name})))[0])


def _conditions(wanted: QuoteFilter, now: str) -> tuple[list[str], dict[str, Any]]:
    possible = {
        "quotes.id < :after": wanted.after,
        "quotes.number = :number": wanted.number,
        "quotes.book = :book": wanted.book,
        "quotes.device = :device": wanted.device,
        "quotes.issued_at >= :since": wanted.since,
        "quotes.issued_at < :until": wanted.until,
        "quotes.device_words like :words escape '\\'": wanted.words and f"%{_escaped(wanted.words)}%",
    }
    given = {condition: value for condition, value in possible.items() if value is not None}
    values: dict[str, Any] = {condition.split(":")[1].split()[0]: value for condition, value in given.items()}
    states = {"issued": "quotes.expires_at > :now", "expired": "quotes.expires_at <= :now"}
    if wanted.state:
        given[states[wanted.state]] = values["now"] = now
    return ["true", *given], values | {"limit": wanted.limit}


def _escaped(words: str) -> str:
    return "".join("\\" + sign if sign in "\\%_" else sign for sign in words.casefold())


def _text(document: Any) -> str:
    return json.dumps(document, ensure_ascii=False, separators=(",", ":"))


def _quote(row: dict[str, Any]) -> IssuedQuote:
    return IssuedQuote(
        id=row["id"],
        number=row["number"],
        revision=row["revision"],
        issued_at=row["issued_at"],
        issued_by=row["issued_by"],
        expires_at=row["expires_at"],
        book=row["book"],
        book_version=row["book_version"],
        book_digest=row["book_digest"],
        job=json.loads(row["job"]),
        result=json.loads(zlib.decompress(row["result"])),
    )
