"""Reads a rate book's folder into text, naming every file that is missing or not what it should be."""

import csv
import datetime as dt
import io
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from quoter.books.cells import WrongCell
from quoter.books.raw import RawBook, RawRow
from quoter.books.tables import TABLES, Table
from quoter.problems import Flaw

LARGEST_FILE = 32_000_000
"""Bytes. A table of 100,000 parts is about 10 MB."""

_BYTE_ORDER_MARKS = {
    b"\xef\xbb\xbf": "UTF-8 with a byte-order mark",
    b"\xff\xfe": "UTF-16",
    b"\xfe\xff": "UTF-16",
}


def read_folder(folder: Path) -> RawBook:
    """The text of the book in `folder`, with the tax profile from the folder `tax` beside it."""
    flaws: list[Flaw] = []
    settings = _toml(folder / "book.toml", "book.toml", flaws)
    tables = {table.name: _rows(folder, table, flaws) for table in TABLES}
    tax = _tax(folder.parent / "tax", settings, flaws)
    return RawBook(settings, tables, tax, tuple(flaws))


def _tax(folder: Path, settings: dict[str, Any], flaws: list[Flaw]) -> dict[str, Any]:
    name = settings.get("tax_profile")
    if not isinstance(name, str):
        return {}  # the settings' own check says what is wrong with it
    profiles = sorted(path.stem for path in folder.glob("*.toml"))
    if name not in profiles:
        there = "the folder tax/ beside the book's has " + (", ".join(profiles) or "no profile")
        flaws.append(Flaw("book.toml", "tax_profile", "there is no such tax profile", value=name, suggestion=there))
        return {}
    return _toml(folder / f"{name}.toml", f"tax/{name}.toml", flaws)


def _toml(path: Path, name: str, flaws: list[Flaw]) -> dict[str, Any]:
    try:
        return _as_text(tomllib.loads(_text(path), parse_float=str))  # type: ignore[no-any-return]
    except WrongCell as wrong:
        flaws.append(Flaw(name, "", wrong.message, suggestion=wrong.suggestion))
    except tomllib.TOMLDecodeError as error:
        flaws.append(Flaw(name, "", f"not TOML: {error}", suggestion='key = "value", a line each'))
    except RecursionError:
        flaws.append(Flaw(name, "", "nested too deeply"))
    return {}


def _as_text(value: Any) -> Any:
    """All scalars as text, except yes and no, which TOML writes true and false."""
    if isinstance(value, dict):
        return {key: _as_text(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_as_text(inner) for inner in value]
    if isinstance(value, dt.date | dt.datetime | dt.time):
        return value.isoformat()
    return value if isinstance(value, bool) else str(value).strip()


def _text(path: Path) -> str:
    """The file's text. Raises WrongCell with what is the matter with the file."""
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE:
            raise WrongCell(f"{size} bytes are too many", f"at most {LARGEST_FILE}")
        content = path.read_bytes()
    except FileNotFoundError:
        raise WrongCell("the file is missing") from None
    except OSError as error:
        raise WrongCell(f"the file cannot be read: {error.strerror}") from None
    for mark, encoding in _BYTE_ORDER_MARKS.items():
        if content.startswith(mark):
            raise WrongCell(f"the file is {encoding}", "save it as plain UTF-8, without a byte-order mark")
    try:
        text = content.decode()
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise WrongCell(f"not UTF-8: byte {content[error.start]:#04x} in line {line}", "save it as UTF-8") from None
    if "\0" in text:
        raise WrongCell("the file has NUL characters", "save it as CSV or TOML text in UTF-8")
    return text


def _rows(folder: Path, table: Table, flaws: list[Flaw]) -> tuple[RawRow, ...]:
    name = f"{table.name}.csv"
    try:
        text = _text(folder / name)
    except WrongCell as wrong:
        flaws.append(Flaw(name, "", wrong.message, suggestion=wrong.suggestion))
        return ()
    return read_csv(text, table, flaws)


def read_csv(text: str, table: Table, flaws: list[Flaw]) -> tuple[RawRow, ...]:
    """The rows of a table's CSV text. What is wrong with its header or its shape is added to `flaws`."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        header = [name.strip() for name in next(reader, [])]
        wrong = list(_header_flaws(header, table))
        flaws += wrong
        return () if wrong else tuple(_body(reader, header, table, flaws))
    except csv.Error as error:
        flaws.append(Flaw(table.name, "", f"not CSV near line {reader.line_num}: {error}"))
        return ()


def _header_flaws(header: list[str], table: Table) -> Iterator[Flaw]:
    right = ",".join(table.header)
    if len(header) == 1 and re.search(r"[;\t]", header[0]):
        mark = "tabs" if "\t" in header[0] else "';'"
        yield Flaw(
            table.name, "", f"the columns are separated by {mark}, not by ','", 1, value=header[0], suggestion=right
        )
        return
    for name in table.header:
        if name not in header:
            yield Flaw(table.name, name, "the column is missing", 1, suggestion=f"a header row {right}")
    for place, name in enumerate(header):
        if name not in table.header:
            yield Flaw(table.name, name, "there is no such column", 1, value=name, suggestion=f"a header row {right}")
        elif name in header[:place]:
            yield Flaw(table.name, name, "the column is there twice", 1)


def _body(reader: Iterator[list[str]], header: list[str], table: Table, flaws: list[Flaw]) -> Iterator[RawRow]:
    for number, cells in enumerate(reader, start=2):
        cells = [cell.strip() for cell in cells]
        if not any(cells):
            continue
        if len(cells) != len(header):
            message = f"the row has {len(cells)} cells, the header {len(header)}"
            flaws.append(Flaw(table.name, "", message, number, cells[0], suggestion="quote a text that has commas"))
            continue
        yield RawRow(number, dict(zip(header, cells, strict=True)))
