"""Reads a rate book's folder into text, naming every file that is missing or not what it should be."""

import datetime as dt
import os
import re
import stat
import tomllib
from pathlib import Path
from typing import Any

from quoter.books.cells import WrongCell, code
from quoter.books.csv_rows import BYTE_ORDER_MARK, read_csv
from quoter.books.raw import WHOLE_BOOK, RawBook, RawRow
from quoter.books.suggest import Suggestions
from quoter.books.tables import TABLES, Table
from quoter.problems import Flaw

__all__ = ["LARGEST_FILE", "LARGEST_SETTINGS", "is_folder", "read_csv", "read_folder"]

LARGEST_FILE = 32_000_000
"""Bytes. A table of 100,000 parts is about 10 MB."""

LARGEST_SETTINGS = 200_000
"""Bytes of a TOML file. A book's has 2,000; the parser takes longer than in proportion."""

DEEPEST = 16
"""Levels of nesting in a TOML file. The format has four."""

_DEEP_KEY = re.compile(rf"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){{{DEEPEST}}}""")
"""A dotted key of so many words that the parser would take gigabytes for it."""

_UTF_16 = (b"\xff\xfe", b"\xfe\xff")


def read_folder(folder: Path) -> RawBook:
    """The text of the book in `folder`, with the profiles that it names from `tax` and `law` beside it."""
    flaws: list[Flaw] = []
    if not is_folder(folder):
        right = "a folder with book.toml and a CSV file a table"
        flaws.append(Flaw(WHOLE_BOOK, "", "there is no such folder", value=str(folder), suggestion=right))
        return RawBook({}, {}, {}, tuple(flaws))
    settings = _toml(folder / "book.toml", "book.toml", flaws)
    tables = {table.name: _rows(folder, table, flaws) for table in TABLES}
    tax, law = (_profile(kind, folder, settings, flaws) for kind in ("tax", "law"))
    return RawBook(settings, tables, tax, tuple(flaws), law)


def is_folder(folder: Path) -> bool:
    """Whether there is a folder; a name that no folder can have is none."""
    try:
        return folder.is_dir()
    except OSError:
        return False


def _beside(folder: Path) -> Path:
    """Where a book's folder is, which may be called `.` or `..`."""
    return folder.parent if folder.name not in ("", "..") else folder / ".."


def _profile(kind: str, book: Path, settings: dict[str, Any], flaws: list[Flaw]) -> dict[str, Any]:
    """The profile of a kind that the settings name. Only a file that is in the folder is opened, whatever they say."""
    folder, setting = _beside(book) / kind, f"{kind}_profile"
    name = settings.get(setting)
    try:
        code(name if isinstance(name, str) else "")
    except WrongCell:
        return {}  # the settings' own check says what is wrong with it
    profiles = _profiles(folder)
    if name not in profiles:
        there = f"the folder {kind}/ beside the book's has " + (", ".join(profiles) or "no profile")
        right = Suggestions(profiles).perhaps(str(name), there)
        message = f"there is no such {kind} profile"
        flaws.append(Flaw("book.toml", setting, message, value=str(name), suggestion=right))
        return {}
    return _toml(folder / f"{name}.toml", f"{kind}/{name}.toml", flaws)


def _profiles(folder: Path) -> list[str]:
    try:
        return sorted(path.stem for path in folder.iterdir() if path.suffix == ".toml")
    except OSError:
        return []


def _toml(path: Path, name: str, flaws: list[Flaw]) -> dict[str, Any]:
    right = 'key = "value", a line each'
    try:
        document = _document(_text(path, LARGEST_SETTINGS))
        if document:
            return document
        flaws.append(Flaw(name, "", "the file is empty", suggestion=right))
    except WrongCell as wrong:
        flaws.append(Flaw(name, "", wrong.message, suggestion=wrong.suggestion))
    except tomllib.TOMLDecodeError as error:
        flaws.append(Flaw(name, "", f"not TOML: {error}", suggestion=right))
    return {}


def _document(text: str) -> dict[str, Any]:
    if _DEEP_KEY.search(text):
        raise _too_deep()
    try:
        return _as_text(tomllib.loads(text, parse_float=str))  # type: ignore[no-any-return]
    except RecursionError:
        raise _too_deep() from None
    except tomllib.TOMLDecodeError:
        raise
    except ValueError:  # Python converts only so many digits
        raise WrongCell("a number has too many digits", "numbers in quotes, of at most 28 digits") from None


def _too_deep() -> WrongCell:
    return WrongCell("nested too deeply", f"at most {DEEPEST} levels")


def _as_text(value: Any, depth: int = 0) -> Any:
    """All scalars as text, except yes and no, which TOML writes true and false."""
    if depth > DEEPEST:
        raise _too_deep()
    if isinstance(value, dict):
        return {key: _as_text(inner, depth + 1) for key, inner in value.items()}
    if isinstance(value, list):
        return [_as_text(inner, depth + 1) for inner in value]
    if isinstance(value, dt.date | dt.datetime | dt.time):
        return value.isoformat()
    return value if isinstance(value, bool) else str(value).strip()


def _text(path: Path, largest: int) -> str:
    """The file's text. Raises WrongCell with what is the matter with the file."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise WrongCell("not a file", f"a file {path.name}")
        with path.open("rb") as file:
            content = file.read(largest + 1)
    except FileNotFoundError:
        raise WrongCell("the file is missing", f"a file {path.name}") from None
    except OSError as error:
        raise WrongCell(f"the file cannot be read: {error.strerror}", "a file that may be read") from None
    if len(content) > largest:
        raise WrongCell("the file is too large", f"at most {largest} bytes")
    return _decoded(content)


def _decoded(content: bytes) -> str:
    if content.startswith(_UTF_16):
        raise WrongCell("the file is UTF-16", "save it as UTF-8")
    if content.startswith(BYTE_ORDER_MARK.encode()):
        raise WrongCell("the file begins with a byte-order mark", "save it as UTF-8 without one, or send a workbook")
    try:
        text = content.decode()
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise WrongCell(f"not UTF-8: byte {content[error.start]:#04x} in line {line}", "save it as UTF-8") from None
    if "\0" in text:
        raise WrongCell("the file has NUL characters", "save it as text in UTF-8")
    return text


def _rows(folder: Path, table: Table, flaws: list[Flaw]) -> tuple[RawRow, ...]:
    if table.is_optional and not os.path.lexists(folder / f"{table.name}.csv"):
        return ()
    try:
        text = _text(folder / f"{table.name}.csv", LARGEST_FILE)
    except WrongCell as wrong:
        flaws.append(Flaw(table.name, "", wrong.message, suggestion=wrong.suggestion))
        return ()
    return read_csv(text, table, flaws)
