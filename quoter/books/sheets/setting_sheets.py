"""The sheets of settings as the TOML files that they stand for."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from quoter.books.flat import EMPTY_LISTS, flat, nested, segments
from quoter.books.load import DEEPEST
from quoter.books.raw import RawRow
from quoter.books.setting_values import shown
from quoter.books.sheets.layout import FX, HIGHEST_NUMBER, MARKUP, Sheet
from quoter.books.sheets.lines import Flaws, Lines
from quoter.books.sheets.places import Places, address
from quoter.problems import Flaw

_Path = tuple[tuple[str, int | None], ...]


@dataclass(slots=True)
class SettingLines:
    """The keys and values of one TOML file, gathered from its sheets."""

    file: str
    flaws: Flaws
    places: Places
    _lines: dict[_Path, tuple[str, str]] = field(default_factory=dict)

    def take(self, sheet: Sheet, read: Lines, found: Flaws) -> None:
        """Adds what a sheet says, and its flaws at the keys that they are about."""
        rows = read.rows[: sheet.most]
        keys = {
            row.number: {column: key for column, key in _keys(sheet, number, row).items() if column in read.columns}
            for number, row in enumerate(rows, start=1)
        }
        if len(read.rows) > sheet.most:
            message, right = f"sheet {sheet.name}: it has too many rows", f"at most {sheet.most}"
            self.flaws.add(Flaw(self.file, _section(sheet, ""), message, suggestion=right))
        for row in rows:
            for column, key in keys[row.number].items():
                self.places.settings[self.file, key] = f"{sheet.name}!{address(read.columns[column], row.number)}"
                text = row.cells.get(column, "")
                if text or EMPTY_LISTS.fullmatch(key):
                    self._add(sheet, row, key, text)
        for flaw in found.all():
            column = keys.get(flaw.row or 0, {}).get(flaw.column) or _section(sheet, flaw.column)
            self.flaws.add(replace(flaw, table=self.file, column=column, row=None, key=""))

    def _add(self, sheet: Sheet, row: RawRow, key: str, text: str) -> None:
        path: _Path = tuple(segments(key))
        numbers = [number for _, number in path if number is not None]
        if not path or len(path) > DEEPEST or max(numbers, default=0) > HIGHEST_NUMBER:
            self._refuse(
                sheet, row, key, "this is not a key", "words with points between them, such as policy.minimum_net"
            )
        elif path in self._lines:
            self._refuse(sheet, row, key, "the setting is there for the second time", "each setting once")
        else:
            self._lines[path] = key, text

    def _refuse(self, sheet: Sheet, row: RawRow, key: str, message: str, right: str) -> None:
        at, message = shown(key) or f"row {row.number}", f"{sheet.name}, row {row.number}: {message}"
        self.flaws.add(Flaw(self.file, at, message, value=shown(key), suggestion=right))

    def document(self) -> dict[str, Any]:
        """The file's document. A key that contradicts another is a flaw."""
        document = nested(dict(self._lines.values()))
        kept = {tuple(segments(key)) for key in flat(document)}
        for path, (key, text) in self._lines.items():
            if path not in kept:
                right = "either a value or further keys below it"
                message = f"{self.places.settings[self.file, key]} contradicts another setting"
                self.flaws.add(Flaw(self.file, key, message, value=shown(text), suggestion=right))
        return document


def _keys(sheet: Sheet, number: int, row: RawRow) -> Mapping[str, str]:
    """The key of each column of a row that holds a value; `number` counts the rows from 1."""
    if sheet is MARKUP:
        return {column: f"{sheet.table.name} {number}.{column}" for column in sheet.table.header}
    if sheet is FX:
        return {"rate": next(iter(flat({"fx": {row.cells.get("code", ""): ""}})))}
    return {"value": row.cells.get("key", "")}


def _section(sheet: Sheet, column: str) -> str:
    """What the flaws of a sheet are about that are about none of its values."""
    if column and column not in sheet.table.header:
        return column
    return sheet.table.name if sheet in (MARKUP, FX) else ""
