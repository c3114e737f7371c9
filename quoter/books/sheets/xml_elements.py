"""The elements of a workbook's XML, told one by one, without a tree and without anything that XML can be abused for."""

import re
from collections.abc import Callable, Iterator
from typing import Any
from xml.parsers import expat

from quoter.books.cells import WrongCell

Attributes = dict[str, str]

_CHUNK = 1_000_000
_ROOT = re.compile(rb"<([A-Za-z_][A-Za-z0-9_.-]*):(worksheet|sst|workbook|styleSheet|Relationships)\b")
_ROOT_WITHIN = 4096
_LONG_ELEMENT = re.compile(rb"<[^<]{1000000}")
"""Longer than any cell's text. A parser needs minutes for an element of a million attributes."""

_REPAIR = "open it in a spreadsheet program and save it again"


def damaged(what: str) -> WrongCell:
    """The reason to refuse a file that no spreadsheet program has written."""
    return WrongCell(f"the workbook is damaged: {what}", _REPAIR)


def fed(
    content: bytes,
    start: Callable[[str, Attributes], None],
    end: Callable[[str], None],
    data: Callable[[str], None] | None = None,
) -> Iterator[None]:
    """Tells of all elements by their names without the document's prefix, and pauses now and then. Raises WrongCell."""
    if _LONG_ELEMENT.search(content):
        raise damaged("an element that is too long")
    parser = expat.ParserCreate()
    parser.buffer_text = True
    root = _ROOT.search(content[:_ROOT_WITHIN])
    cut = len(root[1]) + 1 if root else 0
    parser.StartElementHandler = (lambda name, attributes: start(name[cut:], attributes)) if cut else start
    parser.EndElementHandler = (lambda name: end(name[cut:])) if cut else end
    parser.CharacterDataHandler = data
    parser.StartDoctypeDeclHandler = parser.EntityDeclHandler = _refused
    try:
        for position in range(0, len(content), _CHUNK):
            parser.Parse(content[position : position + _CHUNK], False)
            yield
        parser.Parse(b"", True)
    except (expat.ExpatError, ValueError, LookupError):  # the latter two: encodings that Python does not know
        raise damaged("not well-formed XML") from None


def _refused(*declaration: Any) -> None:
    raise WrongCell("the workbook declares a document type (DTD), as no spreadsheet program does", _REPAIR)
