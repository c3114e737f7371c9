"""quoter book: the owner's commands on a database of their own."""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from quoter.books.load import read_folder
from quoter.cli.main import main
from quoter.service.clock import utc_now
from quoter.service.rates.shelf import Shelf
from quoter.store.books import Books
from quoter.store.database import Store

from .running import RATES, usage_of_wrong


class Desk:
    """Where the commands are typed: what each printed, and how it ended."""

    def __init__(self, database: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.database, self.capsys = database, capsys

    def book(self, *arguments: object) -> tuple[int, str, str]:
        """Status, output, complaints."""
        status = main(["book", *map(str, arguments), "--database", str(self.database)])
        said = self.capsys.readouterr()
        assert "Traceback" not in said.err
        return status, said.out, said.err

    def drafts(self) -> int:
        """How many drafts are kept."""
        with closing(sqlite3.connect(self.database)) as connection:
            return int(connection.execute("select count(*) from book_drafts").fetchone()[0])


@pytest.fixture
def desk(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Desk:
    """With the demo books published."""
    with closing(Store(tmp_path / "quoter.db")) as store:
        Shelf(Books(store), utc_now).seed([RATES / "ballyquarn", RATES / "peddrick-mills"])
    return Desk(tmp_path / "quoter.db", capsys)


def changed_copy(folder: Path, old: str, new: str) -> Path:
    """The first demo book with another setting."""
    import shutil

    shutil.copytree(RATES, folder)
    settings = folder / "ballyquarn" / "book.toml"
    settings.write_text(settings.read_text().replace(old, new))
    return folder / "ballyquarn"


@pytest.fixture
def dearer(tmp_path: Path) -> Path:
    """The first demo book with a dearer bench."""
    return changed_copy(tmp_path / "dearer", 'bench_rate = "3.00"', 'bench_rate = "9.00"')


@pytest.mark.parametrize("source", ["ballyquarn", "ballyquarn@1", RATES / "ballyquarn"])
def test_a_sound_book_is_checked(desk: Desk, source: object):
    """However it is named."""
    assert desk.book("check", source) == (0, "", "no faults\n")


@pytest.mark.parametrize(
    "source", ["atlantis", "ballyquarn@2", "ballyquarn@0", "ballyquarn@x", f"ballyquarn@{10**30}", "ballyquarn@draft"]
)
def test_a_book_that_is_not_there_is_named(desk: Desk, source: str):
    """In one line."""
    status, printed, complaint = desk.book("check", source)
    assert (status, printed) == (1, "")
    assert complaint.startswith("there is no ")


@pytest.mark.parametrize("name", ["none.xlsx", "none.zip"])
def test_a_file_that_is_not_there_is_named(desk: Desk, tmp_path: Path, name: str):
    """In one line."""
    status, _, complaint = desk.book("check", tmp_path / name)
    assert status == 1
    assert name in complaint


@pytest.mark.parametrize("kind", ["xlsx", "zip"])
def test_what_is_exported_can_be_brought_in_and_changes_nothing(desk: Desk, tmp_path: Path, kind: str):
    """Nor is a draft opened for it."""
    file = tmp_path / f"book.{kind}"
    assert desk.book("export", "ballyquarn", file)[0] == 0
    assert desk.book("check", file) == (0, "", "no faults\n")
    assert desk.book("compare", RATES / "ballyquarn", file) == (0, "", "no differences\n")
    status, printed, summary = desk.book("import", "ballyquarn", file)
    assert (status, printed, summary[:27]) == (0, "", "no differences, no faults; ")
    assert desk.drafts() == 0


def test_an_export_overwrites_nothing(desk: Desk, tmp_path: Path):
    """Nor is a kind guessed."""
    file = tmp_path / "book.xlsx"
    file.write_text("precious")
    status, _, complaint = desk.book("export", "ballyquarn", file)
    assert (status, file.read_text()) == (1, "precious")
    assert "File exists" in complaint
    assert desk.book("export", "ballyquarn", tmp_path / "book.ods")[0] == 1
    assert desk.book("export", "ballyquarn", tmp_path / "none" / "book.zip")[0] == 1


def test_an_import_says_what_it_would_change_and_does_it_when_told(desk: Desk, dearer: Path):
    """By default nothing is written, not even a draft."""
    status, printed, summary = desk.book("import", "ballyquarn", dearer)
    assert (status, desk.drafts()) == (0, 0)
    assert "labour.bench_rate" in printed
    assert summary == "1 difference, no faults; nothing is changed yet; --write does it\n"
    assert desk.book("import", "ballyquarn", dearer, "--write")[2] == "1 difference, no faults; the draft is changed\n"
    assert desk.book("compare", "ballyquarn", "ballyquarn@draft")[2] == "1 difference\n"
    assert desk.book("import", "ballyquarn", dearer)[2][:14] == "no differences"


def test_an_import_with_faults_ends_with_1(desk: Desk, tmp_path: Path):
    """And names them."""
    wrong = changed_copy(tmp_path / "wrong", 'bench_rate = "3.00"', 'bench_rate = "three"')
    status, _, complaints = desk.book("import", "ballyquarn", wrong)
    assert status == 1
    assert "labour.bench_rate: 'three'" in complaints
    assert complaints.endswith("1 difference, 1 fault; nothing is changed yet; --write does it\n")
    assert desk.book("import", "ballyquarn", wrong, "--write")[2].endswith("1 fault; the draft is changed\n")


@pytest.mark.parametrize("write", [(), ("--write",)])
def test_a_book_of_which_a_part_cannot_be_read_is_not_said_to_be_written(desk: Desk, dearer: Path, write: tuple[str]):
    """With or without the option that would."""
    (dearer / "steps.csv").write_bytes(b"\xff")
    status, _, complaints = desk.book("import", "ballyquarn", dearer, *write)
    assert (status, desk.drafts()) == (1, 0)
    assert complaints.endswith(" 1 fault; nothing is changed: what cannot be read must be mended\n")


@pytest.mark.parametrize("write", [(), ("--write",)])
def test_a_file_that_is_no_workbook_changes_nothing(desk: Desk, tmp_path: Path, write: tuple[str]):
    """And is said to be none, in one line: it is not a book that has lost every row."""
    file = tmp_path / "book.xlsx"
    file.write_bytes(b"no workbook")
    complaint = f"{file}: this is not a zip file (a workbook saved as .xlsx)\n"
    assert desk.book("import", "ballyquarn", file, *write) == (1, "", complaint)
    assert desk.drafts() == 0


def test_what_is_no_book_is_compared_with_nothing(desk: Desk, tmp_path: Path):
    """On whichever side it stands."""
    nowhere = tmp_path / "nowhere"
    for sources in ((nowhere, "ballyquarn"), ("ballyquarn", nowhere)):
        status, printed, complaint = desk.book("compare", *sources)
        assert (status, printed) == (1, "")
        assert complaint.startswith(f"{nowhere}: there is no such folder (")


def test_a_draft_is_published_and_gone_back_from(desk: Desk, dearer: Path):
    """The history tells who, why, from when, and how much."""
    desk.book("import", "ballyquarn", dearer, "--write")
    status, printed, _ = desk.book("publish", "ballyquarn", "--reason", "a dearer bench")
    assert status == 0
    assert printed.startswith("version 2 of ballyquarn, which counts from 2")
    assert desk.drafts() == 0
    assert desk.book("publish", "ballyquarn", "--reason", "a slip", "--version", 1)[1].startswith("version 3 of")
    history = desk.book("history", "ballyquarn")[1]
    assert re.findall(r"^version (\d)", history, re.MULTILINE) == ["3", "2", "1"]
    assert "by the command line: a slip, says version 1 again" in history
    assert history.count("1 changed") == 2
    assert len(set(re.findall(r"digest (\w+)", history))) == 2


def test_a_folder_is_published(desk: Desk, dearer: Path):
    """As the next version of the book whose code it has; from a moment on if told."""
    status, printed, _ = desk.book("publish", dearer, "--reason", "new", "--from", "2199-01-01T00:00:00+01:00")
    assert (status, printed) == (0, "version 2 of ballyquarn, which counts from 2198-12-31T23:00:00.000000Z\n")
    assert desk.book("compare", "ballyquarn", "ballyquarn@1")[2] == "no differences\n"


@pytest.mark.parametrize("moment", ["2999-01-01T00:00:00", "2999-01-01", "tomorrow", "", "0001-01-01T00:00:00+23:00"])
def test_a_moment_without_its_offset_is_refused(desk: Desk, moment: str):
    """Nobody guesses a time zone."""
    said = usage_of_wrong(
        desk.capsys, "book", "publish", "ballyquarn", "--reason", "x", "--from", moment, "--database", desk.database
    )
    assert "is not a moment such as" in said[-1]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("ballyquarn", "--reason", "x"), "there is no draft of"),
        (("atlantis", "--reason", "x"), "there is no rate book"),
        (("my.book", "--reason", "x"), "there is no rate book"),
        (("ballyquarn", "--reason", " ", "--version", "1"), "why the rates change"),
        (("ballyquarn", "--reason", "x", "--version", "9"), "there is no version of"),
        (("ballyquarn", "--reason", "x", "--version", "1", "--from", "2020-01-01T00:00:00Z"), "is over"),
    ],
)
def test_a_publication_that_makes_no_sense_is_refused(desk: Desk, arguments: tuple[str, ...], said: str):
    """With the reason, and nothing is published."""
    status, printed, complaint = desk.book("publish", *arguments)
    assert (status, printed) == (1, "")
    assert said in complaint
    assert desk.book("history", "ballyquarn")[1].count("version ") == 1


def test_an_effect_is_told_in_words_and_files(desk: Desk, dearer: Path, tmp_path: Path):
    """The counts are those of the books' own comparison."""
    from quoter.books.compile import compiled
    from quoter.books.effect import list_effect

    old, new = compiled(read_folder(RATES / "ballyquarn")), compiled(read_folder(dearer))
    counts = list_effect(old, new, utc_now().date()).summary.counts
    status, printed, _ = desk.book("effect", "ballyquarn", dearer, "--files", tmp_path / "files", "--quotes", 5)
    assert status == 0
    assert printed.startswith(f"Price list: {counts.up} up, {counts.down} down, {counts.same} same, ")
    names = {file.name for file in (tmp_path / "files").iterdir()}
    assert {"prices.csv", "prices.json", "quotes.csv", "changes.svg", "margins.svg"} <= names


def test_books_in_two_currencies_have_no_effect(desk: Desk):
    """Said in one line."""
    status, printed, complaint = desk.book("effect", "ballyquarn", "peddrick-mills")
    assert (status, printed) == (1, "")
    assert "EUR" in complaint
