"""A stored cell as the text that a table would hold, or why it cannot be one. No formula is ever computed."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache

from openpyxl.styles.numbers import is_date_format

from quoter.books import cells
from quoter.books.cells import Reader, WrongCell
from quoter.books.sheets.decimals import decimal_text
from quoter.books.sheets.grid import StoredCell
from quoter.books.tables import Column

AS_TEXT = "format the cell as text and type it again"
AS_NUMBER = "format the cell as a number and type it again"

_SHOWN_AS_STORED = ("General", "@", "0")
_EXACT_BELOW = 10**15
_PROBES = ("0", "1", "0.5")
_TRUTHS: Mapping[str | None, bool] = {"TRUE()": True, "FALSE()": False}
"""How LibreOffice saves a truth value that was typed, or came from another program."""
_TEXT_KINDS = ("s", "str", "inlineStr")


@lru_cache(maxsize=256)
def takes_numbers(reads: Reader) -> bool:
    """Whether a column or setting is one of numbers: its reader makes a number of a usual one."""
    return any(_reads_number(reads, probe) for probe in _PROBES)


def _reads_number(reads: Reader, probe: str) -> bool:
    try:
        value = reads(probe)
    except WrongCell:
        return False
    return isinstance(value, int | Decimal)


def rule(reads: Reader) -> str:
    """What cells read like this may hold, as the documentation says it."""
    return (reads.__doc__ or "").partition("\n")[0]


class CellTexts:
    """What the cells of one workbook say: `formats` are its number formats, by the style of a cell."""

    def __init__(self, formats: list[str], counts_from_1904: bool) -> None:
        self._formats = formats
        self._first_day = dt.date(1904, 1, 1) if counts_from_1904 else dt.date(1899, 12, 30)

    def of(self, cell: StoredCell, column: Column) -> str:
        """The text of a cell in a column. Raises WrongCell."""
        if cell.formula in _TRUTHS:
            return _truth(_TRUTHS[cell.formula], column)
        if cell.formula is not None:
            raise WrongCell("holds a formula", "its value alone: copy the cell, then paste it as a value")
        if cell.kind in _TEXT_KINDS:
            return cell.text.lower() if column.reads is cells.flag else cell.text
        if cell.kind == "b":
            return _truth(cell.text == "1", column)
        if cell.kind == "d":
            return _date(cell.text[:10], column)
        if cell.kind == "n":
            return self._number(cell, column)
        raise WrongCell(f"holds the error {cell.text[:20]}", _right(column))

    def _number(self, cell: StoredCell, column: Column) -> str:
        number_format = self._formats[cell.style] if cell.style < len(self._formats) else "General"
        text = decimal_text(cell.text, number_format)
        if text is None:
            raise WrongCell("holds a number that makes no sense", _right(column))
        if is_date(number_format):
            return _date(self._day(text), column)
        if not takes_numbers(column.reads):
            _check_shown(text, number_format, column)
        return text

    def _day(self, serial: str) -> str:
        try:
            return (self._first_day + dt.timedelta(days=int(float(serial)))).isoformat()
        except OverflowError:
            return serial


@lru_cache(maxsize=1024)
def is_date(number_format: str) -> bool:
    """Whether numbers in this format are shown as a day or an hour."""
    return bool(is_date_format(number_format))


def _truth(is_true: bool, column: Column) -> str:
    if column.reads is cells.flag:
        return "true" if is_true else "false"
    if column.reads is cells.yes:
        return "yes" if is_true else ""
    raise WrongCell(f"holds the truth value {'TRUE' if is_true else 'FALSE'}", _right(column))


def _date(day: str, column: Column) -> str:
    if column.reads is not cells.date:
        raise WrongCell(f"holds a date, {day}", _right(column))
    return day


def _check_shown(text: str, number_format: str, column: Column) -> None:
    """A number where words belong is what the owner sees, or it is not what the owner meant: 50 % is stored as 0.5."""
    if number_format not in _SHOWN_AS_STORED:
        raise WrongCell(f"holds the number {text}, which its format {number_format} shows as something else", AS_TEXT)
    if abs(float(text)) >= _EXACT_BELOW:
        raise WrongCell(f"holds the number {text}, whose last digits a spreadsheet does not keep", _right(column))


def _right(column: Column) -> str:
    """What would be right in a column, and how to get it there."""
    return f"{rule(column.reads).rstrip('.') or column.help}: {AS_NUMBER if takes_numbers(column.reads) else AS_TEXT}"
