"""The workbook that is written, as a program reads it that has no line in common with the one that wrote it."""

import io
from typing import Any

import pytest
from python_calamine import CalamineWorkbook

from books.sheets.made import demo_book, small_book, with_rows
from quoter.books.raw import RawBook
from quoter.books.sheets.workbook import to_xlsx
from quoter.books.tables import TABLES


def values(raw: RawBook, sheet: str) -> list[list[Any]]:
    """The values of a sheet, read with calamine."""
    rows: list[list[Any]] = (
        CalamineWorkbook.from_filelike(io.BytesIO(to_xlsx(raw))).get_sheet_by_name(sheet).to_python()
    )
    return rows


@pytest.mark.parametrize(
    ("text", "value"),
    [("12.50", 12.5), ("0.10", 0.1), ("3", 3), ("0.000001", 0.000001), ("123456789012.345", 123456789012.345)],
)
def test_numbers_are_numbers(text: str, value: float) -> None:
    """Exactly those that are written."""
    raw = with_rows(small_book(), "menu", [{"device": "slate", "net": text}])
    (_, (_, _, _, net)) = values(raw, "menu")
    assert (type(net), net) == (float, value)


@pytest.mark.parametrize("text", ["0.1234567890123456", "1234567890123456", "007", "1e5", "12,5", "-0", "5 %"])
def test_what_no_spreadsheet_number_can_hold_stays_text(text: str) -> None:
    """More than 15 significant digits, zeros in front, or no plain number at all."""
    raw = with_rows(small_book(), "menu", [{"device": "slate", "net": text}])
    (_, (_, _, _, net)) = values(raw, "menu")
    assert net == text


TEXTS = [
    "00123",
    "1E5",
    "2026-01-01",
    "1/2",
    "50%",
    "TRUE",
    "#REF!",
    "=1+1",
    "+1",
    "@x",
    "'=1",
    "a\rb",
    "_x0041_",
    "é😀",
]


@pytest.mark.parametrize("text", TEXTS)
def test_codes_and_texts_are_text(text: str) -> None:
    """To the letter: no number, no day, no truth value, nothing computed."""
    raw = with_rows(small_book(), "cautions", [{"code": text, "text": text}])
    (_, (code, words, *_)) = values(raw, "cautions")
    assert (code, words) == (text, text)


def test_a_demo_book_is_all_there() -> None:
    """Every row of every table; numbers as numbers, the rest as it is written."""
    raw = demo_book("ballyquarn")
    workbook = CalamineWorkbook.from_filelike(io.BytesIO(to_xlsx(raw)))
    for table in TABLES:
        header, *rows = workbook.get_sheet_by_name(table.name).to_python()
        assert tuple(header) == table.header
        assert len(rows) == len(raw.tables[table.name])
        for row, written in zip(raw.tables[table.name], rows, strict=True):
            for text, value in zip(row.cells.values(), written, strict=True):
                assert value == (float(text) if isinstance(value, float) else text)
