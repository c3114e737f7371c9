"""Columns that a file may lack: what they hold, and that a book without them is the book that it was."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from books.conftest import Files, saved, the_one
from books.sheets.made import edited, small_xlsx
from quoter.books.compare import compare
from quoter.books.compile import compiled
from quoter.books.draft import Edit, draft_of, raw_of
from quoter.books.draft import edited as redrafted
from quoter.books.raw import RawBook
from quoter.books.sheets.archive import from_zip, to_zip
from quoter.books.sheets.workbook import from_xlsx, to_xlsx
from quoter.books.tables import TABLES
from quoter.problems import Flaw

OPTIONAL = [(table.name, column) for table in TABLES for column in table.columns if column.is_optional]
FILLED = {"year": "2021", "tools": "heating mat, thin card", "width_mm": "5", "condition": "new", "customer": "Careful"}


def with_column(table: str, column: str, *cells: str) -> Callable[[Files], None]:
    """The column at the end of its table, its first rows filled."""

    def change(files: Files) -> None:
        header, *rows = str(files[f"{table}.csv"]).splitlines()
        filled = [f'{row},"{text}"' for row, text in zip(rows, (*cells, *[""] * len(rows)), strict=False)]
        files[f"{table}.csv"] = "\n".join([f"{header},{column}", *filled]) + "\n"

    return change


def test_these_are_the_columns_that_a_file_may_lack() -> None:
    """A book of before there were any has none of them."""
    assert [(table, column.name) for table, column in OPTIONAL] == [
        ("devices", "year"),
        ("steps", "tools"),
        ("consumables", "width_mm"),
        ("parts", "condition"),
        ("cautions", "customer"),
    ]


def test_what_stands_in_them(raw_with: Callable[..., RawBook]) -> None:
    """As values; and what a blank, or no column at all, means."""
    changes = [with_column(table, column.name, FILLED[column.name]) for table, column in OPTIONAL]
    book, bare = compiled(raw_with(*changes)), compiled(raw_with())
    assert [device.year for device in book.devices.values()] == [2021, None]
    assert book.steps["warm"].tools == ("heating mat", "thin card")
    assert (book.steps["open"].tools, bare.steps["warm"].tools) == ((), ())
    assert (book.consumables["tape"].width_mm, bare.consumables["tape"].width_mm) == (Decimal(5), None)
    assert (book.parts["B1"].condition, bare.parts["B1"].condition) == ("new", None)
    assert (book.cautions["hot"].customer, bare.cautions["hot"].customer) == ("Careful", "")


@pytest.mark.parametrize(("table", "column"), OPTIONAL, ids=[f"{table}-{column.name}" for table, column in OPTIONAL])
def test_a_blank_column_changes_neither_digest_nor_comparison_and_a_filled_one_both(
    raw_with: Callable[..., RawBook], table: str, column: object
) -> None:
    """Two books that say the same are the same book, whichever version of the tables they were written for."""
    name = column.name  # type: ignore[attr-defined]
    bare, blank, filled = (
        raw_with(),
        raw_with(with_column(table, name)),
        raw_with(with_column(table, name, FILLED[name])),
    )
    assert (compiled(blank).digest, compare(bare, blank)) == (compiled(bare).digest, ())
    assert compiled(filled).digest != compiled(bare).digest
    (change,) = compare(bare, filled)
    assert (change.table, change.column, change.old, change.new) == (table, name, None, FILLED[name])


@pytest.mark.parametrize(
    ("table", "column", "text", "right"),
    [
        ("devices", "year", "21", "four digits"),
        ("devices", "year", "2021.0", "four digits"),
        ("devices", "year", "1899", "four digits"),
        ("steps", "tools", "mat,,card", "single commas"),
        ("steps", "tools", "mat, ", "single commas"),
        ("consumables", "width_mm", "0", "above 0"),
        ("parts", "condition", "mint", "one of new, refurbished, used"),
        ("cautions", "customer", "x" * 2001, "at most 2000"),
    ],
)
def test_what_is_wrong_in_one_of_them_is_one_flaw(
    flaws_with: Callable[..., list[Flaw]], table: str, column: str, text: str, right: str
) -> None:
    """With what would be right."""
    flaw = the_one(flaws_with(with_column(table, column, text)))
    assert (flaw.table, flaw.row, flaw.column) == (table, 2, column)
    assert right in flaw.suggestion


def test_a_misspelt_one_is_a_flaw_as_ever(flaws_with: Callable[..., list[Flaw]]) -> None:
    """It was meant, so its cells must not be lost without a word."""
    flaw = the_one(flaws_with(with_column("steps", "tolls", "heating mat")))
    assert (flaw.column, flaw.message, flaw.suggestion) == ("tolls", "there is no such column", "perhaps tools")


def test_a_workbook_of_before_there_were_any_is_taken(raw_with: Callable[..., RawBook]) -> None:
    """Its sheets end a column earlier, and there is no sheet of translations."""
    content = edited(
        small_xlsx(),
        lambda book: [book[table].delete_cols(book[table].max_column) for table, _ in OPTIONAL],
        lambda book: book.remove(book["translations"]),
    )
    assert from_xlsx(content) == raw_with()


@pytest.mark.parametrize(
    "trip", [lambda raw: from_zip(to_zip(raw)), lambda raw: from_xlsx(to_xlsx(raw))], ids=["zip", "xlsx"]
)
def test_all_of_them_come_back_to_the_letter(
    raw_with: Callable[..., RawBook], trip: Callable[[RawBook], RawBook]
) -> None:
    """Filled, and with a translation."""
    changes = [with_column(table, column.name, FILLED[column.name]) for table, column in OPTIONAL]
    raw = raw_with(*changes, saved("translations.csv", "table,key,column,language,text\nsteps,warm,title,de,Wärmen\n"))
    assert trip(raw) == raw


def test_a_cell_of_a_draft_from_before_is_set_like_any_other(raw_with: Callable[..., RawBook]) -> None:
    """Its rows do not have the column yet."""
    raw = raw_with()
    cells = dict(raw.tables["devices"][0].cells)
    del cells["year"]
    draft = draft_of(RawBook(raw.settings, {**raw.tables, "devices": (raw.tables["devices"][0],)}, raw.tax))
    row = draft.tables["devices"][0]
    after, (change,) = redrafted(draft, [Edit(do="set", table="devices", row=row.id, cells={"year": "2020"})])
    assert (change.old, change.new) == ("", "2020")
    assert raw_of(after).tables["devices"][0].cells["year"] == "2020"
