"""What people do to a workbook with other programs, and what is read of it: cell by cell."""

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest
from openpyxl.worksheet.formula import ArrayFormula

from books.conftest import the_one
from books.sheets.made import column_of, edited, small_book, small_xlsx, typed, unzipped, with_parts
from quoter.books.check import flaws
from quoter.books.compile import compiled
from quoter.books.sheets.workbook import from_xlsx, opened
from quoter.problems import Flaw

READ = [
    ("parts!F2", 13, "General", "13"),
    ("parts!F2", 13.0, "0.00########", "13.00"),
    ("parts!F2", 13.125, "0.00########", "13.125"),
    ("parts!F2", 0.1, "General", "0.1"),
    ("parts!F2", 1.1, "#,##0.00", "1.1"),
    ("parts!F2", 0.1 + 0.2, "General", "0.3"),
    ("parts!F2", 1e-7, "0.00E+00", "0.0000001"),
    ("parts!F2", 123456789.12, '#,##0.00 "€"', "123456789.12"),
    ("parts!F2", "13.5", "@", "13.5"),
    ("parts!F2", " 13.5 ", "@", "13.5"),
    ("parts!L2", 0.125, "0.0%", "0.125"),
    ("parts!A2", 123, "General", "123"),
    ("parts!A2", 123, "@", "123"),
    ("parts!A2", "00123", "@", "00123"),
    ("parts!A2", "2026-01-01", "General", "2026-01-01"),
    ("parts!B2", 1.5, "General", "1.5"),
    ("parts!G2", None, "General", ""),
    ("findings!H2", True, "General", "yes"),
    ("findings!H2", False, "General", ""),
    ("findings!H2", "yes", "@", "yes"),
]


@pytest.mark.parametrize(("cell", "value", "number_format", "text"), READ)
def test_a_cell_is_read_as_its_owner_sees_it(cell: str, value: Any, number_format: str, text: str) -> None:
    """Numbers by their shortest text, a percentage as the fraction that it is."""
    sheet, _, at = cell.partition("!")
    raw = from_xlsx(edited(small_xlsx(), typed(sheet, at, value, number_format)))
    assert not raw.flaws
    column = small_book().tables[sheet][0].cells.keys()
    assert raw.tables[sheet][0].cells[list(column)[ord(at[0]) - ord("A")]] == text


DAY = dt.date(2026, 3, 5)

WRONG = [
    ("parts!F2", "=F3*2", "General", "cost", "holds a formula", "=F3*2", "paste it as a value"),
    ("parts!F2", ArrayFormula("F2", "=F3*2"), "General", "cost", "holds a formula", "=F3*2", "paste it as a value"),
    ("parts!A2", '="00"&"1"', "@", "sku", "holds a formula", '="00"&"1"', "paste it as a value"),
    ("parts!F2", "#REF!", "General", "cost", "holds the error #REF!", "#REF!", "A number"),
    ("parts!F2", DAY, "yyyy-mm-dd", "cost", "holds a date, 2026-03-05", "46086", "format the cell as a number"),
    ("parts!I2", DAY, "d. mmm", "lead_days", "holds a date, 2026-03-05", "46086", "A whole number from 0 to 3650"),
    ("parts!A2", DAY, "d/m/yy", "sku", "holds a date, 2026-03-05", "46086", "format the cell as text"),
    ("parts!A2", 0.5, "h:mm", "sku", "holds a date, 1899-12-30", "0.5", "format the cell as text"),
    (
        "parts!A2",
        10**14,
        "d/m/yy",
        "sku",
        "holds a date, 100000000000000",
        "100000000000000",
        "format the cell as text",
    ),
    ("parts!B2", True, "General", "title", "holds the truth value TRUE", "1", "format the cell as text"),
    ("parts!F2", False, "General", "cost", "holds the truth value FALSE", "0", "format the cell as a number"),
    ("parts!B2", 0.5, "0%", "title", "holds the number 0.5, which its format 0% shows as", "0.5", "as text"),
    ("parts!A2", 123, "00000", "sku", "holds the number 123, which its format 00000 shows as", "123", "as text"),
    ("parts!A2", 100000, "0.00E+00", "sku", "holds the number 100000, which", "100000", "as text"),
    (
        "parts!A2",
        10**15,
        "General",
        "sku",
        "whose last digits a spreadsheet does not keep",
        "1000000000000000",
        "as text",
    ),
]


@pytest.mark.parametrize(("cell", "value", "number_format", "column", "message", "shown", "suggestion"), WRONG)
def test_a_cell_that_cannot_be_meant_is_the_one_flaw(
    cell: str, value: Any, number_format: str, column: str, message: str, shown: str, suggestion: str
) -> None:
    """Named as spreadsheets name it, with what would be right; nothing is computed, and nothing else is said."""
    sheet, _, at = cell.partition("!")
    found = opened(edited(small_xlsx(), typed(sheet, at, value, number_format)))
    flaw = the_one(list(found.raw.flaws))
    assert (flaw.table, flaw.row, flaw.column, flaw.value) == (sheet, 2, column, shown)
    assert flaw.message.startswith(f"{cell} ")
    assert message in flaw.message
    assert suggestion in flaw.suggestion
    assert found.places.of(flaw) == cell
    assert column_of(found.raw, sheet, column)[0] is None
    assert [each for each in flaws(found.raw) if each.column == column and each.row == 2] == [flaw]


def test_a_flaw_names_its_row_by_the_key() -> None:
    """As all flaws do."""
    flaw = the_one(list(from_xlsx(edited(small_xlsx(), typed("menu", "D2", "=1"))).flaws))
    assert flaw.key == "slate screen genuine"


def rows_inserted(workbook: Any) -> None:
    workbook["parts"].insert_rows(2, 3)


def rows_hidden(workbook: Any) -> None:
    workbook["parts"].row_dimensions[3].hidden = True
    workbook["parts"].column_dimensions["F"].hidden = True
    workbook["menu"].sheet_state = "veryHidden"


def far_cells_formatted(workbook: Any) -> None:
    workbook["parts"]["ZZ1000"].number_format = "0%"
    workbook["parts"].append(["", "   "])


def columns_swapped(workbook: Any) -> None:
    for row in workbook["parts"].iter_rows():
        row[0].value, row[5].value = row[5].value, row[0].value
    for row in workbook["book"].iter_rows():
        row[0].value, row[1].value = row[1].value, row[0].value


def sheets_sorted(workbook: Any) -> None:
    workbook._sheets.reverse()


def purposes_removed(workbook: Any) -> None:
    workbook["book"].delete_cols(3)


@pytest.mark.parametrize(
    "change",
    [rows_inserted, rows_hidden, far_cells_formatted, columns_swapped, sheets_sorted, purposes_removed],
)
def test_what_changes_nothing_in_the_book_is_read_over(change: Any) -> None:
    """Blank rows, hidden ones, formats without content, another order of columns or sheets."""
    raw = from_xlsx(edited(small_xlsx(), change))
    assert not raw.flaws
    assert compiled(raw).digest == compiled(small_book()).digest


def test_the_case_of_a_sheets_name_does_not_count() -> None:
    """Spreadsheets do not tell parts from Parts either."""
    workbook = unzipped(small_xlsx())["xl/workbook.xml"].replace(b'name="parts"', b'name="Parts "')
    assert from_xlsx(with_parts(small_xlsx(), {"xl/workbook.xml": workbook})) == small_book()


def test_rows_are_numbered_as_the_workbook_numbers_them() -> None:
    """Also below blank ones."""
    assert [row.number for row in from_xlsx(edited(small_xlsx(), rows_inserted)).tables["parts"]] == [5, 6, 7]


SHAPES: list[tuple[Any, Flaw]] = [
    (lambda book: book.remove(book["menu"]), Flaw("menu", "", "sheet menu: it is missing", suggestion="a sheet menu")),
    (
        lambda book: book.remove(book["book"]),
        Flaw("book.toml", "", "sheet book: it is missing", suggestion="a sheet book"),
    ),
    (
        lambda book: setattr(book["parts"], "title", "prats"),
        Flaw("sheet prats", "", "there is no such sheet", value="prats", suggestion="perhaps parts"),
    ),
    (
        lambda book: book.create_sheet("My notes"),
        Flaw(
            "sheet My notes", "", "there is no such sheet", value="My notes", suggestion="leave it out; the sheets are"
        ),
    ),
    (
        lambda book: book["parts"].merge_cells("B3:C4"),
        Flaw("parts", "", "parts!B3:C4 are merged", 3, suggestion="unmerge them, and fill in each cell"),
    ),
    (
        lambda book: book["parts"].merge_cells("A1:B1"),
        Flaw("parts", "", "parts!A1:B1 are merged", 1, suggestion="unmerge them, and fill in each cell"),
    ),
    (
        lambda book: [book["fx"].append([f"C{n}", 1]) for n in range(2000)],
        Flaw("book.toml", "fx", "sheet fx: it has too many rows", suggestion="at most 2000"),
    ),
    (
        lambda book: book["menu"].delete_rows(1),
        Flaw("menu", "", "menu, row 1: the first row does not name the columns", 1, suggestion="a header row device"),
    ),
    (
        typed("book", "D1", "notes"),
        Flaw("book.toml", "notes", "book, row 1: there is no such column", value="notes", suggestion="a header row"),
    ),
    (
        typed("parts", "F1", "cots"),
        Flaw("parts", "cots", "parts, row 1: there is no such column", 1, value="cots", suggestion="perhaps cost"),
    ),
    (
        typed("parts", "N3", "a note"),
        Flaw("parts", "N3", "parts!N3 is filled, and its column has no name", 3, "", "a note", "clear the column"),
    ),
    (
        lambda book: book["book"].append(["code", "x"]),
        Flaw("book.toml", "code", "book, row 33: the setting is there for the second time", value="code"),
    ),
    (
        lambda book: book["book"].append(["a..b", "x"]),
        Flaw("book.toml", "a..b", "book, row 33: this is not a key", value="a..b"),
    ),
    (
        lambda book: book["book"].append(["title.short", "x"]),
        Flaw("book.toml", "title.short", "book!B33 contradicts another setting", value="x"),
    ),
    (
        lambda book: book["book"].append([None, "x"]),
        Flaw("book.toml", "row 33", "book, row 33: this is not a key"),
    ),
    (
        lambda book: book["fx"].append(["USD", 2]),
        Flaw("book.toml", "fx.USD", "fx, row 3: the setting is there for the second time"),
    ),
    (
        lambda book: book["fx"].append(["JPY", "=B2"]),
        Flaw("book.toml", "fx.JPY", "fx!B3 holds a formula", value="=B2", suggestion="its value alone"),
    ),
    (
        typed("markup", "A3", "=A2"),
        Flaw(
            "book.toml", "parts.markup 2.upto", "markup!A3 holds a formula", value="=A2", suggestion="its value alone"
        ),
    ),
    (
        typed("tax", "B12", "=1"),
        Flaw("tax/plain.toml", "codes.standard.components 1.rate", "tax!B12 holds a formula", value="=1"),
    ),
    (
        lambda book: book["tax"].delete_rows(2, 99),
        Flaw("tax/plain.toml", "", "sheet tax: it is empty", suggestion="a row for each setting"),
    ),
    (
        lambda book: book["fx"].delete_cols(2),
        Flaw("book.toml", "fx", "fx, row 1: the column is missing", suggestion="a header row code,rate"),
    ),
]


@pytest.mark.parametrize(("change", "expected"), SHAPES)
def test_a_workbook_of_another_shape_is_one_flaw(change: Any, expected: Flaw) -> None:
    """Sheets, columns and keys that are missing, unknown, misspelt, merged or there twice."""
    flaw = the_one(list(from_xlsx(edited(small_xlsx(), change)).flaws))
    assert flaw.suggestion.startswith(expected.suggestion)
    assert replace(flaw, suggestion="") == replace(expected, suggestion="", value=expected.value or flaw.value)


def test_a_setting_is_found_in_its_sheet_and_a_list_by_its_number() -> None:
    """Flaws that are found later, when the book is checked, have their cell too."""
    content = edited(
        small_xlsx(),
        typed("book", "B17", 2),
        typed("markup", "B3", "x"),
        typed("fx", "B2", -1),
        typed("tax", "B15", 9),
        typed("parts", "F3", "12,50"),
    )
    found = opened(content)
    assert {found.places.of(flaw) for flaw in flaws(found.raw)} == {
        "book!B17",
        "markup!B3",
        "fx!B2",
        "tax!B15",
        "parts!F3",
    }


def test_places_follow_the_columns_where_they_stand() -> None:
    """In a workbook whose columns were put in another order."""
    found = opened(edited(small_xlsx(), columns_swapped, typed("parts", "A2", "x")))
    assert [found.places.of(flaw) for flaw in flaws(found.raw)] == ["parts!A2"]


@pytest.mark.parametrize(
    ("change", "read"),
    [
        (typed("tax", "B8", True), True),
        (typed("tax", "B8", False), False),
        (typed("tax", "B8", "FALSE"), False),
        (typed("tax", "B8", " true "), True),
        (typed("tax", "B8", "yes"), "yes"),
    ],
)
def test_yes_and_no_are_truth_values_or_their_words(change: Any, read: Any) -> None:
    """In the one setting that is neither text nor number."""
    raw = from_xlsx(edited(small_xlsx(), change))
    assert not raw.flaws
    assert raw.tax["combined"] is read or raw.tax["combined"] == read


def test_a_day_may_be_a_date_where_a_day_belongs() -> None:
    """The first day of a rate of tax, typed as people type dates."""
    raw = from_xlsx(edited(small_xlsx(), typed("tax", "B13", dt.date(2011, 1, 4), "d. mmm yyyy")))
    assert not raw.flaws
    assert raw.tax["codes"]["standard"]["components"][0]["from"] == "2011-01-04"


def test_of_a_thousand_equal_flaws_the_rest_is_counted() -> None:
    """Whoever has so many has one reason for them."""
    raw = from_xlsx(
        edited(small_xlsx(), lambda book: [book["menu"].append(["slate", "clean", "", "=1"]) for _ in range(1500)])
    )
    assert len(raw.flaws) == 1000
    assert raw.flaws[-1].message == "501 more flaws here"
