"""Where in a workbook the cell is that a flaw is about: parts!F17, as spreadsheets write it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from openpyxl.utils import get_column_letter

from quoter.books.reading import BOOK_FILE
from quoter.books.sheets.layout import BOOK, FX, LAW, MARKUP, TAX
from quoter.books.tables import TABLE_BY_NAME
from quoter.problems import Flaw

_SECTIONS = {MARKUP.table.name: MARKUP.name, FX.table.name: FX.name}


def address(column: int, row: int) -> str:
    """A cell of a sheet: F17."""
    return f"{get_column_letter(column)}{row}"


def place(table: str, column: str = "", row: int | None = None) -> str:
    """The place of a cell in a workbook whose columns stand in their usual order; of a column or a row without one.

    >>> place("parts", "cost", 17), place("parts", "cost"), place("parts", "", 17), place("parts")
    ('parts!F17', 'parts!F:F', 'parts!17:17', 'parts')
    """
    header = TABLE_BY_NAME[table].header
    return _written(table, header.index(column) + 1 if column in header else None, row)


def _written(sheet: str, column: int | None, row: int | None) -> str:
    letter = get_column_letter(column) if column else ""
    if row:
        return f"{sheet}!{letter}{row}" if letter else f"{sheet}!{row}:{row}"
    return f"{sheet}!{letter}:{letter}" if letter else sheet


@dataclass(slots=True)
class Places:
    """The places of one workbook: the number of each column of each table, the cell of each setting of each file."""

    columns: dict[str, Mapping[str, int]] = field(default_factory=dict)
    settings: dict[tuple[str, str], str] = field(default_factory=dict)

    def of(self, flaw: Flaw) -> str:
        """The cell, column, row or sheet that a flaw is about; the file where it is about none."""
        if flaw.table in TABLE_BY_NAME:
            return _written(flaw.table, self.columns.get(flaw.table, {}).get(flaw.column), flaw.row)
        if flaw.table == BOOK_FILE:
            sheet = next((sheet for key, sheet in _SECTIONS.items() if flaw.column.startswith(key)), BOOK.name)
        else:
            kind = flaw.table.partition("/")[0]
            sheet = kind if kind in (TAX.name, LAW.name) else flaw.table.removeprefix("sheet ")
        return self.settings.get((flaw.table, flaw.column), sheet)
