"""Announcements, kept with what they tell about, and which quotes the clock has ended."""

from dataclasses import asdict, replace

from quoter.records.quotes import IssuedQuote
from quoter.records.webhooks import Announcement, Delivery
from quoter.store.database import Store
from quoter.store.quotes import Quotes

_UNANNOUNCED = "standing = 'issued' and announced_expiry_of is not revision and expires_at <= :now"
"""An index holds just these, `idx_quotes_unannounced`."""


class Outbox:
    """Where announcements wait. Called within a transaction, it is a part of that one."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, announcement: Announcement, only: str | None = None) -> list[Delivery]:
        """Keeps it for each webhook that wants its kind and was there when it happened, or for `only` this one.

        A webhook that is paused gets it later. Without any, nothing is written.
        """
        wanted_by = [only] if only else self._wanted_by(announcement)
        if not wanted_by:
            return []
        with self._store.write() as database:
            database.table("announcements").insert(asdict(announcement))
            return [self._delivery(announcement, webhook) for webhook in wanted_by]

    def _wanted_by(self, announcement: Announcement) -> list[str]:
        sql = "select id, events from webhooks where ended_at is null and created_at <= :at order by id"
        rows = self._store.rows(sql, {"at": announcement.at})
        return [row["id"] for row in rows if announcement.kind in row["events"].split()]

    def _delivery(self, announcement: Announcement, webhook: str) -> Delivery:
        delivery = Delivery(
            place=0,
            announcement=announcement.id,
            webhook=webhook,
            kind=announcement.kind,
            about=announcement.about,
            at=announcement.at,
            state="waiting",
            attempts=0,
            next_at=announcement.at,
        )
        columns = ("announcement", "webhook", "about", "state", "attempts", "next_at")
        row = {column: getattr(delivery, column) for column in columns}
        with self._store.write() as database:
            return replace(delivery, place=int(str(database.table("deliveries").insert(row).last_pk)))


class Expiries:
    """Quotes whose last day has passed undecided; each revision is given out once."""

    def __init__(self, store: Store, quotes: Quotes) -> None:
        self._store, self._quotes = store, quotes

    def any_due(self, now: str) -> bool:
        """Whether a revision has expired undecided that nobody has taken yet."""
        return self._store.row(f"select 1 from quotes where {_UNANNOUNCED} limit 1", {"now": now}) is not None

    def take(self, now: str, most: int, quote_id: str | None = None) -> list[IssuedQuote]:
        """Such revisions, of all quotes or of one, those that expired first before others."""
        one = "" if quote_id is None else "and id = :id"
        sql = f"select id from quotes where {_UNANNOUNCED} {one} order by expires_at, id limit :most"
        with self._store.write() as database:
            found = [row["id"] for row in database.query(sql, {"now": now, "most": most, "id": quote_id})]
            for each in found:
                database.execute("update quotes set announced_expiry_of = revision where id = ?", [each])
            return [quote for each in found if (quote := self._quotes.get(each))]
