"""The rows of a table's CSV text, with the flaws of its shape."""

import csv
import io
from collections.abc import Iterator

from quoter.books.raw import RawRow
from quoter.books.setting_values import shown
from quoter.books.suggest import Suggestions
from quoter.books.tables import Table
from quoter.problems import Flaw

BYTE_ORDER_MARK = "\N{ZERO WIDTH NO-BREAK SPACE}"
"""Some spreadsheets begin UTF-8 with one."""

MOST_ROWS = 250_000

_SEPARATORS = {";": "';'", "\t": "tabs", "|": "'|'"}

_Records = Iterator[tuple[int, list[str]]]


def read_csv(text: str, table: Table, flaws: list[Flaw]) -> tuple[RawRow, ...]:
    """The rows of a table's CSV text. What is wrong with its header or its shape is added to `flaws`."""
    records = _records(text.removeprefix(BYTE_ORDER_MARK), table, flaws)
    number, header = next(records, (0, []))
    if not number:
        return ()
    columns = _columns(header, table, flaws)
    return tuple(_body(records, columns, table, flaws)) if columns else ()


def _records(text: str, table: Table, flaws: list[Flaw]) -> _Records:
    """The records, numbered as a spreadsheet does, as far as they can be told apart."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    known: dict[str, str] = {}  # a text that stands in many cells is kept once
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            if number > MOST_ROWS:
                flaws.append(
                    Flaw(table.name, "", "the table is too long", number, suggestion=f"at most {MOST_ROWS} rows")
                )
                return
            yield number, [known.setdefault(cell, cell) for cell in map(str.strip, cells)]
    except csv.Error as error:
        right = "text with commas, quotes or line breaks in quotes, each quote in it doubled"
        flaws.append(Flaw(table.name, "", f"not CSV from here on: {error}", number + 1, suggestion=right))
        return
    if not number:
        flaws.append(Flaw(table.name, "", "the file is empty", suggestion=_right(table)))


def _columns(header: list[str], table: Table, flaws: list[Flaw]) -> list[str]:
    """The column of each cell of a row, a misspelt one under its right name; empty where there is no header."""
    separators = [words for sign, words in _SEPARATORS.items() if len(header) == 1 and sign in header[0]]
    if separators:
        message = f"the columns are separated by {separators[0]}, not by ','"
    elif table.header and set(table.header).isdisjoint(header):
        message = "the first row does not name the columns"
    else:
        columns = list(_named(header, table, flaws))
        flaws += (
            Flaw(table.name, name, "the column is missing", 1, suggestion=_right(table))
            for name in table.header
            if name not in columns and name not in table.optional
        )
        return columns
    flaws.append(Flaw(table.name, "", message, 1, value=shown(",".join(header)), suggestion=_right(table)))
    return []


def _named(header: list[str], table: Table, flaws: list[Flaw]) -> Iterator[str]:
    missing = Suggestions(name for name in table.header if name not in header)
    seen: set[str] = set()
    for place, name in enumerate(header, start=1):
        meant = name
        if name not in table.header:
            meant = missing.nearest(name)
            at, right = shown(name) or f"column {place}", f"perhaps {meant}" if meant else _right(table)
            message = "there is no such column" if name else "the column has no name"
            flaws.append(Flaw(table.name, at, message, 1, value=shown(name), suggestion=right))
        elif name in seen:
            right = "each column once"
            flaws.append(Flaw(table.name, name, "the column is there twice", 1, value=name, suggestion=right))
        yield "" if meant in seen else meant
        seen.add(meant)


def _right(table: Table) -> str:
    return f"a header row {','.join(table.header)}"


def _body(records: _Records, columns: list[str], table: Table, flaws: list[Flaw]) -> Iterator[RawRow]:
    key = columns.index(table.key[0]) if table.key[0] in columns else len(columns)
    blank = dict.fromkeys((name for name in table.optional if name not in columns), "")
    for number, cells in records:
        if not any(cells):
            continue
        if len(cells) == len(columns):
            yield RawRow(number, {name: cell for name, cell in zip(columns, cells, strict=True) if name} | blank)
            continue
        message = f"the row has {len(cells)} cells, the header {len(columns)}"
        value, right = shown(",".join(cells)), "a comma between cells; quotes around a text that has commas"
        flaws.append(Flaw(table.name, "", message, number, shown("".join(cells[key : key + 1])), value, right))
