"""What is held on one customer: found by something that is theirs exactly, and erased so that SQLite forgets it too.

Figures, lines, numbers and events stay: no event has ever held a name.
"""

import json
from collections.abc import Iterable, Iterator

from sqlite_utils import Database

from quoter.problems import NotFound
from quoter.records.customers import Erasure, Order, Who
from quoter.records.enquiries import ERASED, Enquiry
from quoter.records.quotes import BY_TIME, QuoteEvent
from quoter.store.database import Store
from quoter.store.enquiries import Enquiries
from quoter.store.quote_rows import event_row
from quoter.store.replies import empty_replies

BATCH = 20
"""Quotes or enquiries that are erased in one transaction: whoever else writes waits milliseconds."""

MOST = 500
"""That are looked for at a time."""

_LAST_EVENT = "(select {} from quote_events where quote = quotes.id order by version desc limit 1)"
_IS_AGREED = "(quotes.standing = 'accepted' or quotes.agreement is not null)"
_IS_ERASED = f"({_LAST_EVENT.format('kind')} = 'contact-erased')"

_QUOTE_DUE = f"""
    not {_IS_AGREED} and quotes.expires_at <= :until and {_LAST_EVENT.format("at")} <= :until and not {_IS_ERASED}
"""
_ENQUIRY_DUE = "erased_at is null and quote is null and received_at <= :until"


class Customers:
    """Quotes and enquiries by whose they are."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def of(self, who: Who) -> tuple[list[str], list[str]]:
        """Ids of quotes and of enquiries, the oldest first: those named, and with each enquiry the quote made of it.

        Raises NotFound where a quote or an enquiry is named that there is not.
        """
        quotes, enquiries = set(self._quotes(who)), set(self._enquiries(who))
        if who.named_by in ("quote", "enquiry") and not quotes | enquiries:
            raise NotFound(who.named_by, who.value)
        for row in self._store.rows("select id, quote from enquiries where quote is not null"):
            if row["id"] in enquiries:
                quotes.add(row["quote"])
            elif row["quote"] in quotes:
                enquiries.add(row["id"])
        return sorted(quotes), sorted(enquiries)

    def enquiry(self, enquiry_id: str) -> Enquiry | None:
        """An enquiry, whole."""
        return Enquiries(self._store).get(enquiry_id)

    def forget_senders(self, before: str) -> None:
        """Empties who sent the enquiries that came before a moment."""
        Enquiries(self._store).forget_senders(before)

    def erase(self, quotes: Iterable[str], enquiries: Iterable[str], order: Order) -> Erasure:
        """Erases all of it in one transaction, or nothing. `settle` is what takes it out of the files."""
        with self._store.write() as database:
            of_quotes = [_erase_quote(database, each, order) for each in quotes]
            of_enquiries = [_erase_enquiry(database, each, order) for each in enquiries]
            replies = sum(empty_replies(database, f"/v1/quotes/{each}") for each, _, done in of_quotes if done == _NOW)
            replies += sum(empty_replies(database, f"/v1/enquiries/{each}") for each, _, _ in of_enquiries)
        return Erasure(
            at=order.at,
            quotes=_names(of_quotes, _NOW),
            kept=_names(of_quotes, _KEPT),
            enquiries=_names(of_enquiries, _NOW),
            before=_names([*of_quotes, *of_enquiries], _BEFORE),
            replies=replies,
        )

    def erase_due(self, until: str, at: str) -> Iterator[int]:
        """Erases what nobody has agreed to and nothing has happened to since a moment: batch by batch, how many each.

        What has changed since it was looked for is left alone, also by other processes that do the same.
        """
        order = Order(at=at, by=BY_TIME, because="time")
        for table, due in (("quotes", _QUOTE_DUE), ("enquiries", _ENQUIRY_DUE)):
            while found := self._due(table, due, until):
                for start in range(0, len(found), BATCH):
                    yield self._erase_batch(table, due, until, found[start : start + BATCH], order)

    def settle(self, *, rebuilt: bool, at_most_bytes: int | None = None) -> bool:
        """Takes what was erased out of the files; `rebuilt` also what SQLite has left behind when it moved rows.

        A file above `at_most_bytes` is not rebuilt. False where it could not be done now.
        """
        is_small = at_most_bytes is None or self._store.size_bytes <= at_most_bytes
        return self._store.settle(rebuilt=rebuilt and is_small)

    def _due(self, table: str, due: str, until: str) -> list[str]:
        rows = self._store.rows(f"select id from {table} where {due} limit {MOST}", {"until": until})
        return [row["id"] for row in rows]

    def _erase_batch(self, table: str, due: str, until: str, ids: list[str], order: Order) -> int:
        with self._store.write():
            wanted = {"until": until, "ids": json.dumps(ids)}
            sql = f"select id from {table} where id in (select value from json_each(:ids)) and {due}"
            still = [row["id"] for row in self._store.rows(sql, wanted)]
            if table == "quotes":
                made_of = "select id from enquiries where quote in (select value from json_each(:ids))"
                from_them = [row["id"] for row in self._store.rows(made_of, {"ids": json.dumps(still)})]
                self.erase(still, from_them, order)
            else:
                self.erase((), still, order)
        return len(still)

    def _quotes(self, who: Who) -> Iterator[str]:
        if who.named_by == "quote":
            sql = "select id from quotes where id = :value or number = :value"
            yield from (row["id"] for row in self._store.rows(sql, {"value": who.value.strip()}))
        elif who.named_by != "enquiry":
            sql = """
                select id, contact_email as email, contact_phone as phone from quotes
                where contact_email <> '' or contact_phone <> ''
                union all select quote, contact, contact from decisions where contact <> ''
            """
            yield from (row["id"] for row in self._store.rows(sql) if who.is_reached_at(row["email"], row["phone"]))

    def _enquiries(self, who: Who) -> Iterator[str]:
        if who.named_by == "enquiry":
            sql = "select id from enquiries where id = :value or reference = upper(:value)"
            yield from (row["id"] for row in self._store.rows(sql, {"value": who.value.strip()}))
        elif who.named_by != "quote":
            sql = "select id, contact_email as email, contact_phone as phone from enquiries where erased_at is null"
            yield from (row["id"] for row in self._store.rows(sql) if who.is_reached_at(row["email"], row["phone"]))


_NOW, _KEPT, _BEFORE = "now", "kept", "before"
"""What became of a quote or an enquiry that was to be erased."""

Done = tuple[str, str, str]
"""Id, number or reference, and what became of it."""


def _names(done: Iterable[Done], outcome: str) -> tuple[str, ...]:
    return tuple(name for _, name, became in done if became == outcome)


def _erase_quote(database: Database, quote: str, order: Order) -> Done:
    sql = f"""
        select id, number, version, revision, {_IS_AGREED} as is_agreed, {_IS_ERASED} as is_erased
        from quotes where id = ?
    """
    row = next(iter(database.query(sql, [quote])))
    if row["is_erased"]:
        return quote, row["number"], _BEFORE
    if row["is_agreed"] and not order.accepted:
        return quote, row["number"], _KEPT
    _empty_quote(database, quote, row["version"] + 1, order.at)
    event = QuoteEvent(
        quote=quote,
        version=row["version"] + 1,
        kind="contact-erased",
        revision=row["revision"],
        at=order.at,
        by=order.by,
        data={"because": order.because},
    )
    database.table("quote_events").insert(event_row(event))
    return quote, row["number"], _NOW


def _empty_quote(database: Database, quote: str, version: int, at: str) -> None:
    """Empties what can be emptied, and ends the link. The next version, so that nobody overwrites it unseen."""
    contact = dict.fromkeys(("contact_name", "contact_phone", "contact_email", "contact_words", "link"), "")
    database.table("quotes").update(quote, {**contact, "version": version, "erased_at": at})
    database.execute("update decisions set name = '', contact = '', note = '' where quote = ?", [quote])
    database.execute("update revisions set reason = '' where quote = ? and reason <> ''", [quote])
    database.execute(
        """
        update revisions set job = json_set(job, '$.discount.reason', '')
        where quote = ? and json_extract(job, '$.discount.reason') <> ''
        """,
        [quote],
    )


def _erase_enquiry(database: Database, enquiry: str, order: Order) -> Done:
    """Empties an enquiry, and closes it where it still waited: there is nobody left to answer."""
    sql = "select reference, version, standing, erased_at from enquiries where id = ?"
    row = next(iter(database.query(sql, [enquiry])))
    if row["erased_at"] is not None:
        return enquiry, row["reference"], _BEFORE
    names = ("noticed", "sender", "contact_name", "contact_phone", "contact_email", "contact_words")
    emptied = {**dict.fromkeys(names, ""), "version": row["version"] + 1, "erased_at": order.at}
    closed = {"standing": "closed", "closed_because": ERASED} if row["standing"] == "new" else {}
    database.table("enquiries").update(enquiry, emptied | closed)
    return enquiry, row["reference"], _NOW
