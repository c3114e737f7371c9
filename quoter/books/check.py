"""The flaws of a rate book: every one at once, each at its cell. Pure; finds and never raises."""

from collections.abc import Callable, Iterator
from difflib import get_close_matches
from itertools import pairwise
from typing import Any

from quoter.books.check_steps import step_flaws
from quoter.books.check_tax import tax_flaws
from quoter.books.raw import RawBook
from quoter.books.reading import ReadBook, ReadRow, dotted_keys, read, read_settings
from quoter.books.settings import BAND_SETTINGS, BOOK_SETTINGS, FX_SETTINGS
from quoter.books.tables import TABLES, Column, Table
from quoter.problems import Flaw


def flaws(raw: RawBook) -> list[Flaw]:
    """Every fault of the book, in the order of its files and rows."""
    return flaws_of(read(raw))


def flaws_of(book: ReadBook) -> list[Flaw]:
    """Every fault of a book whose cells have been read; rows with unreadable cells have their flaw already."""
    return [*book.flaws, *(flaw for check in CHECKS for flaw in check(book))]


def setting_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Keys of book.toml that mean nothing: a misspelt key would otherwise be silently ignored."""
    known = {setting.key for setting in BOOK_SETTINGS} | {"parts.markup"}
    for key in dotted_keys(book.raw.settings):
        if key not in known and not key.startswith("fx."):
            yield Flaw("book.toml", key, "there is no such setting", suggestion=closest(key, known))


def band_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Markup bands that are unreadable, out of order, or without an open end."""
    bands = book.raw.settings.get("parts", {})
    bands = bands.get("markup") if isinstance(bands, dict) else None
    if not isinstance(bands, list) or not bands or not all(isinstance(band, dict) for band in bands):
        yield Flaw("book.toml", "parts.markup", "must be given", suggestion="[[parts.markup]] bands with upto and rate")
        return
    found: list[Flaw] = []
    read_bands = [
        read_settings(band, BAND_SETTINGS, "book.toml", found, f"parts.markup {number}.")
        for number, band in enumerate(bands, start=1)
    ]
    yield from found
    tops = [band.get("upto") for band in read_bands]
    if tops[-1] is not None:
        yield Flaw("book.toml", "parts.markup", "the last band must have no upto", value=str(tops[-1]))
    for number, (lower, upper) in enumerate(pairwise(tops[:-1]), start=2):
        if lower is not None and upper is not None and upper <= lower:
            at = f"parts.markup {number}.upto"
            yield Flaw("book.toml", at, "bands must ascend", value=str(upper), suggestion=f"above {lower}")
    for number, top in enumerate(tops[:-1], start=1):
        if top is None and "upto" in read_bands[number - 1]:
            yield Flaw("book.toml", f"parts.markup {number}.upto", "only the last band may be without upto")


def fx_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Exchange rates that are not positive numbers of known currencies, and those that parts lack."""
    rates = book.raw.settings.get("fx", {})
    rates = rates if isinstance(rates, dict) else {}
    for code, rate in rates.items():
        found: list[Flaw] = []
        read_settings({"code": code, "rate": rate}, FX_SETTINGS, "book.toml", found, f"fx.{code} ")
        yield from found
    for row in book.tables["parts"]:
        code = row.values.get("currency")
        if code and code != book.settings.get("currency") and code not in rates:
            yield _flaw("parts", row, "currency", "there is no exchange rate for it", code, f"[fx] {code} in book.toml")


def key_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Two rows with one key, and tables that have no rows but need some."""
    for table in TABLES:
        first: dict[str, int] = {}
        for row in book.tables[table.name]:
            if row.key in first:
                message = f"the key is already in row {first[row.key]}"
                yield _flaw(table.name, row, table.key[0], message, row.key, "another key, or one row less")
            first.setdefault(row.key, row.number)
        is_there = not any(flaw.table in (table.name, f"{table.name}.csv") for flaw in book.flaws)
        if not book.tables[table.name] and not table.may_be_empty and is_there:
            yield Flaw(table.name, "", "the table has no rows")


def reference_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Codes that no row of the table they come from has."""
    for table in TABLES:
        for column in table.columns:
            if column.refers:
                for row in book.tables[table.name]:
                    yield from _reference_flaws(book, table, column, row)


def _reference_flaws(book: ReadBook, table: Table, column: Column, row: ReadRow) -> Iterator[Flaw]:
    known = book.keys[str(column.refers)]
    for code in _codes_in(row.values.get(column.name)):
        if code not in known:
            message = f"{column.refers} has no row {code!r}"
            yield _flaw(table.name, row, column.name, message, code, closest(code, known))


def _codes_in(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    for item in value if isinstance(value, tuple) else ():
        yield from _codes_in(item)


def order_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Estimates that do not ascend, and corners larger than half the shorter side."""
    for row in book.tables["steps"]:
        if row.has("low", "likely", "high"):
            low, likely, high = (row.values[column] for column in ("low", "likely", "high"))
            if not low <= likely <= high:
                column = "likely" if not low <= likely else "high"
                value = f"{low}, {likely}, {high}"
                yield _flaw("steps", row, column, "low ≤ likely ≤ high does not hold", value, "in ascending order")
    for row in book.tables["devices"]:
        if row.has("width_mm", "height_mm", "corner_mm"):
            half = min(row.values["width_mm"], row.values["height_mm"]) / 2
            if row.values["corner_mm"] > half:
                message = "the corner is larger than half the shorter side"
                yield _flaw("devices", row, "corner_mm", message, str(row.values["corner_mm"]), f"at most {half}")


def fit_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Slots that lead nowhere: a step that no part can fill, a procedure about a slot that no step fits."""
    filled = {row.values.get("slot") for row in book.tables["parts"]}
    asked = {row.values.get("slot") for row in book.tables["steps"]}
    for row in book.tables["steps"]:
        slot = row.values.get("slot")
        if slot and slot not in filled and row.has("without_part") and not row.values["without_part"]:
            message = "no part fills the slot, and no step stands in without one"
            yield _flaw("steps", row, "slot", message, slot, closest(slot, filled) or "a part, or without_part")
    for row in book.tables["procedures"]:
        slot = row.values.get("slot")
        if slot and slot not in asked:
            message = "no step fits a part into this slot"
            yield _flaw("procedures", row, "slot", message, slot, closest(slot, asked))


def _flaw(table: str, row: ReadRow, column: str, message: str, value: str, suggestion: str = "") -> Flaw:
    return Flaw(table, column, message, row.number, row.key, value, suggestion)


def closest(word: str, known: Any) -> str:
    """The known word that a misspelt one was probably meant to be, as a suggestion."""
    found = get_close_matches(word, sorted(filter(None, known)), n=1)
    return f"perhaps {found[0]}" if found else ""


CHECKS: tuple[Callable[[ReadBook], Iterator[Flaw]], ...] = (
    setting_flaws,
    band_flaws,
    fx_flaws,
    key_flaws,
    reference_flaws,
    order_flaws,
    fit_flaws,
    step_flaws,
    tax_flaws,
)
