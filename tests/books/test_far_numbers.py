"""Numbers far from those of the version before: every number of a book, and how far is far."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from builders import TODAY, a_book, a_raw_book, a_row, use

from quoter.book import RateBook
from quoter.books.compile import compiled
from quoter.books.raw import RawBook
from quoter.books.settings import BOOK_SETTINGS
from quoter.books.tables import TABLE_BY_NAME, TABLES
from quoter.books.warnings import warnings
from quoter.problems import Flaw


def far(old: RateBook, new: RateBook) -> list[tuple[str, str, str]]:
    """Table, key and column of each warning about the new book beside the old."""
    return [(each.table, each.key, each.column) for each in warnings(new, old, TODAY, with_prices=False)]


def battery_at(cost: str) -> RateBook:
    """The small book with the battery's part at that cost."""
    return compiled(with_cells("parts", 0, {"cost": cost}))


@pytest.mark.parametrize(
    ("old", "new", "message", "suggestion"),
    [
        ("12.50", "125", "10 times what it was (12.50): a likely slip of the decimal point", "perhaps 12.5"),
        ("12.50", "1.25", "it was 10 times as much (12.50): a likely slip of the decimal point", "perhaps 12.5"),
        ("12.50", "1290", "103.2 times what it was (12.50): a likely slip of the decimal point", "perhaps 12.9"),
        ("100", "1100", "11 times what it was (100): a likely slip of the decimal point", "perhaps 110"),
        ("100", "1110", "11.1 times what it was (100)", "whether this is meant"),
        ("100", "900", "9 times what it was (100): a likely slip of the decimal point", "perhaps 90"),
        ("100", "890", "8.9 times what it was (100)", "whether this is meant"),
        ("890", "100", "it was 8.9 times as much (890)", "whether this is meant"),
        ("100", "777", "7.8 times what it was (100)", "whether this is meant"),
        ("10", "50", "5 times what it was (10)", "whether this is meant"),
        ("50", "10", "it was 5 times as much (50)", "whether this is meant"),
        ("0.03", "30", "1000 times what it was (0.03): a likely slip of the decimal point", "perhaps 0.03"),
    ],
)
def test_a_number_far_from_what_it_was_is_warned_of(old: str, new: str, message: str, suggestion: str):
    """Five times and more either way; within a tenth of a power of ten, the decimal point has probably slipped."""
    found = warnings(battery_at(new), battery_at(old), TODAY, with_prices=False)
    assert found == [Flaw("parts", "cost", message, None, "B1", new, suggestion)]


@pytest.mark.parametrize(
    ("old", "new"),
    [("10", "49.99"), ("50", "10.01"), ("10", "10.00"), ("0", "100"), ("100", "0"), ("0", "0")],
)
def test_a_number_that_is_not_far_is_not_warned_of(old: str, new: str):
    """And nothing is far from nothing."""
    assert far(battery_at(old), battery_at(new)) == []


def is_number(reads: Any) -> bool:
    """Whether a cell is read as a number, as the documentation of its reader says."""
    return (reads.__doc__ or "").startswith(("A number", "A whole number"))


NUMBERS = [(table.name, column) for table in TABLES for column in table.columns if is_number(column.reads)]

BESIDE: Mapping[str, Mapping[str, str]] = {
    "low": {"likely": "100", "high": "100"},
    "likely": {"low": "0", "high": "100"},
    "high": {"low": "0", "likely": "0"},
    "width_mm": {"corner_mm": "0"},
    "height_mm": {"corner_mm": "0"},
}
"""Cells that must be so that another one of the row may be anything."""


def with_cells(table: str, number: int, cells: Mapping[str, str]) -> RawBook:
    """A book with rows in every table, and other cells in one of them."""
    book = a_raw_book(
        consumables=[a_row("tape")],
        usage=[use("open", "tape")],
        menu=[{"procedure": "battery", "net": 100}],
        findings=[a_row("bent")],
        warranty=[a_row("year")],
    )
    rows = list(book.tables[table])
    rows[number] = replace(rows[number], cells={**rows[number].cells, **cells})
    return replace(book, tables={**book.tables, table: tuple(rows)})


@pytest.mark.parametrize(("table", "column"), NUMBERS, ids=[f"{table}-{column.name}" for table, column in NUMBERS])
def test_every_number_of_every_table_is_looked_at(table: str, column: Any):
    """Whatever is declared as a number, ten times as much as before."""
    is_whole = column.reads.__doc__.startswith("A whole number")
    old, new = (
        compiled(with_cells(table, 0, {**BESIDE.get(column.name, {}), column.name: text}))
        for text in (("1", "10") if is_whole else ("0.05", "0.5"))
    )
    row = with_cells(table, 0, {}).tables[table][0].cells
    key = " ".join(row[each] for each in TABLE_BY_NAME[table].key if row[each])
    assert (table, key, column.name) in far(old, new)


CANNOT_BE_FAR = {"labour.confidence": "from 0.5 to below 1, it is never twice what it was"}

SETTINGS = [each for each in BOOK_SETTINGS if is_number(each.reads) and each.key not in CANNOT_BE_FAR]


@pytest.mark.parametrize("setting", SETTINGS, ids=[each.key for each in SETTINGS])
def test_every_number_of_the_settings_is_looked_at(setting: Any):
    """Whatever book.toml declares as a number, ten times as much as before."""
    texts = ("1", "10") if setting.reads.__doc__.startswith("A whole number") else ("0.05", "0.5")
    old, new = (a_book(settings={setting.key: text}) for text in texts)
    assert far(old, new) == [("book.toml", "", setting.key)]


LOW, HIGH = {"upto": 20, "rate": "0.5"}, {"rate": "0.1"}


@pytest.mark.parametrize(
    ("old", "new", "columns"),
    [
        ({"fx": {"USD": "0.9"}}, {"fx": {"USD": "9"}}, ["fx.USD"]),
        ({"fx": {"USD": "0.9"}}, {"fx": {"USD": "0.95", "JPY": "0.006"}}, []),
        ({"markup": [LOW, HIGH]}, {"markup": [LOW | {"upto": 200}, HIGH]}, ["parts.markup 1.upto"]),
        ({"markup": [LOW, HIGH]}, {"markup": [LOW, {"rate": 1}]}, ["parts.markup 2.rate"]),
        ({"markup": [LOW, HIGH]}, {"markup": [{"upto": 2, "rate": 5}, LOW, HIGH]}, []),  # other bands
    ],
)
def test_exchange_rates_and_bands_are_looked_at(old: Mapping[str, Any], new: Mapping[str, Any], columns: list[str]):
    """A rate that is new has nothing to be far from, and with one band more none is the band that it was."""
    assert far(a_book(**old), a_book(**new)) == [("book.toml", "", column) for column in columns]


VAT = ("VAT", "0.20", "2000-01-01")


@pytest.mark.parametrize(
    ("old", "new", "columns"),
    [
        ([VAT], [("VAT", "0.02", "2000-01-01")], ["codes.std.components 1.rate"]),
        ([VAT], [VAT, ("VAT", "0.021", "2026-01-01")], ["codes.std.components 2.rate"]),
        ([VAT], [("VAT", "0.021", "2026-01-01"), VAT], ["codes.std.components 1.rate"]),
        ([VAT], [VAT, ("VAT", "0.21", "2026-01-01")], []),
        ([VAT], [VAT, ("levy", "0.01", "2026-01-01")], []),  # another tax
        ([VAT], [("VAT", "0.02", "1999-12-31"), VAT], []),  # none counted before it
        ([("VAT", "0.02", "1990-01-01"), VAT], [VAT, ("VAT", "0.1", "1995-01-01")], ["codes.std.components 2.rate"]),
    ],
)
def test_a_tax_rate_is_compared_with_the_one_that_it_follows(old: list[Any], new: list[Any], columns: list[str]):
    """The newest of its name that had begun by its first day, in the version before."""
    books = (a_book(tax={"rates": {"std": components}}) for components in (old, new))
    assert far(*books) == [("tax/plain.toml", "", column) for column in columns]


def test_a_tax_profiles_cash_increment_is_looked_at():
    """5 cents that have become half a euro."""
    old, new = (a_book(tax={"cash_increment": increment}) for increment in ("0.05", "0.5"))
    assert far(old, new) == [("tax/plain.toml", "", "cash_increment")]


def test_rows_are_compared_by_their_keys():
    """Not by their places: two parts that change places keep their costs."""
    rows = [{"sku": sku, "cost": cost, "slot": slot} for sku, cost, slot in (("B1", 1, "battery"), ("P1", 99, "port"))]
    assert far(a_book(parts=rows), a_book(parts=rows[::-1])) == []


def test_a_row_that_is_new_has_nothing_to_be_far_from():
    """Nor has one that is gone."""
    few, more = a_book(), a_book(findings=[a_row("bent", charge=10)])
    assert far(few, more) == far(more, few) == []


def test_amounts_of_another_currency_are_not_compared():
    """A book that goes over from euro to yen has other numbers throughout."""
    dear = {"difficulty": [a_row("usual", hourly_rate=9000)], "settings": {"currency": "JPY"}}
    assert far(a_book(), a_book(**dear)) == []
    assert far(a_book(settings={"currency": "JPY"}), a_book(**dear)) == [("difficulty", "usual", "hourly_rate")]
