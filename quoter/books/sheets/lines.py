"""The rows of a worksheet under the names of its columns, and the flaws of its cells."""

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from quoter.books.cells import WrongCell
from quoter.books.check import MOST_IN_ONE_PLACE
from quoter.books.csv_rows import read_csv
from quoter.books.raw import RawRow
from quoter.books.setting_values import shown
from quoter.books.sheets.cell_text import CellTexts
from quoter.books.sheets.grid import MOST_COLUMNS, MOST_ROWS, Grid, StoredCell
from quoter.books.sheets.layout import PURPOSE, Sheet
from quoter.books.sheets.places import address
from quoter.problems import Flaw

_RANGE = re.compile(r"[A-Z]{1,3}([0-9]{1,7}):[A-Z]{1,3}([0-9]{1,7})")
_MERGED_SHOWN = 20


@dataclass(slots=True)
class Flaws:
    """Flaws as they are found; of one column not more than anybody reads."""

    found: list[Flaw] = field(default_factory=list)
    _counts: Counter[tuple[str, str]] = field(default_factory=Counter)

    def add(self, flaw: Flaw) -> None:
        """Keeps a flaw, unless its column has had its share."""
        if self.is_worth_telling(flaw.table, flaw.column):
            self.found.append(flaw)

    def take(self, others: "Flaws") -> None:
        """Adds the flaws of a sheet, which no other sheet has."""
        self.found += others.found
        self._counts += others._counts

    def is_worth_telling(self, table: str, column: str) -> bool:
        """Counts a flaw, and says whether there is still room for it."""
        self._counts[table, column] += 1
        return self._counts[table, column] < MOST_IN_ONE_PLACE

    def all(self) -> Iterator[Flaw]:
        """The flaws that were kept, and how many more there are."""
        yield from self.found
        for (table, column), count in self._counts.items():
            if count >= MOST_IN_ONE_PLACE:
                message = f"{count - MOST_IN_ONE_PLACE + 1} more flaws here"
                yield Flaw(table, column, message, suggestion="mend those listed first")


@dataclass(slots=True)
class Lines:
    """A sheet that has been read: the number of each of its columns, its rows. Cells that are wrong are not in them."""

    columns: Mapping[str, int]
    rows: tuple[RawRow, ...]


def read_lines(sheet: Sheet, grid: Grid, texts: CellTexts, flaws: Flaws) -> Lines:
    """The rows of a sheet whose first row names the columns. Raises WrongCell where the sheet cannot be read at all."""
    stored = grid.rows()
    number, header = next(stored, (1, []))
    found = Flaws()
    names = _names(sheet, header, number, found)
    width = max((cell.column for cell in header), default=0) if names else MOST_COLUMNS
    known = set(range(1, width + 1))
    reader = _RowReader(sheet, names, known, texts, found)
    rows = [reader.row(*row) for row in stored]
    covered = _covered(sheet, grid.merged, flaws)
    if number in covered:
        return Lines({}, ())  # what else is wrong with it will be seen when the header's cells are unmerged
    flaws.take(found)
    columns = {name: place for place, name in names.items()}
    return Lines(columns, tuple(row for row in rows if row and row.number not in covered))


def _names(sheet: Sheet, header: list[StoredCell], number: int, flaws: Flaws) -> dict[int, str]:
    """The name of each column by its number: a header is read as that of a CSV file."""
    texts = {cell.column: cell.text for cell in header}
    width = max(texts, default=0)
    places = [place for place in range(1, width + 1) if not (sheet.has_purposes and texts.get(place) == PURPOSE)]
    written = io.StringIO(newline="")
    csv.writer(written).writerows([[texts.get(place, "") for place in places], places])
    found: list[Flaw] = []
    rows = read_csv(written.getvalue(), sheet.table, found)
    for flaw in found:
        flaws.add(replace(flaw, row=number, message=f"{sheet.name}, row {number}: {flaw.message}"))
    return {int(place): name for row in rows for name, place in row.cells.items() if place}


@dataclass(slots=True)
class _RowReader:
    """Reads one row after the other of a sheet; `known` are the columns that need not be told of any more."""

    sheet: Sheet
    names: Mapping[int, str]
    known: set[int]
    texts: CellTexts
    flaws: Flaws

    def row(self, number: int, stored: list[StoredCell]) -> RawRow | None:
        """The row, or None where nothing stands in its columns."""
        cells = dict.fromkeys((*self.names.values(), *self.sheet.table.optional), "")
        wrong: list[tuple[StoredCell, str, WrongCell]] = []
        for cell in sorted(stored, key=self._is_no_key):
            name = self.names.get(cell.column)
            if name is None:
                self._note_stray(cell, number)
                continue
            try:
                cells[name] = self.texts.of(cell, self.sheet.column(name, cells))
            except WrongCell as reason:
                wrong.append((cell, name, reason))
                del cells[name]
        for cell, name, wrongness in wrong:
            if self.flaws.is_worth_telling(self.sheet.table.name, name):
                self.flaws.found.append(self._flaw(number, cells, cell, name, wrongness))
        return RawRow(number, cells) if wrong or any(cells.values()) else None

    def _is_no_key(self, cell: StoredCell) -> bool:
        """What names a row is read first: how a setting's value is read depends on it."""
        return self.names.get(cell.column) not in self.sheet.table.key

    def _flaw(self, number: int, cells: Mapping[str, str], cell: StoredCell, name: str, reason: WrongCell) -> Flaw:
        key = " ".join(filter(None, (shown(cells.get(column)) for column in self.sheet.table.key)))
        message = f"{self.sheet.name}!{address(cell.column, number)} {reason.message}"
        value = shown(cell.text if cell.formula is None else f"={cell.formula}")
        return Flaw(self.sheet.table.name, name, message, number, key, value, reason.suggestion)

    def _note_stray(self, cell: StoredCell, number: int) -> None:
        """A cell below no header is told once a column; one below a header that means nothing has its flaw already."""
        if cell.column not in self.known:
            self.known.add(cell.column)
            at = address(cell.column, number)
            message = f"{self.sheet.name}!{at} is filled, and its column has no name"
            right = "clear the column, or give it a name in the first row"
            self.flaws.add(Flaw(self.sheet.table.name, at, message, number, value=shown(cell.text), suggestion=right))


def _covered(sheet: Sheet, merged: list[str], flaws: Flaws) -> set[int]:
    """The rows that have merged cells, each range a flaw: nobody can say what belongs into the cells that are gone."""
    ranges = sorted((int(found[1]), int(found[2]), found[0]) for found in map(_RANGE.fullmatch, merged) if found)
    for first, _, written in ranges[:_MERGED_SHOWN]:
        more = f" and {len(ranges) - _MERGED_SHOWN} more ranges" if len(ranges) > _MERGED_SHOWN else ""
        message, right = f"{sheet.name}!{written}{more} are merged", "unmerge them, and fill in each cell"
        flaws.add(Flaw(sheet.table.name, "", message, first, suggestion=right))
    return {row for first, last in _disjoint(ranges) for row in range(first, min(last, MOST_ROWS) + 1)}


def _disjoint(ranges: list[tuple[int, int, str]]) -> Iterator[tuple[int, int]]:
    end = 0
    for first, last, _ in ranges:
        if last > end:
            yield max(first, end + 1), last
            end = last
