"""Issued quotes: each with every revision, whole, and with everything that has happened to it."""

from collections.abc import Callable, Iterator
from typing import Any

from sqlite_utils import Database

from quoter.books.effect import IssuedJob
from quoter.problems import ChangedMeanwhile
from quoter.records.quotes import DECISIONS, IssuedQuote, QuoteEvent, QuoteFilter
from quoter.records.rates import QuoteRange
from quoter.store.counting import next_number
from quoter.store.database import Store, insert
from quoter.store.quote_rows import (
    REVISION,
    decision_row,
    event_from,
    event_row,
    issued_job,
    quote_from,
    quote_row,
    revision_row,
)
from quoter.store.quote_search import conditions

BATCH = 500
"""Issued jobs that are read at a time."""

LARGEST_REVISION = 2**31 - 1
"""Beyond any number that is given; SQLite refuses to look for far larger ones."""

Heard = Callable[[IssuedQuote, QuoteEvent], None]
"""Is told of every event of a quote within the transaction that keeps it, before what was there is overwritten."""

_NEWEST = f"{REVISION} and revisions.revision = quotes.revision"


class Quotes:
    """Quotes by id. What `add` and `change` were given is on disk when they return."""

    def __init__(self, store: Store, heard: Heard = lambda quote, event: None) -> None:
        self._store, self._heard = store, heard

    def add(self, quote: IssuedQuote, device_words: str) -> IssuedQuote:
        """Keeps a new quote, its first event with it, and gives it the next number of its year, in one transaction."""
        revision = revision_row(quote)  # compressed before, so that nobody waits for it
        with self._store.write() as database:
            quote = quote.numbered(next_number(database, f"quotes {quote.issued_at[:4]}"))
            new = {
                "id": quote.id,
                "number": quote.number,
                "book": quote.book,
                "device": quote.job["device"],
                "device_words": device_words,
                "issued_at": quote.issued_at,
            }
            insert(database, "quotes", new | quote_row(quote))
            insert(database, "revisions", revision)
            event = _issue_of(quote)
            insert(database, "quote_events", event_row(event))
            self._heard(quote, event)
        return quote

    def change(self, changed: IssuedQuote, event: QuoteEvent) -> None:
        """Keeps a quote as it is after an event: the next version of what was seen. All of it happens, or nothing.

        Raises ChangedMeanwhile where the quote is not at the version before any more.
        """
        with self._store.write() as database:
            _check_unchanged(database, changed)
            self._heard(changed, event)
            if event.kind == "revised":
                database.table("revisions").insert(revision_row(changed))
            if event.kind in DECISIONS and changed.decision:
                database.table("decisions").insert(decision_row(changed.id, changed.version, changed.decision))
            database.table("quotes").update(changed.id, quote_row(changed))
            database.table("quote_events").insert(event_row(event))

    def get(self, quote_id: str) -> IssuedQuote | None:
        """The newest revision of a quote."""
        row = self._store.row(f"{_NEWEST} where quotes.id = :id", {"id": quote_id})
        return quote_from(row) if row else None

    def revision(self, quote_id: str, revision: int) -> IssuedQuote | None:
        """A certain revision of a quote."""
        if not 0 < revision <= LARGEST_REVISION:
            return None
        sql = f"{REVISION} where quotes.id = :id and revisions.revision = :revision"
        row = self._store.row(sql, {"id": quote_id, "revision": revision})
        return quote_from(row) if row else None

    def revisions(self, quote_id: str) -> list[IssuedQuote]:
        """Every revision of a quote, the first one first."""
        sql = f"{REVISION} where quotes.id = :id order by revisions.revision"
        return [quote_from(row) for row in self._store.rows(sql, {"id": quote_id})]

    def by_link(self, link: str) -> IssuedQuote | None:
        """The newest revision of the quote that a customer's link leads to."""
        row = self._store.row(f"{_NEWEST} where quotes.link = :link and quotes.link <> ''", {"link": link})
        return quote_from(row) if row else None

    def events(self, quote_id: str, after: int = 0) -> list[QuoteEvent]:
        """What has happened to a quote since a version of it, oldest first."""
        sql = """
            select quote_events.*, decisions.name, decisions.contact, decisions.note, revisions.reason
            from quote_events
            left join decisions
                on decisions.quote = quote_events.quote and decisions.version = quote_events.version
            left join revisions
                on revisions.quote = quote_events.quote and revisions.revision = quote_events.revision
                and quote_events.kind = 'revised'
            where quote_events.quote = :id and quote_events.version > :after order by quote_events.version
        """
        return [event_from(row) for row in self._store.rows(sql, {"id": quote_id, "after": after})]

    def find(self, wanted: QuoteFilter, now: str) -> list[IssuedQuote]:
        """The newest quotes first, at most `wanted.limit`, from after `wanted.after` on."""
        all_of, values = conditions(wanted, now)
        sql = f"{_NEWEST} where {' and '.join(all_of)} order by quotes.id desc limit :limit"
        return [quote_from(row) for row in self._store.rows(sql, values | {"limit": wanted.limit})]

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
            yield from map(issued_job, rows)
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


def _issue_of(quote: IssuedQuote) -> QuoteEvent:
    return QuoteEvent(
        quote=quote.id,
        version=quote.version,
        kind="issued",
        revision=quote.revision,
        at=quote.issued_at,
        by=quote.issued_by,
        data={"told": list(quote.told)},
    )


def _check_unchanged(database: Database, changed: IssuedQuote) -> None:
    (row,) = database.query("select number, version from quotes where id = ?", [changed.id])
    if row["version"] != changed.version - 1:
        raise ChangedMeanwhile(f"quote {row['number']} is not what you have seen: it has been changed meanwhile")
