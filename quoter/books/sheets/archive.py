"""A book as a zip file in the layout of its folder: CODE/book.toml, CODE/TABLE.csv …, tax/NAME.toml, law/NAME.toml."""

import csv
import io
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any

from quoter.books.cells import WrongCell, code
from quoter.books.csv_rows import BYTE_ORDER_MARK
from quoter.books.load import LARGEST_SETTINGS, read_folder
from quoter.books.raw import WHOLE_BOOK, RawBook, RawRow
from quoter.books.sheets.neutral import neutral, plain
from quoter.books.sheets.packed import Entries, entries, packed
from quoter.books.sheets.toml_text import toml
from quoter.books.suggest import Suggestions
from quoter.books.tables import TABLES, Table
from quoter.problems import Flaw, TooLarge

RIGHT = "a zip file with book.toml and a CSV file a table, as it is exported"

_PROFILES = ("tax", "law")
"""The folders beside a book's folder."""

_FILES = {"book.toml": "book.toml", **{f"{table.name}.csv": table.name for table in TABLES}}
"""The files of a book, and what flaws call them."""

_LONGEST_NAME = 200
_UNENCODABLE = {0: "\N{REPLACEMENT CHARACTER}", **dict.fromkeys(range(0xD800, 0xE000), "\N{REPLACEMENT CHARACTER}")}
"""Characters that no text file holds. No book that can be priced with has them."""


def to_zip(raw: RawBook) -> bytes:
    """The book as a zip file, the same bytes for the same book. Raises TooLarge where it could not be read again.

    CSV files begin with a byte order mark: without it, spreadsheets take UTF-8 for something else.
    """
    folder = _file_name(raw.settings.get("code"), "book")
    folder = "book" if folder.casefold() in _PROFILES else folder  # those are beside it
    files = {f"{folder}/book.toml": _toml(raw.settings)}
    for table in TABLES:
        files[f"{folder}/{table.name}.csv"] = BYTE_ORDER_MARK + _csv(table, raw.tables.get(table.name, ()))
    for kind, profile in (("tax", raw.tax), ("law", raw.law if raw.has_law else {})):
        if profile:
            files[f"{kind}/{_file_name(raw.settings.get(f'{kind}_profile'), 'profile')}.toml"] = _toml(profile)
    return packed({name: text.translate(_UNENCODABLE).encode() for name, text in files.items()})


def _toml(document: Mapping[str, Any]) -> str:
    text = toml(document)
    if len(text.encode(errors="replace")) > LARGEST_SETTINGS:
        raise TooLarge(f"the settings are longer than {LARGEST_SETTINGS} bytes")
    return text


def _file_name(name: object, otherwise: str) -> str:
    return name if isinstance(name, str) and _is_file_name(name) else otherwise


def _is_file_name(name: str) -> bool:
    """Whether every system takes the name, and it leads nowhere else."""
    try:
        code(name)
    except WrongCell:
        return False
    is_long = len(name.encode()) > _LONGEST_NAME
    return not (is_long or name.startswith(".") or name.endswith(".") or set(name) & set('/\\<>"|?*'))


def _csv(table: Table, rows: tuple[RawRow, ...]) -> str:
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(table.header)
    writer.writerows([_cell(row.cells.get(column)) for column in table.header] for row in rows)
    return text.getvalue()


def _cell(cell: object) -> str:
    """A cell as it may stand in a CSV file, without the white space around it, which is no part of it."""
    text = "" if cell is None else str(cell).strip()
    if len(text) >= csv.field_size_limit():
        raise TooLarge(f"a cell has more than {csv.field_size_limit()} characters")
    return neutral(text)


def from_zip(content: bytes) -> RawBook:
    """The book in a zip file: its files at the top or in a folder, profiles in tax/ and law/ beside or among them.

    Whatever is wrong with the file is a flaw.
    """
    try:
        found = entries(content, RIGHT)
        if any(name.casefold() == "[content_types].xml" for name in found.names):
            raise WrongCell("this is a workbook, not a zip file with tables", "import it as a workbook, or " + RIGHT)
        flaws: list[Flaw] = []
        raw = _unpacked(found, _book_folder(found), flaws)
    except WrongCell as wrong:
        return RawBook({}, {}, {}, (Flaw(WHOLE_BOOK, "", wrong.message, suggestion=wrong.suggestion),))
    tables = {name: tuple(map(_plain_row, rows)) for name, rows in raw.tables.items()}
    return replace(raw, tables=tables, flaws=(*flaws, *raw.flaws))


def _plain_row(row: RawRow) -> RawRow:
    return RawRow(row.number, {column: plain(cell).strip() for column, cell in row.cells.items()})


def _book_folder(found: Entries) -> PurePosixPath:
    folders = [path.parent for path in map(PurePosixPath, found.names) if path.name.casefold() == "book.toml"]
    if len(folders) == 1:
        return folders[0]
    if folders:
        several = ", ".join(sorted(str(folder)[:80] for folder in folders)[:10])
        raise WrongCell(f"there are several books in the zip file: {several}", "one book")
    raise WrongCell("there is no book.toml in the zip file", RIGHT)


def _unpacked(found: Entries, folder: PurePosixPath, flaws: list[Flaw]) -> RawBook:
    """Unpacks what belongs to the book, under names that are chosen here, and reads it like any folder."""
    with TemporaryDirectory() as temporary:
        book, *profiles = (Path(temporary, name) for name in ("book", *_PROFILES))
        for each in (book, *profiles):
            each.mkdir()
        for name, entry in _book_files(found, folder, flaws).items():
            (book / name).write_bytes(_without_mark(found.read(entry)))
        for beside in profiles:
            for name, entry in _profiles(found, folder, beside.name).items():
                (beside / name).write_bytes(_without_mark(found.read(entry)))
        return read_folder(book)


def _without_mark(content: bytes) -> bytes:
    """A spreadsheet needs the byte-order mark to take a CSV file for UTF-8, and writes one back; a folder has none."""
    return content.removeprefix(BYTE_ORDER_MARK.encode())


def _book_files(found: Entries, folder: PurePosixPath, flaws: list[Flaw]) -> Mapping[str, str]:
    """The entry of each file of the book, in whatever case; a misspelt one under its right name, with a flaw."""
    inside = {path.name: str(path) for path in map(PurePosixPath, found.names) if path.parent == folder}
    files = {name.casefold(): entry for name, entry in inside.items() if name.casefold() in _FILES}
    missing = Suggestions(name for name in _FILES if name not in files)
    for name, entry in inside.items():
        if name.casefold().endswith(".csv") and name.casefold() not in _FILES:
            meant = missing.nearest(name)
            right = f"perhaps {meant}" if meant else f"one of {', '.join(_FILES)}"
            flaws.append(Flaw(_FILES.get(meant, name[:80]), "", "there is no such table", value=name, suggestion=right))
            if meant:
                files.setdefault(meant, entry)
    return files


def _profiles(found: Entries, folder: PurePosixPath, kind: str) -> Mapping[str, str]:
    """The entry of each profile of a kind, those beside the book's folder before those in it."""
    profiles: dict[str, str] = {}
    for path in map(PurePosixPath, found.names):
        if path.suffix == ".toml" and _is_file_name(path.stem) and path.parent in (folder.parent / kind, folder / kind):
            if path.parent == folder.parent / kind:
                profiles[path.name] = str(path)
            else:
                profiles.setdefault(path.name, str(path))
    return profiles
