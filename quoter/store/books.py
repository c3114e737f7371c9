"""Published versions of rate books, their drafts, and every change of a draft."""

import json
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, replace
from typing import Any

from sqlite_utils import Database

from quoter.books.draft import CellChange, draft_data, draft_from
from quoter.books.raw import RawBook
from quoter.problems import Conflict
from quoter.records.rates import BookVersion, RecordedChange, StoredDraft
from quoter.store.database import Store
from quoter.store.raw_text import raw_of_text, text_of_raw

LARGEST_VERSION = 2**31 - 1
"""Beyond any number that is given; SQLite refuses to look for far larger ones."""

_VERSION = """
    select code, version, title, digest, published_at, published_by, reason, counts_from, changes, returns_to
    from book_versions
"""


@dataclass(frozen=True, slots=True)
class _Counting:
    """The version in force at a moment, and until another begins to count; None where none is planned."""

    version: BookVersion | None
    since: str
    until: str | None

    def holds_at(self, now: str) -> bool:
        """As far as nobody writes."""
        return self.since <= now and (self.until is None or now < self.until)


class Books:
    """Versions by code and number, none of which ever changes; drafts by code."""

    def __init__(self, store: Store, heard: Callable[[BookVersion], None] = lambda version: None) -> None:
        """`heard` is told of every version within the transaction that keeps it."""
        self._store, self._heard = store, heard

    def codes(self) -> list[str]:
        """The codes of all books, in the order in which they were first published."""
        sql = "select code from book_versions group by code order by min(rowid)"
        return [row["code"] for row in self._store.rows(sql)]

    def history(self, code: str) -> list[BookVersion]:
        """Every version of a book, the newest first."""
        rows = self._store.rows(f"{_VERSION} where code = :code order by version desc", {"code": code})
        return [_version(row) for row in rows]

    def counting(self, code: str, now: str) -> BookVersion | None:
        """The version in force at a moment: of those that count already the one that began last."""
        remembered, place = self._store.remembered(), ("counting", code)
        if place not in remembered or not remembered[place].holds_at(now):
            remembered[place] = self._counting(code, now)
        found: _Counting = remembered[place]
        return found.version

    def _counting(self, code: str, now: str) -> "_Counting":
        sql = f"{_VERSION} where code = :code and counts_from <= :now order by counts_from desc, version desc limit 1"
        row = self._store.row(sql, {"code": code, "now": now})
        sql = "select min(counts_from) as at from book_versions where code = :code and counts_from > :now"
        following = self._store.row(sql, {"code": code, "now": now})
        return _Counting(_version(row) if row else None, now, following["at"] if following else None)

    def version(self, code: str, version: int) -> BookVersion | None:
        """A version without its text."""
        if not 0 < version <= LARGEST_VERSION:
            return None
        sql = f"{_VERSION} where code = :code and version = :version"
        row = self._store.row(sql, {"code": code, "version": version})
        return _version(row) if row else None

    def content(self, code: str, version: int) -> RawBook | None:
        """The text of a version."""
        if not 0 < version <= LARGEST_VERSION:
            return None
        sql = "select content from book_versions where code = :code and version = :version"
        row = self._store.row(sql, {"code": code, "version": version})
        return raw_of_text(row["content"]) if row else None

    def publish(self, version: BookVersion, raw: RawBook, *, ends: StoredDraft | None = None) -> BookVersion:
        """Keeps a version under the next number, and ends the draft that it came from.

        Raises Conflict where the draft has been changed or ended meanwhile. All of it happens, or nothing.
        """
        with self._store.write() as database:
            if ends is not None:
                self._end_draft(database, ends)
            newest = database.execute(
                "select coalesce(max(version), 0) from book_versions where code = ?", [version.code]
            ).fetchone()[0]
            changes = json.dumps(dict(version.changes))
            row = asdict(version) | {"version": newest + 1, "content": text_of_raw(raw), "changes": changes}
            database.table("book_versions").insert(row)
            published = replace(version, version=newest + 1)
            self._heard(published)
        return published

    def draft(self, code: str) -> StoredDraft | None:
        """The draft of a book."""
        row = self._store.row("select * from book_drafts where code = :code", {"code": code})
        return StoredDraft(draft=draft_from(json.loads(row.pop("content"))), **row) if row else None

    def open_draft(self, draft: StoredDraft) -> None:
        """Keeps a new draft. Raises Conflict where the book has one."""
        with self._store.write() as database:
            found = list(database.query("select opened_by from book_drafts where code = ?", [draft.code]))
            if found:
                raise Conflict(f"{draft.code} has a draft already, opened by {found[0]['opened_by']}")
            database.table("book_drafts").insert(_draft_row(draft))

    def save_draft(self, draft: StoredDraft, changes: Iterable[CellChange]) -> None:
        """Keeps the next revision of a draft and what changed. Raises Conflict where somebody else was quicker."""
        with self._store.write() as database:
            self._check_unchanged(database, replace(draft, revision=draft.revision - 1))
            database.table("book_drafts").upsert(_draft_row(draft), pk="code")
            database.table("book_changes").insert_all(_change_row(draft, change) for change in changes)

    def discard_draft(self, draft: StoredDraft) -> None:
        """Ends a draft without publishing it. Raises Conflict where it has been changed or ended meanwhile."""
        with self._store.write() as database:
            self._end_draft(database, draft)

    def changes(self, draft: StoredDraft, after: int = 0) -> list[RecordedChange]:
        """What has been changed in a draft since a revision of it, oldest first."""
        rows = self._store.rows(
            """
            select * from book_changes
            where code = :code and opened_at = :opened_at and revision > :after order by id
            """,
            {"code": draft.code, "opened_at": draft.opened_at, "after": after},
        )
        return [_recorded(row) for row in rows]

    def _end_draft(self, database: Database, seen: StoredDraft) -> None:
        self._check_unchanged(database, seen)
        database.execute("delete from book_drafts where code = ?", [seen.code])

    def _check_unchanged(self, database: Database, seen: StoredDraft) -> None:
        """That it is the draft that was seen, at that revision: another may have been opened since."""
        sql = "select revision, opened_at, opened_by from book_drafts where code = ?"
        row = next(iter(database.query(sql, [seen.code])), None)
        if row is None:
            raise Conflict(f"{seen.code} has no draft any more")
        if row["opened_at"] != seen.opened_at:
            raise Conflict(f"{row['opened_by']} has opened another draft of {seen.code} meanwhile")
        if row["revision"] != seen.revision:
            sql = "select * from book_changes where code = ? and opened_at = ? and revision > ? order by id"
            changes = [_recorded(each) for each in database.query(sql, [seen.code, row["opened_at"], seen.revision])]
            raise Conflict(f"the draft of {seen.code} has been changed meanwhile", tuple(map(str, changes)))


def _version(row: dict[str, Any]) -> BookVersion:
    return BookVersion(**row | {"changes": json.loads(row["changes"])})


def _draft_row(draft: StoredDraft) -> dict[str, Any]:
    content = json.dumps(draft_data(draft.draft), ensure_ascii=False, separators=(",", ":"))
    columns = ("code", "revision", "based_on", "opened_at", "opened_by", "changed_at", "changed_by")
    return {column: getattr(draft, column) for column in columns} | {"content": content}


def _change_row(draft: StoredDraft, change: CellChange) -> dict[str, Any]:
    return asdict(change) | {
        "code": draft.code,
        "based_on": draft.based_on,
        "opened_at": draft.opened_at,
        "revision": draft.revision,
        "at": draft.changed_at,
        "by": draft.changed_by,
    }


def _recorded(row: dict[str, Any]) -> RecordedChange:
    change = CellChange(row["table"], row["row"], row["key"], row["column"], row["old"], row["new"])
    own = {name: row[name] for name in ("code", "based_on", "revision", "at", "by")}
    return RecordedChange(change=change, **own)
