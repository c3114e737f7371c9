"""The cells of a worksheet's XML, row by row, as they are stored.

Not read with openpyxl, which takes several times as long, drops `x005F_` from texts, leaves `_x000D_` in them, and
answers damaged files with whatever exception comes to it. Only the writing is left to it.
"""

import re
from collections.abc import Iterator
from typing import NamedTuple

from quoter.books.cells import WrongCell
from quoter.books.sheets.xml_elements import Attributes, damaged, fed

MOST_ROWS = 200_000
MOST_COLUMNS = 100
MOST_CELLS = 1_000_000
"""Those included that are blank and have a format."""

MOST_TEXT = 64_000_000
"""Characters in all cells of a sheet: many may point to one long text."""

MOST_MERGED = 10_000

_LAST_ROW = 1_048_576
_OTHER_ELEMENTS = 200_000
_ELEMENTS_OF_A_CELL = 4
_DEEPEST = 64
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_TEXT_ELEMENTS = ("v", "t", "f")


class StoredCell(NamedTuple):
    """A cell that is not blank. `kind` is the format's own: n, b, e, d, or one of s, str, inlineStr for text."""

    column: int
    kind: str
    text: str
    style: int
    formula: str | None


StoredRow = tuple[int, list[StoredCell]]


def unescaped(text: str) -> str:
    """A text with its characters that XML has no place for: _x000D_ is a carriage return."""
    return _ESCAPED.sub(lambda code: chr(int(code[1], 16)), text) if "_x" in text else text


class Grid:
    """A worksheet, read as its rows are asked for; after the last, `merged` are the ranges of merged cells."""

    def __init__(self, content: bytes, shared: list[str]) -> None:
        self._content = content
        self._shared = shared
        self._ready: list[StoredRow] = []
        self._row, self._column, self._cells, self._others, self._characters = 0, 0, 0, 0, 0
        self._attributes: Attributes = {}
        self._texts: dict[str, list[str]] = {}
        self._text: list[str] | None = None
        self._is_phonetic = False  # how an East Asian word is read, behind the word, is no part of the text
        self.merged: list[str] = []

    def rows(self) -> Iterator[StoredRow]:
        """The rows that are not blank, with their numbers. Raises WrongCell."""
        for _ in fed(self._content, self._start, self._end, self._data):
            yield from (row for row in self._ready[:-1] if row[1])
            del self._ready[:-1]
        yield from (row for row in self._ready if row[1])

    def _start(self, name: str, attributes: Attributes) -> None:
        if name == "c":
            self._attributes = attributes
            self._column = _column(attributes.get("r", ""), self._column)
            self._texts, self._is_phonetic = {}, False
            self._cells += 1
            if self._cells > MOST_CELLS:
                raise WrongCell("it has too many cells", f"at most {MOST_CELLS}, those with a format included")
        elif name == "row":
            self._row = _row(attributes.get("r", ""), self._row)
            self._column = 0
            self._ready.append((self._row, []))
        else:
            self._other(name, attributes)

    def _other(self, name: str, attributes: Attributes) -> None:
        self._others += 1
        if self._others > _OTHER_ELEMENTS + _ELEMENTS_OF_A_CELL * self._cells:
            raise WrongCell("it has too much beside its cells", "cells without decoration")
        if name in _TEXT_ELEMENTS:
            self._text = None if self._is_phonetic else self._texts.setdefault(name, [])
        elif name == "mergeCell":
            self.merged.append(attributes.get("ref", ""))
            if len(self.merged) > MOST_MERGED:
                raise WrongCell("it has too many merged cells", "none")
        elif name == "rPh":
            self._is_phonetic = True

    def _data(self, text: str) -> None:
        if self._text is not None:
            self._text.append(text)

    def _end(self, name: str) -> None:
        if name == "c":
            self._take_cell()
        else:
            self._text = None

    def _take_cell(self) -> None:
        kind = self._attributes.get("t", "n")
        text = self._cell_text(kind)
        formula = "".join(self._texts["f"]) if "f" in self._texts else None
        if not text and formula is None:
            return
        self._characters += len(text)
        if self._row > MOST_ROWS or self._column > MOST_COLUMNS or self._characters > MOST_TEXT:
            right = f"at most {MOST_ROWS} rows, {MOST_COLUMNS} columns and {MOST_TEXT // 1_000_000} million characters"
            raise WrongCell("it is too large", right)
        if not self._ready:
            raise damaged("a cell outside of rows")
        style = self._attributes.get("s", "0")
        self._ready[-1][1].append(StoredCell(self._column, kind, text, int(style) if _is_small(style) else 0, formula))

    def _cell_text(self, kind: str) -> str:
        value = "".join(self._texts.get("v", ()))
        if kind == "s" and value:
            if _is_small(value) and int(value) < len(self._shared):
                return self._shared[int(value)]
            raise damaged("a cell points to a text that is not there")
        if kind == "inlineStr":
            value = "".join(self._texts.get("t", ()))
        return unescaped(value).strip()


def shared_texts(content: bytes) -> list[str]:
    """The texts that cells point to. Raises WrongCell."""
    texts: list[str] = []
    parts: list[str] = []
    depth = 0
    is_text = is_phonetic = False

    def start(name: str, attributes: Attributes) -> None:
        nonlocal depth, is_text, is_phonetic
        depth += 1
        if depth > _DEEPEST or len(texts) > MOST_CELLS:
            raise damaged("too many texts or levels")
        if name == "t":
            is_text = not is_phonetic
        elif name == "rPh":
            is_phonetic = True

    def data(text: str) -> None:
        if is_text:
            parts.append(text)

    def end(name: str) -> None:
        nonlocal depth, is_text, is_phonetic
        depth -= 1
        is_text = False
        if name == "si":
            texts.append(unescaped("".join(parts)).strip())
            parts.clear()
            is_phonetic = False

    for _ in fed(content, start, end, data):
        pass
    return texts


def _row(reference: str, last: int) -> int:
    row = int(reference) if _is_small(reference) else 0 if reference else last + 1
    if not last < row <= _LAST_ROW:
        raise damaged("rows out of order")
    return row


def _column(reference: str, last: int) -> int:
    """The number of a cell's column, A being 1; without a reference, the next one."""
    letters = reference.rstrip("0123456789")
    if not reference:
        return last + 1
    if not (letters.isascii() and letters.isalpha() and letters.isupper() and len(letters) <= 3):
        raise damaged("a cell without a place")
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - 64
    if column <= last:
        raise damaged("cells out of order")
    return column


def _is_small(digits: str) -> bool:
    return digits.isascii() and digits.isdecimal() and len(digits) <= 7
