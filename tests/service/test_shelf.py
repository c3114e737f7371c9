"""The rate books that prices are named from."""

import datetime as dt
import shutil
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from quoter.problems import BookFlawed, NotFound
from quoter.service.rates.shelf import MOST_REMEMBERED, Shelf
from quoter.store.books import Books
from quoter.store.database import Store

RATES = Path(__file__).parents[2] / "rates"
NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)


@pytest.fixture
def rates(tmp_path: Path) -> Path:
    """A folder with both demo books."""
    return shutil.copytree(RATES, tmp_path / "rates")


@pytest.fixture
def versions(tmp_path: Path) -> Iterator[Books]:
    """Kept in a database file."""
    with closing(Store(tmp_path / "quoter.db")) as store:
        yield Books(store)


def shelf_of(versions: Books, *folders: Path) -> Shelf:
    """The books of these folders."""
    shelf = Shelf(versions, lambda: NOW)
    shelf.seed(folders)
    return shelf


def test_the_first_book_counts_where_none_is_named(versions: Books, rates: Path):
    """The others by their code."""
    shelf = shelf_of(versions, rates / "peddrick-mills", rates / "ballyquarn")
    assert shelf.named(None).book.code == "peddrick-mills"
    assert shelf.named("ballyquarn").book.code == "ballyquarn"


def test_an_unknown_book_is_not_found(versions: Books, rates: Path):
    """Those that there are stand by; where there is none, none."""
    with pytest.raises(NotFound) as refused:
        shelf_of(versions, rates / "ballyquarn").named("atlantis")
    assert refused.value.allowed == ("ballyquarn",)


def test_without_any_book_none_is_found(versions: Books):
    """Not even the first."""
    with pytest.raises(NotFound):
        Shelf(versions, lambda: NOW).named(None)


def test_a_folder_is_only_the_beginning_of_a_book(versions: Books, rates: Path):
    """Once published, what the owner publishes counts; a folder that says something else is named and left at that."""
    folder, settings = rates / "ballyquarn", rates / "ballyquarn" / "book.toml"
    shelf = Shelf(versions, lambda: NOW)
    assert shelf.seed([folder]) == []
    settings.write_text(settings.read_text().replace('bench_rate = "3.00"', 'bench_rate = "3.0"  # an hour'))
    assert shelf.seed([folder]) == []
    settings.write_text(settings.read_text().replace('bench_rate = "3.0"', 'bench_rate = "4.00"'))
    assert shelf.seed([folder]) == ["ballyquarn"]
    assert shelf.named(None).version == 1


def test_a_book_with_faults_is_not_put_up(versions: Books, rates: Path):
    """Every fault is told."""
    (rates / "ballyquarn" / "steps.csv").write_text("code\n")
    with pytest.raises(BookFlawed) as refused:
        shelf_of(versions, rates / "ballyquarn")
    assert len(refused.value.flaws) > 1


def test_two_books_cannot_have_one_code(versions: Books, rates: Path):
    """One would hide the other."""
    shutil.copytree(rates / "ballyquarn", rates / "copy")
    with pytest.raises(BookFlawed, match="another book has it"):
        shelf_of(versions, rates / "ballyquarn", rates / "copy")


class Unread(Books):
    """Books whose texts nobody may ask for."""

    def content(self, code: str, version: int) -> None:
        """Would be read to be compiled."""
        raise AssertionError(f"{code} {version} is read again")


def test_a_book_that_is_served_from_its_folder_is_compiled_once(versions: Books, rates: Path, tmp_path: Path):
    """At the start, and not again by the first request; also where the database had it before."""
    shelf_of(versions, rates / "ballyquarn")
    with closing(Store(tmp_path / "quoter.db")) as store:
        assert shelf_of(Unread(store), rates / "ballyquarn").named(None).book.code == "ballyquarn"


def test_what_a_book_remembers_is_bounded(versions: Books, rates: Path):
    """Whoever asks for it next finds its memory emptied."""
    shelf = shelf_of(versions, rates / "ballyquarn")
    shelves = shelf.named(None).book.memory.shelves
    shelves["a rule"] = dict.fromkeys(range(MOST_REMEMBERED), "found")
    assert len(shelf.named(None).book.memory.shelves["a rule"]) == MOST_REMEMBERED
    shelves["another"] = {"one": "too many"}
    shelf.named(None)
    assert not any(shelves.values())
