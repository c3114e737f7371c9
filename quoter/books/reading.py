"""From text to values: each cell and setting read by its declaration, each that cannot be read a flaw."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from quoter.books.cells import Reader, WrongCell, currency
from quoter.books.law_values import ReadLaw, read_law
from quoter.books.raw import WHOLE_BOOK, RawBook, RawRow
from quoter.books.setting_values import read_settings, read_value, setting_flaw, shown
from quoter.books.settings import BAND_SETTINGS, BOOK_SECTIONS, BOOK_SETTINGS, FX_RATE
from quoter.books.tables import REQUIRED, TABLE_BY_NAME, TABLES, Column, Table
from quoter.books.tax_values import ReadTax, read_list, read_tax
from quoter.problems import Flaw

BOOK_FILE = "book.toml"

_Known = dict[Reader, dict[str, Any]]
"""What cells say, by how they are read. In a large book the same code or cost stands in many rows, and is kept once."""


@dataclass(frozen=True, slots=True)
class ReadRow:
    """A row's values by column. A cell that could not be read is not among them."""

    number: int
    key: str
    values: Mapping[str, Any]

    def has(self, *columns: str) -> bool:
        """Whether these cells could all be read."""
        return self.values.keys() >= set(columns)


@dataclass(frozen=True, slots=True)
class ReadBook:
    """A book whose cells have been read; `keys` are the row keys of each table, readable or not.

    `tax` is None where there is no profile to read, `fx` where that section cannot be read, and a rate in it where it
    cannot: each has its flaw already. `law` is None also where the settings name no law profile.
    """

    raw: RawBook
    settings: Mapping[str, Any]
    bands: tuple[Mapping[str, Any], ...]
    fx: Mapping[str, Any] | None
    tax: ReadTax | None
    tables: Mapping[str, tuple[ReadRow, ...]]
    keys: Mapping[str, frozenset[str]]
    flaws: tuple[Flaw, ...]
    law: ReadLaw | None

    def is_whole(self, table: str, column: str) -> bool:
        """Whether all rows are there and this cell of each could be read: only then is something missing there."""
        rows = self.tables[table]
        left_out = any(flaw.table == table and not flaw.column for flaw in self.raw.flaws)
        is_there = bool(rows) or TABLE_BY_NAME[table].may_be_empty
        return is_there and not left_out and all(row.has(column) for row in rows)


def read(raw: RawBook) -> ReadBook:
    """Reads every cell. Finds and never raises."""
    flaws = list(raw.flaws)
    is_readable = raw.incomplete.isdisjoint((WHOLE_BOOK, BOOK_FILE))
    settings = read_settings(raw.settings, (*BOOK_SETTINGS, *BOOK_SECTIONS), BOOK_FILE, flaws) if is_readable else {}
    bands = read_list(settings.pop("parts.markup", ()), BAND_SETTINGS, BOOK_FILE, "parts.markup", flaws)
    fx = _read_fx(settings.pop("fx"), flaws) if "fx" in settings else None
    tax = _read_tax(raw, settings, flaws)
    law = _read_law(raw, settings, flaws)
    known: _Known = {column.reads: {} for table in TABLES for column in table.columns}
    tables = {table.name: _read_rows(raw, table, known, flaws) for table in TABLES}
    keys = {table.name: frozenset(_keys(raw, table)) for table in TABLES}
    return ReadBook(raw, settings, bands, fx, tax, tables, keys, tuple(flaws), law)


def _read_fx(fx: Mapping[str, Any], flaws: list[Flaw]) -> dict[str, Any]:
    for code in fx:
        try:
            currency(code)
        except WrongCell as wrong:
            flaws.append(setting_flaw(BOOK_FILE, f"fx.{code}", wrong.message, shown(code), wrong.suggestion))
    return {code: read_value(rate, FX_RATE, BOOK_FILE, f"fx.{code}", flaws) for code, rate in fx.items()}


def _read_tax(raw: RawBook, settings: Mapping[str, Any], flaws: list[Flaw]) -> ReadTax | None:
    file = f"tax/{settings.get('tax_profile', '')}.toml"
    is_lost = any(flaw.column == "tax_profile" for flaw in raw.flaws) or file in raw.incomplete
    if not raw.tax and (is_lost or "tax_profile" not in settings):
        return None
    return read_tax(raw.tax, file, flaws)


def _read_law(raw: RawBook, settings: Mapping[str, Any], flaws: list[Flaw]) -> ReadLaw | None:
    file = f"law/{settings.get('law_profile') or ''}.toml"
    is_lost = any(flaw.column == "law_profile" for flaw in raw.flaws) or file in raw.incomplete
    if not settings.get("law_profile") or (not raw.law and is_lost):
        return None
    return read_law(raw.law, file, flaws)


def _read_rows(raw: RawBook, table: Table, known: _Known, flaws: list[Flaw]) -> tuple[ReadRow, ...]:
    flawed = {flaw.column for flaw in raw.flaws if flaw.table == table.name}
    return tuple(_read_row(row, table, known, flawed, flaws) for row in raw.tables.get(table.name, ()))


def _read_row(row: RawRow, table: Table, known: _Known, flawed: set[str], flaws: list[Flaw]) -> ReadRow:
    """The cells of a column that is missing are neither read nor called blank: the column has its flaw."""
    key = " ".join(filter(None, (shown(row.cells.get(column)).strip() for column in table.key)))
    values: dict[str, Any] = {}
    for column in table.columns:
        cell = row.cells.get(column.name)
        if cell is None and column.name in flawed:
            continue
        try:
            values[column.name] = _read_cell(cell, column, known[column.reads])
        except WrongCell as wrong:
            right = wrong.suggestion or column.help
            flaws.append(Flaw(table.name, column.name, wrong.message, row.number, key, shown(cell), right))
    return ReadRow(row.number, key, values)


def _read_cell(cell: str | None, column: Column, known: dict[str, Any]) -> Any:
    if cell is not None and not isinstance(cell, str):
        raise WrongCell("not text", '"…"')
    if cell is not None and cell in known:
        return known[cell]
    stripped = (cell or "").strip()
    if stripped:
        found = known.get(stripped)
        if found is None:
            found = known[stripped] = column.reads(stripped)
        return found
    if column.blank is REQUIRED:
        raise WrongCell("must not be blank")
    return column.blank


def _keys(raw: RawBook, table: Table) -> Iterator[str]:
    """Also those of rows that could not be read."""
    for row in raw.tables.get(table.name, ()):
        yield shown(row.cells.get(table.key[0])).strip()
    for flaw in raw.flaws:
        if flaw.table == table.name:
            yield flaw.key
