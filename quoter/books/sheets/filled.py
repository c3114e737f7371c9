"""A workbook filled with a book, as openpyxl writes it."""

import io
import re
import zipfile
from collections.abc import Iterable, Iterator
from datetime import datetime
from itertools import chain, islice

from openpyxl import Workbook
from openpyxl.cell import Cell, WriteOnlyCell
from openpyxl.comments import Comment
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from quoter.books import cells
from quoter.books.raw import RawBook
from quoter.books.sheets.cell_text import takes_numbers
from quoter.books.sheets.decimals import format_of, number_of
from quoter.books.sheets.layout import PURPOSE, Entry, Sheet, sheets_of
from quoter.books.sheets.neutral import is_formula_like
from quoter.books.sheets.notes import note
from quoter.books.sheets.package import MOST_TAGS
from quoter.books.sheets.packed import packed
from quoter.problems import TooLarge

LONGEST_CELL = 32_767
"""Characters. No spreadsheet program keeps more in a cell."""

_SURELY_FITS = LONGEST_CELL // len("_x0000_")
_INSTEAD = "export the book as a zip file"
_NARROWEST, _WIDEST = 8, 60
_MEASURED_ROWS = 500
_NOTE_WIDTH, _NOTE_LINE_HEIGHT, _NOTE_LINE_LENGTH = 320, 18, 44
_MADE = datetime(1980, 1, 1)
"""Whenever it was made: that is no part of a book."""

_MODIFIED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*")
_UNWRITABLE = r"\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff"
_ESCAPED = re.compile(rf"[{_UNWRITABLE}]|_(?=x[0-9A-Fa-f]{{4}}[_{_UNWRITABLE}])")
"""What XML has no place for, and what would be taken for its escape."""


def filled(raw: RawBook) -> bytes:
    """The workbook's file, the same bytes for the same book. Raises TooLarge."""
    sheets = sheets_of(raw)
    for sheet in sheets:
        _check_fits(sheet, raw)
    workbook = Workbook(write_only=True)
    workbook.properties.creator, workbook.properties.created = "quoter", _MADE
    for sheet in sheets:
        _fill(workbook.create_sheet(sheet.name), sheet, raw)
    written = io.BytesIO()
    workbook.save(written)
    parts = dict(_timeless(written))
    if sum(content.count(b"<") for content in parts.values()) > MOST_TAGS:
        raise TooLarge(f"the workbook would have too many cells; {_INSTEAD}")
    return packed(parts)


def _check_fits(sheet: Sheet, raw: RawBook) -> None:
    """Before anything is written: openpyxl does not like to be left halfway."""
    for number, row in enumerate(sheet.rows(raw), start=2):
        if number > sheet.most + 1:
            raise TooLarge(f"{sheet.name} has too many rows; {_INSTEAD}")
        for entry in row:
            if len(entry.text) > _SURELY_FITS and len(_escaped(entry.text).encode("utf-16-le")) // 2 > LONGEST_CELL:
                at = f"{sheet.name}, row {number}, {entry.column.name or 'value'}"
                raise TooLarge(f"{at}: a spreadsheet keeps at most {LONGEST_CELL} characters in a cell; {_INSTEAD}")


def _escaped(text: str) -> str:
    return _ESCAPED.sub(lambda found: f"_x{ord(found[0]):04X}_", text)


def _timeless(written: io.BytesIO) -> Iterator[tuple[str, bytes]]:
    with zipfile.ZipFile(written) as archive:
        for name in archive.namelist():
            content = archive.read(name)
            if name == "docProps/core.xml":
                content = _MODIFIED.sub(rb"\g<1>" + _MADE.isoformat().encode() + b"Z", content)
            yield name, content


def _fill(worksheet: Worksheet, sheet: Sheet, raw: RawBook) -> None:
    rows = iter(sheet.rows(raw))
    first = list(islice(rows, _MEASURED_ROWS))
    names = [*sheet.table.header, *([PURPOSE] if sheet.has_purposes else [])]
    worksheet.freeze_panes = "A2"
    for number, name in enumerate(names, start=1):
        dimension = worksheet.column_dimensions[get_column_letter(number)]
        dimension.width = _width(name, (row[number - 1].text for row in first))
        if number <= len(sheet.table.columns) and not takes_numbers(sheet.table.columns[number - 1].reads):
            dimension.number_format = "@"
    worksheet.append(list(_header(worksheet, sheet, names)))
    count = 1
    for count, row in enumerate(chain(first, rows), start=2):  # noqa: B007 - the last row is asked for below
        worksheet.append([_cell(worksheet, entry) for entry in row])
    if not sheet.has_purposes:
        worksheet.auto_filter.ref = f"A1:{get_column_letter(len(names))}{count}"


def _width(name: str, texts: Iterable[str]) -> int:
    longest = max((len(name) + 4, *map(len, texts)))
    return min(max(longest + 2, _NARROWEST), _WIDEST)


def _header(worksheet: Worksheet, sheet: Sheet, names: list[str]) -> Iterator[Cell]:
    notes = dict(zip(names, map(note, sheet.table.columns), strict=False))
    for name in names:
        cell = WriteOnlyCell(worksheet, name)
        cell.font = Font(bold=True)
        if name in notes:
            lines = sum(1 + len(line) // _NOTE_LINE_LENGTH for line in notes[name].split("\n"))
            cell.comment = Comment(notes[name], "quoter", height=(lines + 1) * _NOTE_LINE_HEIGHT, width=_NOTE_WIDTH)
        yield cell


def _cell(worksheet: Worksheet, entry: Entry) -> Cell | None:
    """A number as a number where it comes back as it was; everything else as text that no spreadsheet interprets."""
    text, column = entry.text.strip(), entry.column
    if not text:
        return None
    if column.reads is cells.flag and text in ("true", "false"):
        return WriteOnlyCell(worksheet, text == "true")
    number = number_of(text) if takes_numbers(column.reads) else None
    if number is not None:
        cell = WriteOnlyCell(worksheet, number)
        cell.number_format = format_of(text)
        return cell
    cell = WriteOnlyCell(worksheet, _escaped(text))
    cell.data_type, cell.number_format = "s", "@"
    cell.quotePrefix = is_formula_like(text) or text.startswith("'")
    return cell
