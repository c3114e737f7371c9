"""Books, and files of them that tests take apart and put together again."""

import io
import zipfile
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import openpyxl

from books.conftest import files_with, written
from quoter.books.load import read_folder
from quoter.books.raw import RawBook, RawRow
from quoter.books.sheets.archive import to_zip
from quoter.books.sheets.layout import SHEETS
from quoter.books.sheets.workbook import to_xlsx
from quoter.books.tables import TABLE_BY_NAME

ROOT = Path(__file__).parents[3]
DEMO_BOOKS = ("ballyquarn", "peddrick-mills")
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


@cache
def demo_book(name: str) -> RawBook:
    """One of the demonstration books."""
    return read_folder(ROOT / "rates" / name)


@cache
def small_book() -> RawBook:
    """The small valid book of the neighbouring tests."""
    with TemporaryDirectory() as folder:
        return read_folder(written(files_with(), Path(folder)))


@cache
def small_xlsx() -> bytes:
    """The small book as a workbook."""
    return to_xlsx(small_book())


@cache
def small_zip() -> bytes:
    """The small book as a zip file."""
    return to_zip(small_book())


def with_rows(raw: RawBook, table: str, rows: Iterable[Mapping[str, str]]) -> RawBook:
    """The book with other rows in one of its tables; cells that are not mentioned are blank."""
    blank = dict.fromkeys(TABLE_BY_NAME[table].header, "")
    made = tuple(RawRow(number, {**blank, **cells}) for number, cells in enumerate(rows, start=2))
    return replace(raw, tables={**raw.tables, table: made})


def column_of(raw: RawBook, table: str, column: str) -> list[str | None]:
    """The cells of a column; None where a cell was left out because of its flaw."""
    return [row.cells.get(column) for row in raw.tables[table]]


def zipped(files: Mapping[str, bytes | str], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip file with these files."""
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", method) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return content.getvalue()


def unzipped(content: bytes) -> dict[str, bytes]:
    """The files of a zip file."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def with_parts(content: bytes, parts: Mapping[str, bytes | str | None], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip file with some files replaced or added, or, for None, taken out."""
    files = {**unzipped(content), **parts}
    return zipped({name: data for name, data in files.items() if data is not None}, method)


def part_of(sheet: str) -> str:
    """The part of an exported workbook in which a sheet stands."""
    return f"xl/worksheets/sheet{[each.name for each in SHEETS].index(sheet) + 1}.xml"


def a_sheet(rows: str, after: str = "") -> str:
    """The XML of a worksheet."""
    return f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData>{after}</worksheet>'


def edited(content: bytes, *changes: Callable[[Any], Any]) -> bytes:
    """The workbook as another program saves it after some changes."""
    workbook = openpyxl.load_workbook(io.BytesIO(content))
    for change in changes:
        change(workbook)
    saved = io.BytesIO()
    workbook.save(saved)
    return saved.getvalue()


def typed(sheet: str, cell: str, value: Any, number_format: str = "General") -> Callable[[Any], None]:
    """Somebody types a value into a cell that has this format."""

    def change(workbook: Any) -> None:
        workbook[sheet][cell] = value
        workbook[sheet][cell].number_format = number_format

    return change
