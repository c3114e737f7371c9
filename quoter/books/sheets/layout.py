"""Which sheets a workbook has, and what stands in them: settings as lines of key and value, a sheet a table."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from quoter.books import cells
from quoter.books.flat import flat, segments
from quoter.books.raw import RawBook
from quoter.books.reading import BOOK_FILE
from quoter.books.settings import (
    BAND_SETTINGS,
    BOOK_SETTINGS,
    COMPONENT_SETTINGS,
    CUSTOMER_SETTINGS,
    FX_RATE,
    LAW_SETTINGS,
    LINE_CODE,
    NOTICE_SETTINGS,
    NOTICE_TEXT,
    RECLASS_SETTINGS,
    TAX_SETTINGS,
    Setting,
)
from quoter.books.sheets.grid import MOST_ROWS
from quoter.books.tables import REQUIRED, TABLES, Column, Table

PURPOSE = "what it is for"
"""The third column of the sheets of settings, for people: it is not read."""

TAX_FILE = "tax"
LAW_FILE = "law"

MOST_LINES = 2_000
"""Settings in one sheet."""

HIGHEST_NUMBER = 200
"""Of a member of a list of settings."""


class Entry(NamedTuple):
    """A cell to be written: what it says, and the column or setting that it belongs to."""

    text: str
    column: Column


Rows = Iterable[tuple[Entry, ...]]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet. `table` says which columns it has and what its flaws call it, `rows` what it holds of a book.

    `most` are the rows below its header that are written and read.
    """

    name: str
    table: Table
    rows: Callable[[RawBook], Rows]
    most: int

    @property
    def has_purposes(self) -> bool:
        """Whether it is a sheet of settings."""
        return self.table.columns == _LINE

    def column(self, name: str, row: Mapping[str, str]) -> Column:
        """How the cell of a column is read: a value as its setting, which the row's key names."""
        if self.has_purposes and name == "value":
            return setting_column(self.table.name, row.get("key", ""))
        return _BY_NAME[self.table.name, name]


def _setting_column(setting: Setting) -> Column:
    return Column(setting.key, setting.reads, setting.help, setting.absent)


_LINE = (
    Column("key", cells.text, "names the setting; members of a list are counted from 1"),
    Column("value", cells.text, "what it is set to; the third column says what it is for", ""),
)
_BAND = tuple(map(_setting_column, BAND_SETTINGS))
_FX = (
    Column("code", cells.currency, "ISO 4217 code of a currency that parts are bought in"),
    Column("rate", FX_RATE.reads, "book currency for one unit of it"),
)
_TEXT = Column("", cells.text, "")


def _declared(settings: Iterable[Setting], *within: str) -> dict[tuple[str, ...], Column]:
    return {(*within, *setting.key.split(".")): _setting_column(setting) for setting in settings}


_COLUMNS: Mapping[str, Mapping[tuple[str, ...], Column]] = {
    BOOK_FILE: _declared(BOOK_SETTINGS),
    TAX_FILE: {
        **_declared(TAX_SETTINGS),
        **_declared(COMPONENT_SETTINGS, "codes", "*", "components"),
        ("lines", "*"): _setting_column(LINE_CODE),
        **_declared(CUSTOMER_SETTINGS, "customers", "*"),
        **_declared(RECLASS_SETTINGS, "reclass"),
    },
    LAW_FILE: {
        **_declared(LAW_SETTINGS),
        **_declared(NOTICE_SETTINGS, "notices", "*"),
        ("notices", "*", "texts", "*"): _setting_column(NOTICE_TEXT),
    },
}
"""The settings of the files by the words of their keys, * standing for a name that the owner chooses."""


@lru_cache(maxsize=4096)
def setting_column(file: str, key: str) -> Column:
    """The setting that a key stands for, as if it were a column; any text where there is none."""
    words = tuple(name for name, _ in segments(key))
    declared = _COLUMNS[file]
    patterns = (words, (*words[:1], "*", *words[2:]), (*words[:1], "*", *words[2:-1], "*"))
    return next((declared[pattern] for pattern in patterns if pattern in declared), _TEXT)


def band_of(key: str) -> tuple[int, str] | None:
    """The number and the column of a value that the sheet of the bands holds."""
    match segments(key):
        case [("parts", None), ("markup", int(number)), (("upto" | "rate") as column, None)]:
            return number, column
    return None


def currency_of(key: str) -> str | None:
    """The currency of a value that the sheet of the exchange rates holds."""
    match segments(key):
        case [("fx", None), (code, None)]:
            return code
    return None


def _book_rows(raw: RawBook) -> Rows:
    elsewhere = (key for key in flat(raw.settings) if band_of(key) or currency_of(key))
    return _line_rows(BOOK_FILE, BOOK_SETTINGS, flat(raw.settings), frozenset(elsewhere))


def _tax_rows(raw: RawBook) -> Rows:
    return _line_rows(TAX_FILE, TAX_SETTINGS, flat(raw.tax), frozenset())


def _law_rows(raw: RawBook) -> Rows:
    return _line_rows(LAW_FILE, LAW_SETTINGS, flat(raw.law), frozenset())


def _line_rows(file: str, settings: Iterable[Setting], lines: Mapping[str, str], without: frozenset[str]) -> Rows:
    """The settings that every book may have, filled or blank, then all others."""
    for key in dict.fromkeys((*(setting.key for setting in settings), *lines)):
        if key not in without:
            column = setting_column(file, key)
            purpose = column.help if column.blank is REQUIRED else f"{column.help}; may be blank"
            yield Entry(key, _LINE[0]), Entry(lines.get(key, ""), column), Entry(purpose, _TEXT)


def _band_rows(raw: RawBook) -> Iterator[tuple[Entry, ...]]:
    bands: dict[int, dict[str, str]] = {}
    for key, text in flat(raw.settings).items():
        band = band_of(key)
        if band:
            bands.setdefault(band[0], {})[band[1]] = text
    for _, band_cells in sorted(bands.items()):
        yield tuple(Entry(band_cells.get(column.name, ""), column) for column in _BAND)


def _fx_rows(raw: RawBook) -> Iterator[tuple[Entry, ...]]:
    for key, text in flat(raw.settings).items():
        code = currency_of(key)
        if code is not None:
            yield Entry(code, _FX[0]), Entry(text, _FX[1])


def _table_rows(table: Table) -> Callable[[RawBook], Rows]:
    def rows(raw: RawBook) -> Iterator[tuple[Entry, ...]]:
        for row in raw.tables.get(table.name, ()):
            yield tuple(Entry(str(row.cells.get(column.name) or ""), column) for column in table.columns)

    return rows


BOOK = Sheet("book", Table(BOOK_FILE, dict, ("key",), _LINE), _book_rows, MOST_LINES)
MARKUP = Sheet("markup", Table("parts.markup", dict, ("rate",), _BAND), _band_rows, HIGHEST_NUMBER)
FX = Sheet("fx", Table("fx", dict, ("code",), _FX), _fx_rows, MOST_LINES)
TABLE_SHEETS = tuple(Sheet(table.name, table, _table_rows(table), MOST_ROWS - 1) for table in TABLES)
TAX = Sheet("tax", Table(TAX_FILE, dict, ("key",), _LINE), _tax_rows, MOST_LINES)

LAW = Sheet("law", Table(LAW_FILE, dict, ("key",), _LINE), _law_rows, MOST_LINES)

SHEETS = (BOOK, MARKUP, FX, *TABLE_SHEETS, TAX, LAW)
"""In the order of the workbook."""


def sheets_of(raw: RawBook) -> tuple[Sheet, ...]:
    """The sheets of a book's workbook: one for the law profile only where the book has one."""
    return SHEETS if raw.has_law else SHEETS[:-1]


_BY_NAME = {(sheet.table.name, column.name): column for sheet in SHEETS for column in sheet.table.columns}
