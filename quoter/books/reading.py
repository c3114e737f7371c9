"""From text to values: each cell and setting read by its declaration, each that cannot be read a flaw."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from quoter.books.cells import WrongCell
from quoter.books.raw import RawBook, RawRow
from quoter.books.settings import BOOK_SETTINGS, TAX_SETTINGS, Setting
from quoter.books.tables import REQUIRED, TABLES, Table
from quoter.problems import Flaw


@dataclass(frozen=True, slots=True)
class ReadRow:
    """A row's values by column. A cell that could not be read is not among them."""

    number: int
    key: str
    values: Mapping[str, Any]

    def has(self, *columns: str) -> bool:
        """Whether these cells could all be read."""
        return all(column in self.values for column in columns)


@dataclass(frozen=True, slots=True)
class ReadBook:
    """A book whose cells have been read; `keys` are the row keys of each table, readable or not."""

    raw: RawBook
    settings: Mapping[str, Any]
    tax: Mapping[str, Any]
    tables: Mapping[str, tuple[ReadRow, ...]]
    keys: Mapping[str, frozenset[str]]
    flaws: tuple[Flaw, ...]


def read(raw: RawBook) -> ReadBook:
    """Reads every cell. Finds and never raises."""
    flaws = list(raw.flaws)
    settings = read_settings(raw.settings, BOOK_SETTINGS, "book.toml", flaws)
    tax_file = f"tax/{raw.settings.get('tax_profile', '')}.toml"
    tax = read_settings(raw.tax, TAX_SETTINGS, tax_file, flaws) if raw.tax else {}
    tables = {table.name: tuple(_read_row(row, table, flaws) for row in raw.tables[table.name]) for table in TABLES}
    keys = {
        table.name: frozenset(row.cells.get(table.key[0], "") for row in raw.tables[table.name]) for table in TABLES
    }
    return ReadBook(raw, settings, tax, tables, keys, tuple(flaws))


def _read_row(row: RawRow, table: Table, flaws: list[Flaw]) -> ReadRow:
    key = " ".join(filter(None, (row.cells[column] for column in table.key)))
    values: dict[str, Any] = {}
    for column in table.columns:
        cell = row.cells[column.name]
        try:
            values[column.name] = _read_cell(cell, column.reads, column.blank)
        except WrongCell as wrong:
            flaws.append(Flaw(table.name, column.name, wrong.message, row.number, key, cell[:80], wrong.suggestion))
    return ReadRow(row.number, key, values)


def _read_cell(cell: str, reads: Any, blank: Any) -> Any:
    if cell:
        return reads(cell)
    if blank is REQUIRED:
        raise WrongCell("must not be blank")
    return blank


def read_settings(
    document: Mapping[str, Any], settings: Iterable[Setting], file: str, flaws: list[Flaw], within: str = ""
) -> dict[str, Any]:
    """The settings of a TOML table by dotted key, defaults filled in; what is absent or wrong becomes a flaw."""
    values: dict[str, Any] = {}
    for setting in settings:
        found = dig(document, setting.key)
        try:
            values[setting.key] = _setting_value(found, setting)
        except WrongCell as wrong:
            value = "" if found is None else str(found)[:80]
            flaws.append(Flaw(file, within + setting.key, wrong.message, value=value, suggestion=wrong.suggestion))
    return values


def _setting_value(found: Any, setting: Setting) -> Any:
    if found is None or found == "":
        if setting.absent is REQUIRED:
            raise WrongCell("must be given", setting.help)
        return setting.reads(setting.absent) if isinstance(setting.absent, str) and setting.absent else setting.absent
    if not isinstance(found, str):
        raise WrongCell("not a single value", f'{setting.key.rpartition(".")[2]} = "…"')
    return setting.reads(found)


def dig(document: Mapping[str, Any], key: str) -> Any:
    """What stands under a dotted key, or None."""
    found: Any = document
    for word in key.split("."):
        if not isinstance(found, Mapping):
            return None
        found = found.get(word)
    return found


def dotted_keys(document: Mapping[str, Any], within: str = "") -> Iterator[str]:
    """Every key of a TOML document that has a value, dotted."""
    for key, value in document.items():
        if isinstance(value, Mapping):
            yield from dotted_keys(value, f"{within}{key}.")
        else:
            yield f"{within}{key}"
