"""Versions of rate books at rest."""

import pytest
from builders import a_raw_book

from quoter.books.compile import compiled
from quoter.books.raw import RawBook
from quoter.store.books import BookVersions
from quoter.store.database import Store

from .records import AT


def published(store: Store, raw: RawBook, code: str = "small") -> int:
    """The version under which the book is kept."""
    return BookVersions(store).publish(code, compiled(raw).digest, raw, AT)


def test_a_version_reads_back_as_it_was_given(store: Store):
    """Compiled again, it says the same."""
    raw = a_raw_book()
    version = published(store, raw)
    kept = BookVersions(store).read("small", version)
    assert kept is not None
    assert compiled(kept).digest == compiled(raw).digest


@pytest.mark.parametrize(("code", "version"), [("small", 2), ("none", 1)])
def test_a_version_that_is_not_there_is_none(store: Store, code: str, version: int):
    """Nothing is made up."""
    published(store, a_raw_book())
    assert BookVersions(store).read(code, version) is None


def test_what_says_the_same_has_the_same_number(store: Store):
    """A change is a new version; going back is going back to the old one."""
    first, dearer = a_raw_book(), a_raw_book(settings={"labour.bench_rate": "2"})
    assert [published(store, raw) for raw in (first, first, dearer, first, dearer)] == [1, 1, 2, 1, 2]


def test_every_book_has_numbers_of_its_own(store: Store):
    """By its code."""
    assert [published(store, a_raw_book(settings={"code": code}), code) for code in ("a", "b")] == [1, 1]
