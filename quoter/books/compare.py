"""What differs between the texts of two books, row by row and cell by cell. Pure; finds and never raises.

Two books that can be priced with differ here exactly if their digests do: 0.10 and 0.1 are one number, and a blank is
its column's default. What cannot be read (drafts may be faulty) is compared as it is written. Only the tables and
columns of a rate book are looked at; of the TOML files every key, known or not.
"""

import re
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any, Literal, NamedTuple

from quoter.books.cells import WrongCell
from quoter.books.raw import RawBook, RawRow
from quoter.books.reading import BOOK_FILE
from quoter.books.setting_values import read_value
from quoter.books.settings import (
    BAND_SETTINGS,
    BOOK_SETTINGS,
    COMPONENT_SETTINGS,
    CUSTOMER_SETTINGS,
    FX_RATE,
    LAW_SETTINGS,
    LINE_CODE,
    NOTICE_SETTINGS,
    NOTICE_TEXT,
    RECLASS_SETTINGS,
    TAX_SETTINGS,
    Setting,
)
from quoter.books.tables import TABLES, Column, Table
from quoter.problems import Flaw

Kind = Literal["added", "removed", "changed", "moved"]
KINDS: tuple[Kind, ...] = ("added", "removed", "changed", "moved")


@dataclass(frozen=True, slots=True)
class Change:
    """One difference. `key` names the row as flaws do, a second row of that key as "KEY (2)".

    `column` is blank where it is about a whole row: `old` or `new` are then its filled cells, or, of a moved row, the
    row that it stands after. Of book.toml and the profiles `key` is the dotted key and `column` always blank; lists
    are counted from 1 as the new book counts them, or the old one if they are gone. None is blank or not there.
    """

    table: str
    key: str
    column: str
    kind: Kind
    old: str | None
    new: str | None

    def __str__(self) -> str:
        """As a person would tell it."""
        place = " · ".join(filter(None, (self.table, self.key, self.column)))
        told = [each for each in (self.old, self.new) if each is not None]
        return f"{place}: {self.kind}{', ' if told else ''}{' → '.join(told)}"


def compare(old: RawBook, new: RawBook) -> tuple[Change, ...]:
    """Every difference: of book.toml, then of each table, then of the tax and law profiles."""
    return tuple(_changes(old, new))


def summary(changes: Iterable[Change]) -> Mapping[str, int]:
    """How many changes there are of each kind."""
    counts = Counter(change.kind for change in changes)
    return {kind: counts[kind] for kind in KINDS}


def _changes(old: RawBook, new: RawBook) -> Iterator[Change]:
    yield from _value_changes(_Place(BOOK_FILE), old.settings, new.settings)
    for table in TABLES:
        yield from _table_changes(table, old.tables.get(table.name, ()), new.tables.get(table.name, ()))
    yield from _value_changes(_profile("tax", old, new), old.tax, new.tax)
    before, after = (raw.law if raw.has_law else {} for raw in (old, new))
    yield from _value_changes(_profile("law", old, new), before, after)


def _profile(kind: str, old: RawBook, new: RawBook) -> "_Place":
    names = (_written(raw.settings.get(f"{kind}_profile")) for raw in (new, old))
    return _Place(f"{kind}/{next(filter(None, names), '')}.toml")


# tables


class _Name(NamedTuple):
    """What tells a row from the others of its table: the words of its key, and which row with these words it is."""

    words: str
    occurrence: int

    def __str__(self) -> str:
        words = self.words or "(blank)"
        return words if self.occurrence == 1 else f"{words} ({self.occurrence})"


def _table_changes(table: Table, old: Sequence[RawRow], new: Sequence[RawRow]) -> Iterator[Change]:
    if [row.cells for row in old] == [row.cells for row in new]:
        return
    before, after = _named(table, old), _named(table, new)
    for name, row in before.items():
        if name not in after:
            yield Change(table.name, str(name), "", "removed", _row_text(table, row), None)
    stood, stands = _followed(before), _followed(after)
    moved = _moved(before, after)
    for name, row in after.items():
        if name not in before:
            yield Change(table.name, str(name), "", "added", None, _row_text(table, row))
            continue
        yield from _cell_changes(table, str(name), before[name], row)
        if name in moved:
            yield Change(table.name, str(name), "", "moved", _place_after(stood[name]), _place_after(stands[name]))


def _named(table: Table, rows: Iterable[RawRow]) -> dict[_Name, RawRow]:
    seen: Counter[str] = Counter()
    named: dict[_Name, RawRow] = {}
    for row in rows:
        words = " ".join(filter(None, (_written(row.cells.get(column)) for column in table.key)))
        seen[words] += 1
        named[_Name(words, seen[words])] = row
    return named


def _followed(names: Iterable[_Name]) -> dict[_Name, _Name | None]:
    """The row before each row."""
    before: _Name | None = None
    followed: dict[_Name, _Name | None] = {}
    for name in names:
        followed[name], before = before, name
    return followed


def _place_after(name: _Name | None) -> str:
    return f"after {name}" if name else "first"


def _moved(before: Iterable[_Name], after: Iterable[_Name]) -> set[_Name]:
    """Of the rows in both, the fewest whose moving turns one order into the other."""
    place = {name: number for number, name in enumerate(before)}
    common = [name for name in after if name in place]
    kept = _longest_ascending([place[name] for name in common])
    return {name for name in common if place[name] not in kept}


def _longest_ascending(numbers: list[int]) -> set[int]:
    """A longest ascending subsequence of distinct numbers, in n log n.

    `ends[k]` is the smallest number at which an ascending run of k + 1 can end, `earlier` what stands before a number
    in the best run that ends with it.
    """
    ends: list[int] = []
    earlier: dict[int, int | None] = {}
    for number in numbers:
        length = bisect_left(ends, number)
        earlier[number] = ends[length - 1] if length else None
        ends[length : length + 1] = [number]
    kept: set[int] = set()
    at = ends[-1] if ends else None
    while at is not None:
        kept.add(at)
        at = earlier[at]
    return kept


def _cell_changes(table: Table, key: str, old: RawRow, new: RawRow) -> Iterator[Change]:
    if old.cells == new.cells:
        return
    for column in table.columns:
        was, now = old.cells.get(column.name), new.cells.get(column.name)
        before, after = (_written(was), _written(now)) if was != now else (None, None)
        if before != after and _cell_meaning(before, column) != _cell_meaning(after, column):
            yield Change(table.name, key, column.name, "changed", before, after)


def _cell_meaning(text: str | None, column: Column) -> tuple[str, Any]:
    """The value of a cell; its text where it cannot be read."""
    if text is None:
        return "value", column.blank
    try:
        return "value", column.reads(text)
    except WrongCell:
        return "text", text


def _row_text(table: Table, row: RawRow) -> str:
    return _listed({name: row.cells.get(name) for name in table.header})


# book.toml and the profiles

_Pattern = tuple[str, ...]
"""Where a value stands in a document, with * for any name or number."""


def _declared(settings: Iterable[Setting], *within: str) -> dict[_Pattern, Setting]:
    return {(*within, *setting.key.split(".")): setting for setting in settings}


_SETTINGS: Mapping[_Pattern, Setting] = {
    **_declared(TAX_SETTINGS),
    **_declared(LAW_SETTINGS),
    **_declared(NOTICE_SETTINGS, "notices", "*"),
    ("notices", "*", "texts", "*"): NOTICE_TEXT,
    **_declared(BOOK_SETTINGS),
    **_declared(BAND_SETTINGS, "parts", "markup", "*"),
    ("fx", "*"): FX_RATE,
    **_declared(COMPONENT_SETTINGS, "codes", "*", "components", "*"),
    ("lines", "*"): LINE_CODE,
    **_declared(CUSTOMER_SETTINGS, "customers", "*"),
    **_declared(RECLASS_SETTINGS, "reclass", "*"),
}
"""Those of all files: what several declare (code, title) is read alike."""

_PREFIXES = {pattern[:length] for pattern in _SETTINGS for length in range(len(pattern) + 1)}
_LISTS = {("parts", "markup"), ("codes", "*", "components"), ("reclass",)}
_ENTRIES = {("codes", "*"), ("customers", "*"), ("notices", "*"), *((*pattern, "*") for pattern in _LISTS)}
"""What comes and goes as a whole, like a row."""


@dataclass(frozen=True, slots=True)
class _Place:
    """A place in a TOML file: its dotted key, and the pattern by which its declaration is found."""

    file: str
    key: str = ""
    pattern: _Pattern = ()

    def below(self, name: str) -> "_Place":
        """What stands under a name; names that would be taken for several stand in quotes, as in TOML."""
        word = f'"{name}"' if not name or re.search(r"[.\s\"]", name) else name
        pattern = (*self.pattern, name)
        if pattern not in _PREFIXES:
            pattern = (*self.pattern, "*")
        return _Place(self.file, f"{self.key}.{word}" if self.key else word, pattern)

    def item(self, number: int) -> "_Place":
        """An item of a list, counted from 1."""
        return _Place(self.file, f"{self.key} {number}", (*self.pattern, "*"))

    def change(self, old: Any, new: Any) -> Change:
        """From one value to another, None being none."""
        before, after = _written(old), _written(new)
        kind: Kind = "added" if before is None else "removed" if after is None else "changed"
        return Change(self.file, self.key, "", kind, before, after)


def _value_changes(place: _Place, old: Any, new: Any) -> Iterator[Change]:
    if old == new:
        return
    one = new if old is None else old if new is None else None
    if isinstance(one, Mapping) and place.pattern in _ENTRIES:
        yield place.change(old, new)
    elif isinstance(one, Mapping) or (isinstance(old, Mapping) and isinstance(new, Mapping)):
        before, after = old or {}, new or {}
        for name in dict.fromkeys((*before, *after)):
            yield from _value_changes(place.below(name), before.get(name), after.get(name))
    elif place.pattern in _LISTS and (isinstance(one, list) or (isinstance(old, list) and isinstance(new, list))):
        yield from _list_changes(place, old or [], new or [])
    elif _setting_meaning(place, old) != _setting_meaning(place, new):
        yield place.change(old, new)


def _list_changes(place: _Place, old: list[Any], new: list[Any]) -> Iterator[Change]:
    """Item by item, without the items that the lists have in common at their beginning and at their end."""
    shorter = min(len(old), len(new))
    start = next((at for at in range(shorter) if _differ(place.item(at + 1), old[at], new[at])), shorter)
    left = shorter - start
    end = next((at for at in range(left) if _differ(place.item(1), old[-1 - at], new[-1 - at])), left)
    items = zip_longest(old[start : len(old) - end], new[start : len(new) - end])
    for number, (before, after) in enumerate(items, start=start + 1):
        yield from _value_changes(place.item(number), before, after)


def _differ(place: _Place, old: Any, new: Any) -> bool:
    return any(_value_changes(place, old, new))


def _setting_meaning(place: _Place, found: Any) -> tuple[str, Any]:
    """The value of a setting, its default where it is not there; what is written where that cannot be read."""
    setting = _SETTINGS.get(place.pattern)
    if setting is None:
        return "text", _written(found)
    flaws: list[Flaw] = []
    value = read_value(found, setting, place.file, place.key, flaws)
    return ("text", _written(found)) if flaws else ("value", value)


# text


def _written(value: Any) -> str | None:
    """A cell or a value as text, None where nothing is written."""
    if value is None or isinstance(value, str):
        return (value or "").strip() or None
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, Mapping):
        return _listed(value) or "{}"
    if isinstance(value, list):
        between = "; " if any(isinstance(item, Mapping) for item in value) else " "
        return between.join(filter(None, map(_written, value))) or "[]"
    return str(value)


def _listed(values: Mapping[str, Any]) -> str:
    """Filled values with their names on one line."""
    return ", ".join(f"{name} {text}" for name, value in values.items() if (text := _written(value)))
