"""Files that are missing, in another encoding or another format: one flaw each, and nothing hangs or is raised."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from books.conftest import (
    SMALL_BOOK,
    Change,
    added,
    deleted,
    files_with,
    recoded,
    replaced,
    saved,
    the_one,
    written,
)
from quoter.books import csv_rows, load
from quoter.books.check import flaws
from quoter.books.compile import open_book
from quoter.books.load import read_folder
from quoter.books.tables import TABLE_BY_NAME, TABLES
from quoter.problems import BookFlawed, Flaw

STEPS = SMALL_BOOK["steps.csv"]
HEADER = "a header row code,title,low"

ENCODINGS = [
    (deleted("steps.csv"), None, "the file is missing", "steps.csv"),
    (recoded("steps.csv", "utf-16"), None, "the file is UTF-16", "UTF-8"),
    (recoded("steps.csv", "utf-8-sig"), None, "begins with a byte-order mark", "without one"),
    (recoded("steps.csv", "utf-16-le"), None, "the file has NUL characters", "UTF-8"),
    (saved("steps.csv", STEPS.replace("warm,Warm", "warm,Wärme").encode("latin-1")), None, "0xe4 in line 2", "UTF-8"),
    (saved("steps.csv", STEPS.replace("Open,3", "Open\0,3")), None, "the file has NUL characters", "UTF-8"),
    (saved("steps.csv", b""), None, "the file is empty", HEADER),
    (saved("steps.csv", "\n" + STEPS), 1, "the first row does not name the columns", HEADER),
    (saved("steps.csv", "sep=,\n" + STEPS), 1, "the first row does not name the columns", HEADER),
    (saved("steps.csv", STEPS.partition("\n")[2]), 1, "the first row does not name the columns", HEADER),
    (saved("steps.csv", STEPS.replace(",", ";")), 1, "separated by ';'", HEADER),
    (saved("steps.csv", STEPS.replace(",", "\t")), 1, "separated by tabs", HEADER),
    (saved("steps.csv", STEPS.replace(",", "|")), 1, "separated by '|'", HEADER),
    (replaced("steps.csv", "Open,3", '"Open,3'), 3, "not CSV from here on", "quotes"),
    (replaced("steps.csv", "Open,3", '"Open" it,3'), 3, "not CSV from here on", "doubled"),
    (replaced("steps.csv", "Open,3", "O" * 200_000 + ",3"), 3, "not CSV from here on", "quotes"),
]

ROWS = [
    (
        replaced("steps.csv", "warm,,,\ncold", "warm,,\ncold"),
        3,
        "the row has 9 cells, the header 10",
        "a comma between",
    ),
    (
        replaced("steps.csv", "warm,,,\ncold", "warm,,,,\ncold"),
        3,
        "the row has 11 cells, the header 10",
        "quotes around",
    ),
    (replaced("steps.csv", "Open,3", "Open, really,3"), 3, "the row has 11 cells, the header 10", "has commas"),
]


@pytest.mark.parametrize(("change", "row", "message", "suggestion"), [*ENCODINGS, *ROWS])
def test_a_file_that_is_no_table_is_one_flaw(
    flaws_with: Callable[..., list[Flaw]], change: Change, row: int | None, message: str, suggestion: str
):
    """Twenty other rows refer to the steps: none of them is called wrong."""
    flaw = the_one(flaws_with(change))
    assert (flaw.table, flaw.row, flaw.column) == ("steps", row, "")
    assert message in flaw.message
    assert suggestion in flaw.suggestion


def without_column(text: str, name: str) -> str:
    """A table's text without one of its columns; its cells must have no commas."""
    rows = [line.split(",") for line in text.splitlines()]
    place = rows[0].index(name)
    return "".join(",".join(row[:place] + row[place + 1 :]) + "\n" for row in rows)


def with_column(text: str, name: str) -> str:
    """A table's text with one more column at its end."""
    first, *rest = text.splitlines()
    return "".join(f"{line}\n" for line in (f"{first},{name}", *(f"{line},x" for line in rest)))


@pytest.mark.parametrize("name", ["likely", "caution", "code"])
def test_a_missing_column_is_one_flaw(flaws_with: Callable[..., list[Flaw]], name: str):
    """Not one for each row, nor for each code that refers to the table."""
    flaw = the_one(flaws_with(saved("steps.csv", without_column(STEPS, name))))
    assert (flaw.table, flaw.row, flaw.column, flaw.message) == ("steps", 1, name, "the column is missing")
    assert HEADER in flaw.suggestion


@pytest.mark.parametrize(
    ("name", "column", "message", "suggestion"),
    [
        ("colour", "colour", "there is no such column", HEADER),
        ("Title", "Title", "there is no such column", HEADER),
        ("", "column 11", "the column has no name", HEADER),
        ("title", "title", "the column is there twice", "each column once"),
        ("low", "low", "the column is there twice", "each column once"),
        ("x" * 1000, "x" * 80, "there is no such column", HEADER),
    ],
)
def test_a_column_too_many_is_one_flaw(
    flaws_with: Callable[..., list[Flaw]], name: str, column: str, message: str, suggestion: str
):
    """In the header, where it stands."""
    flaw = the_one(flaws_with(saved("steps.csv", with_column(STEPS, name))))
    assert (flaw.row, flaw.column, flaw.message) == (1, column, message)
    assert suggestion in flaw.suggestion


@pytest.mark.parametrize("name", ["likly", "LIKELY", "likely_minutes"])
def test_a_misspelt_column_is_read_under_its_right_name(flaws_with: Callable[..., list[Flaw]], name: str):
    """So that the one flaw of the header hides none of its cells."""
    found = flaws_with(replaced("steps.csv", "likely", name), replaced("steps.csv", "Open,3,4", "Open,3,x"))
    assert [(flaw.row, flaw.column) for flaw in found] == [(1, name), (3, "likely")]
    assert found[0].suggestion == "perhaps likely"


def test_rows_before_broken_csv_are_checked_all_the_same(flaws_with: Callable[..., list[Flaw]]):
    """Every problem that can be seen is reported at once."""
    found = flaws_with(replaced("steps.csv", "cover,2", "cover,x"), replaced("steps.csv", "Close,2", '"Close" ,2'))
    assert [(flaw.row, flaw.column) for flaw in found] == [(2, "low"), (9, "")]


@pytest.mark.parametrize(
    "change",
    [
        saved("steps.csv", STEPS.replace("\n", "\r\n")),
        saved("steps.csv", STEPS.replace("\n", "\r")),
        saved("steps.csv", STEPS.rstrip("\n")),
        saved("steps.csv", STEPS + "\n\n,,,,,,,,,\n"),
        saved("steps.csv", "".join(f'"{line}"\n' for line in STEPS.replace(",", '","').splitlines())),
        saved("steps.csv", STEPS.replace(",", " , ")),
        replaced("steps.csv", "\nopen", "\n\n ,,\nopen"),
        saved("book.toml", SMALL_BOOK["book.toml"].replace("\n", "\r\n")),
        saved("notes.txt", "not part of the book"),
    ],
)
def test_what_a_spreadsheet_or_an_editor_makes_of_a_file_is_no_flaw(
    flaws_with: Callable[..., list[Flaw]], change: Change
):
    """Line ends, quotes around every cell, spaces around it, blank rows."""
    assert flaws_with(change) == []


def test_the_text_of_a_table_may_begin_with_a_byte_order_mark():
    """Also where it never was a file, such as one sent over the wire."""
    found: list[Flaw] = []
    rows = csv_rows.read_csv("\ufeff" + STEPS, TABLE_BY_NAME["steps"], found)
    assert (len(rows), rows[0].cells["code"], found) == (8, "warm", [])


def test_rows_are_counted_as_a_spreadsheet_does(flaws_with: Callable[..., list[Flaw]]):
    """A line break inside a cell makes no row; a blank row is one."""
    found = flaws_with(
        replaced("cautions.csv", "hot, and", "hot,\nand"), added("cautions.csv", "\n,again,\nhot,again,\n")
    )
    assert [(flaw.row, flaw.column) for flaw in found] == [(5, "code"), (6, "code")]


@pytest.mark.parametrize("table", [table for table in TABLES if not table.is_optional], ids=lambda table: table.name)
def test_any_table_may_be_missing_without_a_flaw_elsewhere(flaws_with: Callable[..., list[Flaw]], table):
    """Whatever refers to it cannot be judged."""
    flaw = the_one(flaws_with(deleted(f"{table.name}.csv")))
    assert (flaw.table, flaw.message) == (table.name, "the file is missing")


@pytest.mark.parametrize("file", ["book.toml", "tax/plain.toml"])
def test_a_document_may_be_missing_without_a_flaw_elsewhere(flaws_with: Callable[..., list[Flaw]], file: str):
    """None of its settings is called missing; a profile is a flaw of the setting that names it."""
    assert the_one(flaws_with(deleted(file))).table == "book.toml"


def test_a_folder_that_is_not_there_is_one_flaw(tmp_path: Path):
    """Neither is a file a folder, nor a name that no file can have, nor a folder that leads back to itself."""
    (tmp_path / "file").touch()
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    for name in ("nowhere", "file", "loop", "x" * 999, "nu\0l"):
        folder = tmp_path / name
        flaw = the_one(flaws(read_folder(folder)))
        assert (flaw.table, flaw.message, flaw.value) == (
            "book",
            "there is no such folder",
            str(folder).replace("\0", "\ufffd"),
        )
        with pytest.raises(BookFlawed):
            open_book(folder)


def test_what_is_no_file_is_never_opened(tmp_path: Path):
    """A folder, a loop, a pipe and a device that never ends, each in the place of a table."""
    folder = written(files_with(), tmp_path)
    for name in ("steps", "parts", "menu", "usage"):
        (folder / f"{name}.csv").unlink()
    (folder / "steps.csv").mkdir()
    (folder / "parts.csv").symlink_to(folder / "parts.csv")
    os.mkfifo(folder / "menu.csv")
    (folder / "usage.csv").symlink_to("/dev/zero")
    found = {flaw.table: flaw.message for flaw in flaws(read_folder(folder))}
    assert found.pop("parts").startswith("the file cannot be read: ")
    assert found == {"steps": "not a file", "menu": "not a file", "usage": "not a file"}


def test_a_tax_folder_that_is_none_has_no_profile(tmp_path: Path):
    """A file stands in its place."""
    folder = written({name: text for name, text in files_with().items() if name != "tax/plain.toml"}, tmp_path)
    (tmp_path / "tax").touch()
    flaw = the_one(flaws(read_folder(folder)))
    assert (flaw.column, flaw.suggestion) == ("tax_profile", "the folder tax/ beside the book's has no profile")


def test_names_that_cannot_be_printed_are_shown_all_the_same(tmp_path: Path):
    """A profile's name in another encoding, a folder's with signs that a terminal obeys, a key with both."""
    folder = written(files_with(deleted("tax/plain.toml"), added("book.toml", '["\\u001b[0m"]\n')), tmp_path)
    (tmp_path / "tax").mkdir()
    (tmp_path / "tax" / os.fsdecode(b"\xe4.toml")).touch()
    no_profile, no_setting = flaws(read_folder(folder))
    assert no_profile.suggestion == "the folder tax/ beside the book's has \ufffd"
    assert no_setting.column == "\ufffd[0m"
    assert the_one(flaws(read_folder(tmp_path / "\x1b[0m"))).value == f"{tmp_path}/\ufffd[0m"


def test_a_book_may_be_named_by_where_one_stands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """`quoter book check .` finds the taxes beside the folder, too."""
    folder = written(files_with(), tmp_path)
    (folder / "deeper").mkdir()
    monkeypatch.chdir(folder)
    assert flaws(read_folder(Path())) == []
    monkeypatch.chdir(folder / "deeper")
    assert flaws(read_folder(Path(".."))) == []


def test_a_file_that_is_too_large_is_not_read(flaws_with: Callable[..., list[Flaw]], monkeypatch: pytest.MonkeyPatch):
    """A byte above the limit is one too many."""
    largest = max((name for name in SMALL_BOOK if name.endswith(".csv")), key=lambda name: len(SMALL_BOOK[name]))
    monkeypatch.setattr(load, "LARGEST_FILE", len(SMALL_BOOK[largest].encode()))
    assert flaws_with() == []
    flaw = the_one(flaws_with(added(largest, "\n")))
    assert (flaw.table, flaw.message) == (largest.removesuffix(".csv"), "the file is too large")


def test_a_table_that_is_too_long_is_not_read_to_its_end(
    flaws_with: Callable[..., list[Flaw]], monkeypatch: pytest.MonkeyPatch
):
    """A row above the limit is one too many; blank rows count."""
    monkeypatch.setattr(csv_rows, "MOST_ROWS", 12)
    assert flaws_with(added("steps.csv", "\n\n\n")) == []
    flaw = the_one(flaws_with(added("steps.csv", "\n\n\n\n")))
    assert (flaw.table, flaw.row, flaw.message) == ("steps", 13, "the table is too long")
