"""Use cases of the owner: open a draft, change it, look at what it does, publish it, go back."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from quoter.book import RateBook
from quoter.books.check import flaws
from quoter.books.compare import Change, compare, summary
from quoter.books.compile import compiled
from quoter.books.draft import CellChange, Draft, Edit, draft_of, edited, raw_of
from quoter.books.raw import RawBook
from quoter.books.warnings import warnings
from quoter.problems import BookFlawed, Flaw, NotFound, PublicationRefused, Refusal
from quoter.records.rates import BookVersion, RecordedChange, StoredDraft
from quoter.service.clock import Clock, stamp, today
from quoter.service.ports import Books
from quoter.service.rates.shelf import Shelf

LONGEST_REASON = 500
LATEST = dt.datetime(2200, 1, 1, tzinfo=dt.UTC)
"""Before which a version must begin to count; later, somebody has mistyped a year."""


@dataclass(frozen=True, slots=True)
class Checked:
    """What is wrong with a draft, and what is odd; where something is wrong, nothing else is looked at."""

    flaws: tuple[Flaw, ...]
    warnings: tuple[Flaw, ...]


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """An import: the draft after it, what it changes, and the faults of the result. `done` unless it was a dry run."""

    draft: StoredDraft
    changes: Sequence[Change]
    flaws: tuple[Flaw, ...]
    done: bool


@dataclass(frozen=True, slots=True)
class Rates:
    """The life of rate books. `by` is the name of the key that acts."""

    books: Books
    shelf: Shelf
    now: Clock

    def history(self, code: str) -> list[BookVersion]:
        """Every version, the newest first. Raises NotFound."""
        found = self.books.history(code)
        if not found:
            raise NotFound("rate book", code, tuple(self.books.codes()))
        return found

    def content(self, code: str, version: int, where: str = "") -> RawBook:
        """The text of a version. Raises NotFound, which points at what named it."""
        raw = self.books.content(code, version)
        if raw is None:
            there = tuple(str(each.version) for each in self.history(code))
            raise NotFound(f"version of {code}", str(version), there, where)
        return raw

    def draft(self, code: str) -> StoredDraft:
        """The draft of a book. Raises NotFound."""
        found = self.books.draft(code)
        if found is None:
            self.history(code)
            raise NotFound("draft of", code)
        return found

    def open_draft(self, code: str, version: int | None, by: str) -> StoredDraft:
        """A draft from a version, the newest if none is named. Raises Conflict where there is one."""
        draft = self.fresh_draft(code, version, by)
        self.books.open_draft(draft)
        return draft

    def fresh_draft(self, code: str, version: int | None, by: str) -> StoredDraft:
        """What a draft would begin as; nothing is kept. Raises NotFound."""
        based_on = self.history(code)[0].version if version is None else version
        at = stamp(self.now())
        return StoredDraft(
            code=code,
            revision=1,
            based_on=based_on,
            opened_at=at,
            opened_by=by,
            changed_at=at,
            changed_by=by,
            draft=draft_of(self.content(code, based_on)),
        )

    def draft_or_new(self, code: str, by: str) -> StoredDraft:
        """The draft of a book; a new one from its newest version where there is none."""
        return self.books.draft(code) or self.open_draft(code, None, by)

    def named(self, name: str) -> RawBook:
        """The text that a name means: CODE, the version that counts now; CODE@3; CODE@draft. Raises NotFound."""
        code, _, which = name.partition("@")
        if which == "draft":
            return raw_of(self.draft(code).draft)
        if which and not which.isdecimal():
            raise NotFound(f"version of {code}", which, ("draft", *(str(each.version) for each in self.history(code))))
        return self.content(code, int(which) if which else self.shelf.named(code).version)

    def change(self, seen: StoredDraft, edits: Iterable[Edit], by: str) -> tuple[StoredDraft, tuple[CellChange, ...]]:
        """The draft that was seen with all edits made, and what they did. Raises EditRefused.

        Raises Conflict if somebody was quicker, as everything does that changes or ends a draft that was seen.
        """
        draft, changes = edited(seen.draft, edits)
        return self._saved(seen, draft, changes, by), changes

    def changes(self, code: str, after: int = 0) -> list[RecordedChange]:
        """What has been changed in the draft since a revision, oldest first."""
        return self.books.changes(self.draft(code), after)

    def bring_in(self, seen: StoredDraft, raw: RawBook, by: str, *, dry_run: bool) -> BroughtIn:
        """What an import changes in the draft; changes it unless this is a dry run or a part could not be read.

        Raises Unreadable where there is no book at all.
        """
        found = self.looked_at(seen, raw)
        if dry_run or raw.flaws:
            return found
        recorded = tuple(CellChange(at.table, None, at.key, at.column, at.old, at.new) for at in found.changes)
        return replace(found, draft=self._saved(seen, draft_of(raw), recorded, by), done=True)

    def looked_at(self, stored: StoredDraft, raw: RawBook) -> BroughtIn:
        """What an import would change in a draft. Raises Unreadable where there is no book at all."""
        raw.check_is_one()
        found = raw.flaws or tuple(flaws(raw))
        return BroughtIn(stored, compare(raw_of(stored.draft), raw), found, done=False)

    def check(self, code: str, *, with_prices: bool = True) -> Checked:
        """Every fault of the draft at once; where there is none, what is odd about it."""
        raw = raw_of(self.draft(code).draft)
        found = tuple(flaws(raw))
        if found:
            return Checked(found, ())
        book = compiled(raw)
        counting = self.books.counting(code, stamp(self.now()))
        previous = self.shelf.version(code, counting.version) if counting else None
        return Checked((), tuple(warnings(book, previous, self.today(book.shop.timezone), with_prices=with_prices)))

    def today(self, timezone: str) -> dt.date:
        """Which day it is where a shop is."""
        return today(self.now(), timezone)

    def comparison(self, code: str, version: int | None) -> Sequence[Change]:
        """What the draft changes against a version, the one it was taken from if none is named."""
        stored = self.draft(code)
        before = self.content(code, stored.based_on if version is None else version, "/version")
        return compare(before, raw_of(stored.draft))

    def versions_compared(self, code: str, old: int, new: int) -> Sequence[Change]:
        """What one version changes against another."""
        return compare(self.content(code, old, "/old"), self.content(code, new, "/new"))

    def publish(self, seen: StoredDraft, reason: str, counts_from: dt.datetime | None, by: str) -> BookVersion:
        """The draft as the next version, now or from a moment on.

        Raises BookFlawed with every fault, Conflict if somebody was quicker, PublicationRefused.
        """
        raw = raw_of(seen.draft)
        book = compiled(raw)
        _refuse_another_code(seen.code, book.code)
        version = self._next(book, raw, reason, counts_from, by)
        return self.books.publish(version, raw, ends=seen)

    def publish_text(self, raw: RawBook, reason: str, counts_from: dt.datetime | None, by: str) -> BookVersion:
        """A book from a folder or a file as the next version, or the first, beside any draft."""
        book = compiled(raw)
        return self.books.publish(self._next(book, raw, reason, counts_from, by), raw)

    def return_to(self, code: str, version: int, reason: str, counts_from: dt.datetime | None, by: str) -> BookVersion:
        """An earlier version, published again as the next one."""
        raw = self.content(code, version)
        book = compiled(raw)
        again = self._next(book, raw, reason, counts_from, by)
        return self.books.publish(replace(again, returns_to=version), raw)

    def discard(self, seen: StoredDraft) -> None:
        """Ends the draft without publishing it."""
        self.books.discard_draft(seen)

    def _saved(self, stored: StoredDraft, draft: Draft, changes: tuple[CellChange, ...], by: str) -> StoredDraft:
        if not changes:
            return stored
        at = stamp(self.now())
        saved = replace(stored, revision=stored.revision + 1, changed_at=at, changed_by=by, draft=draft)
        self.books.save_draft(saved, changes)
        return saved

    def _next(self, book: RateBook, raw: RawBook, reason: str, counts_from: dt.datetime | None, by: str) -> BookVersion:
        moment = self.now()
        _refuse_senseless(reason, counts_from, moment)
        history = self.books.history(book.code)
        before = self.books.content(book.code, history[0].version) if history else None
        return BookVersion(
            code=book.code,
            version=0,
            title=book.title,
            digest=book.digest,
            published_at=stamp(moment),
            published_by=by,
            reason=reason.strip(),
            counts_from=stamp(counts_from or moment),
            changes=summary(compare(before, raw)) if before else {},
        )


def _refuse_another_code(code: str, in_book: str) -> None:
    if in_book != code:
        message = "the code of a book never changes"
        raise BookFlawed((Flaw("book.toml", "code", message, value=in_book, suggestion=code),))


def _can_be_read(reason: str) -> bool:
    return all(sign.isprintable() or sign in "\r\n\t" for sign in reason)


def _refuse_senseless(reason: str, counts_from: dt.datetime | None, now: dt.datetime) -> None:
    refusals = []
    if not 0 < len(reason.strip()) <= LONGEST_REASON or not _can_be_read(reason):
        detail = f"say in at most {LONGEST_REASON} characters why the rates change"
        refusals.append(Refusal("invalid-value", "/reason", detail))
    if counts_from is not None and not now <= counts_from < LATEST:
        detail = (
            f"{stamp(counts_from)} is over or too far away; a version counts from now on, or later until {LATEST.year}"
        )
        refusals.append(Refusal("out-of-range", "/counts_from", detail))
    if refusals:
        raise PublicationRefused(tuple(refusals))
