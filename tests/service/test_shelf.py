"""The rate books that prices are named from."""

import datetime as dt
import shutil
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from quoter.problems import BookFlawed, NotFound
from quoter.service.shelf import Shelf
from quoter.store.books import BookVersions
from quoter.store.database import Store

RATES = Path(__file__).parents[2] / "rates"
NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)


@pytest.fixture
def rates(tmp_path: Path) -> Path:
    """A folder with both demo books."""
    return shutil.copytree(RATES, tmp_path / "rates")


@pytest.fixture
def versions(tmp_path: Path) -> Iterator[BookVersions]:
    """Kept in a database file."""
    with closing(Store(tmp_path / "quoter.db")) as store:
        yield BookVersions(store)


def shelf_of(versions: BookVersions, *folders: Path) -> Shelf:
    """The books of these folders."""
    shelf = Shelf()
    shelf.publish_folders(folders, versions, lambda: NOW)
    return shelf


def test_the_first_book_counts_where_none_is_named(versions: BookVersions, rates: Path):
    """The others by their code."""
    shelf = shelf_of(versions, rates / "peddrick-mills", rates / "ballyquarn")
    assert shelf.named(None).book.code == "peddrick-mills"
    assert shelf.named("ballyquarn").book.code == "ballyquarn"


def test_an_unknown_book_is_not_found(versions: BookVersions, rates: Path):
    """Those that there are stand by; where there is none, none."""
    with pytest.raises(NotFound) as refused:
        shelf_of(versions, rates / "ballyquarn").named("atlantis")
    assert refused.value.allowed == ("ballyquarn",)
    with pytest.raises(NotFound):
        Shelf().named(None)


def test_a_changed_folder_is_a_new_version(versions: BookVersions, rates: Path):
    """The same text is the same version, however it is laid out."""
    folder, settings = rates / "ballyquarn", rates / "ballyquarn" / "book.toml"
    found = [shelf_of(versions, folder).named(None).version for _ in range(2)]
    settings.write_text(settings.read_text().replace('bench_rate = "3.00"', 'bench_rate = "3.0"  # an hour'))
    found.append(shelf_of(versions, folder).named(None).version)
    settings.write_text(settings.read_text().replace('bench_rate = "3.0"', 'bench_rate = "4.00"'))
    found.append(shelf_of(versions, folder).named(None).version)
    assert found == [1, 1, 1, 2]


def test_a_book_with_faults_is_not_put_up(versions: BookVersions, rates: Path):
    """Every fault is told."""
    (rates / "ballyquarn" / "steps.csv").write_text("code\n")
    with pytest.raises(BookFlawed) as refused:
        shelf_of(versions, rates / "ballyquarn")
    assert len(refused.value.flaws) > 1


def test_two_books_cannot_have_one_code(versions: BookVersions, rates: Path):
    """One would hide the other."""
    shutil.copytree(rates / "ballyquarn", rates / "copy")
    with pytest.raises(BookFlawed, match="another book has it"):
        shelf_of(versions, rates / "ballyquarn", rates / "copy")
