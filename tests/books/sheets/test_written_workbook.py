"""The workbook that is written, as openpyxl reads it: its sheets, notes and formats."""

import io
from dataclasses import replace
from typing import Any

import openpyxl
import pytest

from books.sheets.made import demo_book, small_book, small_xlsx, unzipped, with_rows
from quoter.books.raw import RawBook
from quoter.books.sheets.filled import LONGEST_CELL
from quoter.books.sheets.grid import MOST_ROWS
from quoter.books.sheets.layout import SHEETS
from quoter.books.sheets.workbook import from_xlsx, to_xlsx
from quoter.books.tables import TABLES
from quoter.problems import TooLarge


@pytest.fixture(scope="module")
def book() -> Any:
    """The small book, opened with openpyxl."""
    return openpyxl.load_workbook(io.BytesIO(small_xlsx()))


@pytest.fixture(scope="module")
def lawful() -> Any:
    """A book with a law profile, opened with openpyxl."""
    return openpyxl.load_workbook(io.BytesIO(to_xlsx(demo_book("ballyquarn"))))


def test_there_is_a_sheet_a_table_in_the_order_of_the_tables(book: Any, lawful: Any) -> None:
    """Settings first, the tax profile last; below it a law profile, if there is one."""
    assert book.sheetnames == ["book", "markup", "fx", *(table.name for table in TABLES), "tax"]
    assert lawful.sheetnames == [*book.sheetnames, "law"]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_a_header_is_bold_frozen_and_explained(lawful: Any, sheet: Any) -> None:
    """Each column with a note that says what it is for."""
    worksheet = lawful[sheet.name]
    assert worksheet.freeze_panes == "A2"
    for column, cell in zip(sheet.table.columns, worksheet[1], strict=False):
        assert cell.value == column.name
        assert cell.font.bold
        assert column.help[1:] in cell.comment.text


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ("cost!F1", ["What it costs the shop.", "A number", "Must not be blank."]),
        ("freight!H1", ["A number", "May be blank: then it is 0."]),
        ("devices!E1", ["Codes separated by spaces.", "Must not be blank.", "Refers to the sheet devices."]),
        ("saves!J1", ["May be blank.", "Refers to the sheet steps."]),
    ],
)
def test_a_note_says_what_may_stand_there(book: Any, cell: str, says: list[str]) -> None:
    """Whether it may be blank, what a blank means, which sheet the codes come from."""
    name, _, at = cell.partition("!")
    assert book["parts"][at].value == name
    for words in says:
        assert words in book["parts"][at].comment.text


def test_tables_can_be_filtered_and_columns_are_wide_enough(book: Any) -> None:
    """The filter covers all rows."""
    assert book["parts"].auto_filter.ref == "A1:M4"
    assert book["cautions"].column_dimensions["B"].width >= len("The mat is hot, and stays so")
    assert all(8 <= each.width <= 60 for sheet in book for each in sheet.column_dimensions.values())


def test_settings_that_may_be_given_stand_there_to_be_filled_in(book: Any) -> None:
    """With what they are for."""
    lines = {row[0]: row[1:] for row in book["book"].iter_rows(values_only=True)}
    assert lines["labour.allowance"] == (0.1, "personal, fatigue and delay allowance on working time: 0.15 is 15 %")
    assert lines["shop.phone"] == (None, "printed on quotes; may be blank")
    assert {row[0]: row[1] for row in book["tax"].iter_rows(values_only=True)}["combined"] is True


@pytest.mark.parametrize("text", ["00123", "2026-01-01", "50%", "#REF!", "=1+1", "+1", "-A1", "@x", "'=1", "'tis"])
def test_codes_and_texts_are_formatted_as_text(text: str) -> None:
    """So that they stay what they are, also when somebody enters the cell and leaves it."""
    raw = with_rows(small_book(), "cautions", [{"code": text, "text": text}])
    cell = openpyxl.load_workbook(io.BytesIO(to_xlsx(raw)))["cautions"]["A2"]
    assert (cell.value, cell.data_type, cell.number_format) == (text, "s", "@")
    assert cell.quotePrefix is text.startswith(("=", "+", "-", "@", "'"))


def test_blank_cells_of_words_are_formatted_as_text_too(book: Any) -> None:
    """What somebody types below the last row stays what it is."""
    formats = {each.index: each.number_format for each in book["parts"].column_dimensions.values()}
    assert (formats["A"], formats["F"]) == ("@", "General")


def test_no_formula_is_written() -> None:
    """Not in any sheet, whatever the cells say."""
    raw = with_rows(demo_book("ballyquarn"), "cautions", [{"code": "=A1", "text": "=HYPERLINK(A1)", "source": "=1"}])
    raw = replace(raw, settings={**raw.settings, "title": "=1+1"})
    sheets = [data for name, data in unzipped(to_xlsx(raw)).items() if name.startswith("xl/worksheets/sheet")]
    assert len(sheets) == len(SHEETS)
    assert not any(b"<f" in data for data in sheets)


def test_the_same_book_makes_the_same_bytes() -> None:
    """When it was exported is no part of it."""
    assert to_xlsx(small_book()) == small_xlsx()
    assert b"1980-01-01T00:00:00Z" in unzipped(small_xlsx())["docProps/core.xml"]


@pytest.mark.parametrize(
    "cell", ["x" * (LONGEST_CELL + 1), "😀" * (LONGEST_CELL // 2 + 1), "\x07" * (LONGEST_CELL // 7 + 1)]
)
def test_a_text_that_no_spreadsheet_keeps_is_not_cut(cell: str) -> None:
    """It is refused, at its place, with the way that remains."""
    raw = with_rows(small_book(), "cautions", [{"code": "c", "text": cell}])
    with pytest.raises(TooLarge, match=r"cautions, row 2, text: .* zip file"):
        to_xlsx(raw)


def test_the_longest_text_that_a_spreadsheet_keeps_comes_back() -> None:
    """All 32,767 characters."""
    raw = with_rows(small_book(), "cautions", [{"code": "c", "text": "x" * LONGEST_CELL}])
    assert from_xlsx(to_xlsx(raw)) == raw


@pytest.mark.parametrize(
    ("raw", "sheet"),
    [
        (with_rows(small_book(), "offers", [{"device": "d"}] * MOST_ROWS), "offers"),
        (RawBook({"parts": {"markup": [{"rate": "0"}] * 201}}, {}, {}), "markup"),
        (RawBook({"fx": {f"C{n}": "1" for n in range(2001)}}, {}, {}), "fx"),
        (RawBook({}, {}, {f"x{n}": "1" for n in range(2001)}), "tax"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_has_more_rows_than_are_read_is_not_written(raw: RawBook, sheet: str) -> None:
    """Nothing is left out silently."""
    with pytest.raises(TooLarge, match=f"{sheet} has too many rows; export the book as a zip file"):
        to_xlsx(raw)
