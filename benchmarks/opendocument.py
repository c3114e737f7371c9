"""Writes a table of numbers and formulas as a flat OpenDocument spreadsheet."""

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from pathlib import Path
from string import ascii_uppercase
from xml.sax.saxutils import quoteattr

Cell = str | Decimal

_NAMESPACE = "urn:oasis:names:tc:opendocument:xmlns"
_HEAD = f"""<?xml version="1.0" encoding="UTF-8"?>
<office:document xmlns:office="{_NAMESPACE}:office:1.0" xmlns:table="{_NAMESPACE}:table:1.0"
 xmlns:text="{_NAMESPACE}:text:1.0" xmlns:of="{_NAMESPACE}:of:1.2"
 office:version="1.2" office:mimetype="application/vnd.oasis.opendocument.spreadsheet">
<office:body><office:spreadsheet><table:table table:name="list">
"""
_TAIL = "</table:table></office:spreadsheet></office:body></office:document>\n"


def write_sheet(file: Path, rows: Iterable[Mapping[str, Cell]], formulas: Mapping[str, str]) -> None:
    """A row of names, then one for each of `rows`, its own cells first and the formulas after them.

    A formula names cells of its own row by their columns, in braces.
    """
    with file.open("w", encoding="utf-8") as out:
        out.write(_HEAD)
        for number, row in enumerate(rows, start=2):
            names = (*row, *formulas)
            if number == 2:
                out.write(_row(map(_text, names)))
                templates = [_template(formula, names) for formula in formulas.values()]
            cells = (_text(cell) if isinstance(cell, str) else _number(cell) for cell in row.values())
            out.write(_row((*cells, *(template.replace("#", str(number)) for template in templates))))
        out.write(_TAIL)


def _row(cells: Iterable[str]) -> str:
    return f"<table:table-row>{''.join(cells)}</table:table-row>\n"


def _text(words: str) -> str:
    return f'<table:table-cell office:value-type="string" office:string-value={quoteattr(words)}/>'


def _number(value: Decimal) -> str:
    return f'<table:table-cell office:value-type="float" office:value="{value:f}"/>'


def _template(formula: str, names: tuple[str, ...]) -> str:
    """The cell of a formula with # for the number of its row."""
    places = {name: f"[.{_letters(place)}#]" for place, name in enumerate(names)}
    written = re.sub(r"\{([^}]+)\}", lambda match: places[match[1]], formula)
    return f"<table:table-cell table:formula={quoteattr('of:=' + written)}/>"


def _letters(place: int) -> str:
    """0 is A, 26 is AA."""
    first, last = divmod(place, len(ascii_uppercase))
    return (ascii_uppercase[first - 1] if first else "") + ascii_uppercase[last]
