"""Versions of rate books at rest, and drafts."""

from contextlib import closing
from dataclasses import replace

import pytest
from builders import a_raw_book

from quoter.books.compile import compiled
from quoter.books.draft import Edit, draft_of, edited
from quoter.books.raw import RawBook
from quoter.problems import Conflict
from quoter.records.rates import BookVersion, StoredDraft
from quoter.store.books import Books
from quoter.store.database import Store

from .records import AT

LATER = "2026-03-03T09:30:00.000000Z"


def published(store: Store, raw: RawBook, code: str = "small", counts_from: str = AT) -> int:
    """The version under which the book is kept."""
    version = BookVersion(
        code=code,
        version=0,
        title="Small",
        digest=compiled(raw).digest,
        published_at=AT,
        published_by="the owner",
        reason="first",
        counts_from=counts_from,
        changes={"added": 1},
    )
    return Books(store).publish(version, raw).version


def a_draft(store: Store) -> StoredDraft:
    """A draft of a published book."""
    draft = StoredDraft(
        code="small",
        revision=1,
        based_on=published(store, a_raw_book()),
        opened_at=AT,
        opened_by="the owner",
        changed_at=AT,
        changed_by="the owner",
        draft=draft_of(a_raw_book()),
    )
    Books(store).open_draft(draft)
    return draft


def next_revision(draft: StoredDraft, rate: str) -> tuple[StoredDraft, tuple]:
    """The draft with another bench rate."""
    edit = Edit(do="set", table="book.toml", key="labour.bench_rate", value=rate)
    changed, changes = edited(draft.draft, [edit])
    return replace(draft, revision=draft.revision + 1, draft=changed), changes


def test_a_version_reads_back_as_it_was_given(store: Store):
    """Compiled again, it says the same; its record is whole."""
    raw = a_raw_book()
    version = published(store, raw)
    kept = Books(store).content("small", version)
    assert kept is not None
    assert compiled(kept).digest == compiled(raw).digest
    assert Books(store).history("small")[0].changes == {"added": 1}


@pytest.mark.parametrize(("code", "version"), [("small", 2), ("none", 1)])
def test_a_version_that_is_not_there_is_none(store: Store, code: str, version: int):
    """Nothing is made up."""
    published(store, a_raw_book())
    assert Books(store).content(code, version) is None


def test_versions_are_counted_and_every_book_has_numbers_of_its_own(store: Store):
    """By its code, in the order of publication."""
    assert [published(store, a_raw_book(settings={"code": code}), code) for code in ("b", "a", "b")] == [1, 1, 2]
    assert Books(store).codes() == ["b", "a"]
    assert [each.version for each in Books(store).history("b")] == [2, 1]


@pytest.mark.parametrize(
    ("now", "version"), [("2026-03-02T09:29:59.999999Z", None), (AT, 1), ("2026-03-03T09:29:59.999999Z", 1), (LATER, 2)]
)
def test_the_version_that_counts_is_a_matter_of_the_clock(store: Store, now: str, version: int | None):
    """Both sides of both moments."""
    published(store, a_raw_book())
    published(store, a_raw_book(), counts_from=LATER)
    counting = Books(store).counting("small", now)
    assert (counting.version if counting else None) == version


def test_what_counts_is_remembered_until_another_version_does(store: Store):
    """By the clock, also one that is put back, and by what others publish meanwhile."""
    published(store, a_raw_book())
    published(store, a_raw_book(), counts_from=LATER)

    def counting(now: str) -> int | None:
        found = Books(store).counting("small", now)
        return found.version if found else None

    just_before, before_all = "2026-03-03T09:29:59.999999Z", "2026-03-02T09:29:59.999999Z"
    moments = (before_all, AT, just_before, LATER, AT, before_all, just_before, just_before)
    assert [counting(now) for now in moments] == [None, 1, 1, 2, 1, None, 1, 1]
    with closing(Store(store.path)) as other:
        published(other, a_raw_book(), counts_from=just_before)
    assert [counting(now) for now in (AT, just_before, LATER)] == [1, 3, 2]


def test_a_book_has_one_draft(store: Store):
    """The second is told who has it open."""
    draft = a_draft(store)
    with pytest.raises(Conflict, match="opened by the owner"):
        Books(store).open_draft(draft)
    assert Books(store).draft("small") == draft


def test_who_saves_late_is_told_what_has_changed(store: Store):
    """And nothing is overwritten."""
    draft = a_draft(store)
    first, changes = next_revision(draft, "7")
    Books(store).save_draft(first, changes)
    second, others = next_revision(draft, "8")
    with pytest.raises(Conflict) as refused:
        Books(store).save_draft(second, others)
    assert "'7'" in refused.value.changes[0]
    assert Books(store).draft("small") == first


def test_a_publication_ends_the_draft_or_does_nothing(store: Store):
    """An old revision publishes nothing; the newest makes the next version."""
    draft = a_draft(store)
    newer, changes = next_revision(draft, "7")
    Books(store).save_draft(newer, changes)
    version = replace(Books(store).history("small")[0], version=0)
    with pytest.raises(Conflict):
        Books(store).publish(version, a_raw_book(), ends=draft)
    assert len(Books(store).history("small")) == 1
    assert Books(store).publish(version, a_raw_book(), ends=newer).version == 2
    assert Books(store).draft("small") is None


def test_changes_stay_on_record_when_the_draft_is_gone(store: Store):
    """Who, when, which cell, old and new."""
    draft = a_draft(store)
    newer, changes = next_revision(draft, "7")
    Books(store).save_draft(newer, changes)
    Books(store).discard_draft(newer)
    (recorded,) = Books(store).changes(draft)
    assert (recorded.by, recorded.revision, recorded.change) == ("the owner", 2, changes[0])
