"""Where a flaw is, in the words of a spreadsheet."""

import pytest

from quoter.books.sheets.places import Places, place
from quoter.books.tables import TABLES
from quoter.problems import Flaw


@pytest.mark.parametrize(
    ("table", "column", "row", "written"),
    [
        ("parts", "cost", 17, "parts!F17"),
        ("parts", "sku", 1, "parts!A1"),
        ("findings", "caution", 200000, "findings!O200000"),
        ("parts", "cost", None, "parts!F:F"),
        ("parts", "", 17, "parts!17:17"),
        ("parts", "no such", 17, "parts!17:17"),
        ("parts", "", None, "parts"),
    ],
)
def test_a_place_is_written_as_spreadsheets_write_it(table: str, column: str, row: int | None, written: str) -> None:
    """Sheet, column letter, row; all of a column or row where the flaw is about it."""
    assert place(table, column, row) == written


def test_every_column_of_every_table_has_a_place() -> None:
    """The letters follow the declaration."""
    for table in TABLES:
        letters = [place(table.name, column, 2).removeprefix(f"{table.name}!")[0] for column in table.header]
        assert letters == [chr(ord("A") + number) for number in range(len(table.header))]


@pytest.mark.parametrize(
    ("flaw", "written"),
    [
        (Flaw("parts", "cost", "", 17), "parts!C17"),
        (Flaw("parts", "title", "", 17), "parts!17:17"),
        (Flaw("menu", "", ""), "menu"),
        (Flaw("book.toml", "labour.allowance", ""), "book!B14"),
        (Flaw("book.toml", "labour", ""), "book"),
        (Flaw("book.toml", "parts.markup", ""), "markup"),
        (Flaw("book.toml", "fx.XXX", ""), "fx"),
        (Flaw("tax/plain.toml", "stage", ""), "tax"),
        (Flaw("sheet Notes", "", ""), "Notes"),
    ],
)
def test_the_places_of_one_workbook_are_its_own(flaw: Flaw, written: str) -> None:
    """What is not known there is named by its row or sheet."""
    places = Places({"parts": {"cost": 3}}, {("book.toml", "labour.allowance"): "book!B14"})
    assert places.of(flaw) == written
