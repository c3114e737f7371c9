"""A book as a zip file: what is in it, and in which arrangements it is read."""

import csv
import io

import pytest

from books.conftest import the_one
from books.sheets.made import column_of, demo_book, small_book, small_zip, unzipped, with_parts, with_rows, zipped
from quoter.books.check import flaws
from quoter.books.raw import RawBook
from quoter.books.sheets.archive import from_zip, to_zip
from quoter.books.tables import TABLES
from quoter.problems import TooLarge


def test_the_files_are_those_of_a_folder() -> None:
    """The book's folder, the tax profile beside it."""
    names = list(unzipped(small_zip()))
    assert names == ["small/book.toml", *(f"small/{table.name}.csv" for table in TABLES), "tax/plain.toml"]


def test_the_same_book_makes_the_same_bytes() -> None:
    """When it was exported, and on which machine, is no part of it."""
    assert to_zip(small_book()) == small_zip()
    assert b"\x00\x00!\x00" in small_zip(), "1 January 1980 as zip files write it"


def test_a_table_is_csv_as_spreadsheets_expect_it() -> None:
    """UTF-8 with a byte order mark, CRLF, and nothing to compute."""
    raw = with_rows(small_book(), "cautions", [{"code": "hot", "text": "=1+1", "source": "é"}])
    content = unzipped(to_zip(raw))["small/cautions.csv"]
    assert content.decode() == "\N{ZERO WIDTH NO-BREAK SPACE}code,text,source,customer\r\nhot,'=1+1,é,\r\n"


def moved(files: dict[str, bytes], old: str, new: str) -> dict[str, bytes]:
    """Files in another folder."""
    return {(new + name.removeprefix(old) if name.startswith(old) else name): data for name, data in files.items()}


FILES = unzipped(small_zip())

ARRANGEMENTS = {
    "as exported": FILES,
    "at the top, tax beside": moved(FILES, "small/", ""),
    "in one more folder": moved(moved(FILES, "small/", "Desktop/small/"), "tax/", "Desktop/tax/"),
    "tax inside the book's folder": moved(FILES, "tax/", "small/tax/"),
    "another name": moved(FILES, "small/", "My book (2)/"),
    "capitals": {name.replace("parts.csv", "Parts.CSV"): data for name, data in FILES.items()},
    "packed on Windows": {name.replace("/", "\\"): data for name, data in FILES.items()},
    "packed on a Mac": {**FILES, "__MACOSX/small/._book.toml": b"\0", "small/.DS_Store": b"\0"},
    "with folders, a text and other profiles": {"small/": b"", **FILES, "small/notes.txt": b"", "tax/x.toml": b"x"},
}


@pytest.mark.parametrize("name", ARRANGEMENTS)
def test_however_people_zip_a_book_it_is_read(name: str) -> None:
    """The folders' names do not count."""
    assert from_zip(zipped(ARRANGEMENTS[name])) == small_book()


def test_the_profile_beside_the_book_comes_before_one_in_it() -> None:
    """As where the book is a folder."""
    files = FILES | {"small/tax/plain.toml": b'code = "other"'}
    assert from_zip(zipped(files)).tax == small_book().tax


@pytest.mark.parametrize(
    ("files", "table", "message", "suggestion"),
    [
        ({"small/parts.csv": None}, "parts", "missing", "parts.csv"),
        ({"small/book.toml": b"code ="}, "book.toml", "not TOML", "key"),
        ({"tax/plain.toml": None}, "book.toml", "no such tax profile", "no profile"),
        ({"small/menu.csv": b"\xff"}, "menu", "not UTF-8", "UTF-8"),
        ({"small/extra.csv": b"a"}, "extra.csv", "no such table", "one of book.toml, difficulty.csv"),
        ({"small/parts.csv": None, "small/part.csv": FILES["small/parts.csv"]}, "parts", "no such", "parts.csv"),
    ],
)
def test_a_file_that_is_wrong_is_one_flaw(
    files: dict[str, bytes | None], table: str, message: str, suggestion: str
) -> None:
    """A misspelt table counts as the one that it was meant to be."""
    flaw = the_one(list(from_zip(with_parts(small_zip(), files)).flaws))
    assert (flaw.table, flaw.column) == (table, "tax_profile" if "profile" in message else "")
    assert message in flaw.message
    assert suggestion in flaw.suggestion


@pytest.mark.parametrize(
    ("files", "message"),
    [
        ({"small/parts.csv": b""}, "there is no book.toml"),
        (FILES | {"other/book.toml": b""}, "several books in the zip file: other, small"),
        ({"[Content_Types].xml": b"", "book.toml": b""}, "this is a workbook"),
    ],
)
def test_a_zip_file_without_one_book_is_one_flaw(files: dict[str, bytes], message: str) -> None:
    """It is about the whole, and nothing else is said."""
    raw = from_zip(zipped(files))
    assert message in the_one(flaws(raw)).message
    assert (raw.settings, raw.tables, raw.tax) == ({}, {}, {})


@pytest.mark.parametrize("code", ["a/b", "..", ".hidden", "tax", "Tax", "a\\b", "a*b", "x" * 300, "", 5, None])
def test_a_code_that_makes_no_folder_name_does_no_harm(code: object) -> None:
    """The book is in a folder of another name, and reads the same."""
    raw = demo_book("ballyquarn")
    raw = RawBook({**raw.settings, "code": code}, raw.tables, raw.tax)
    content = to_zip(raw)
    assert next(iter(unzipped(content))) == "book/book.toml"
    assert from_zip(content).tables == raw.tables


def test_a_profile_may_have_any_name_that_a_file_may_have() -> None:
    """Letters of all languages, and the name of the folder that it is in."""
    for name in ("tax", "österreich", "日本"):
        raw = RawBook({**small_book().settings, "tax_profile": name}, small_book().tables, small_book().tax)
        assert from_zip(to_zip(raw)) == raw


@pytest.mark.parametrize("cell", ["a\0b", "a\ud800b"])
def test_a_character_that_no_text_file_holds_is_replaced(cell: str) -> None:
    """No book that can be priced with has one; a draft may, and can be exported."""
    raw = with_rows(small_book(), "cautions", [{"code": "hot", "text": cell, "source": cell}])
    assert column_of(from_zip(to_zip(raw)), "cautions", "text") == ["a\N{REPLACEMENT CHARACTER}b"]


@pytest.mark.parametrize(
    ("raw", "detail"),
    [
        (with_rows(small_book(), "cautions", [{"code": "c", "text": "x" * csv.field_size_limit()}]), "characters"),
        (RawBook({"title": "x" * 200_001}, {}, {}), "settings"),
        (with_rows(small_book(), "cautions", [{"code": "c", "text": "x" * 130_000}] * 250), "at most 32 MB"),
    ],
    ids=["a cell", "the settings", "a table"],
)
def test_what_could_not_be_read_again_is_not_written(raw: RawBook, detail: str) -> None:
    """A cell, settings or a table longer than the reader takes."""
    with pytest.raises(TooLarge, match=detail) as refused:
        to_zip(raw)
    assert detail in str(refused.value)


def test_a_table_saved_by_a_spreadsheet_with_semicolons_is_told() -> None:
    """As European spreadsheets save CSV."""
    rows = list(csv.reader(io.StringIO(FILES["small/menu.csv"].decode())))
    saved = io.StringIO()
    csv.writer(saved, delimiter=";").writerows(rows)
    flaw = the_one(list(from_zip(with_parts(small_zip(), {"small/menu.csv": saved.getvalue()})).flaws))
    assert (flaw.table, flaw.row) == ("menu", 1)
    assert "';'" in flaw.message
