"""A draft: the text of a book while it is being changed, row by row. Pure; what is kept of it is the store's business.

Every row has an id that stays while its cells, its key and its place change. An edit names what it changes; edits in
one call are made in their order, all or none.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from quoter.books.flat import flat, nested, segments
from quoter.books.raw import RawBook, RawRow
from quoter.books.tables import TABLE_BY_NAME, TABLES
from quoter.problems import EditRefused, Refusal

FILES = ("book.toml", "tax", "law")
"""The documents of a book that are not tables: its settings, and the tax and law profile that it names."""

MOST_ROWS = 200_000
MOST_LINES = 1_000
LONGEST_CELL = 20_000


@dataclass(frozen=True, slots=True)
class DraftRow:
    """A row with the id that it keeps."""

    id: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Draft:
    """A book's text with an id for each row. `files` are the settings and the profiles as lines of key and value."""

    files: Mapping[str, Mapping[str, str]]
    tables: Mapping[str, tuple[DraftRow, ...]]
    next_id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """One change. `do` is set, add, delete or move.

    Of a table: `row` is the id; `cells` are the cells to set, others stay; `before` is the id of the row to stand
    before, None for the end. Of a file, set and delete: the line `key`, and its `value`.
    """

    do: str
    table: str
    row: int | None = None
    cells: Mapping[str, str] = field(default_factory=dict)
    before: int | None = None
    key: str = ""
    value: str | None = None


@dataclass(frozen=True, slots=True)
class CellChange:
    """What an edit did to a cell (or, with no column, to a whole row): the old text and the new."""

    table: str
    row: int | None
    key: str
    column: str
    old: str | None
    new: str | None


def draft_of(raw: RawBook) -> Draft:
    """A fresh draft of a book's text."""
    tables: dict[str, tuple[DraftRow, ...]] = {}
    next_id = 1
    for table in TABLES:
        rows = raw.tables.get(table.name, ())
        tables[table.name] = tuple(DraftRow(next_id + place, dict(row.cells)) for place, row in enumerate(rows))
        next_id += len(rows)
    return Draft(lines_of(raw), tables, next_id)


def lines_of(raw: RawBook) -> dict[str, dict[str, str]]:
    """The documents of a book that are not tables as lines of key and value."""
    return {"book.toml": flat(raw.settings), "tax": flat(raw.tax), "law": flat(raw.law)}


def raw_of(draft: Draft) -> RawBook:
    """The text of a draft; rows are counted as a spreadsheet would."""
    tables = {
        name: tuple(RawRow(number, row.cells) for number, row in enumerate(rows, start=2))
        for name, rows in draft.tables.items()
    }
    settings, tax, law = (nested(draft.files[name]) for name in FILES)
    return RawBook(settings, tables, tax, law=law)


def edited(draft: Draft, edits: Iterable[Edit]) -> tuple[Draft, tuple[CellChange, ...]]:
    """The draft with all edits made, and what they changed. Raises EditRefused, naming each that makes no sense."""
    work = _Work(
        files={name: dict(lines) for name, lines in draft.files.items()},
        tables={name: list(rows) for name, rows in draft.tables.items()},
        next_id=draft.next_id,
    )
    asked, refusals = list(edits), []
    for number, edit in enumerate(asked):
        try:
            _do(edit, work)
        except _Senseless as senseless:
            at = f"/edits/{number}/{senseless.member}"
            refusals.append(Refusal("invalid-value", at, senseless.detail, senseless.allowed))
    if refusals or (refusals := list(_contradictions(asked, work))):
        raise EditRefused(tuple(refusals))
    tables = {name: tuple(rows) for name, rows in work.tables.items()}
    return Draft(work.files, tables, work.next_id), tuple(work.changes)


def _contradictions(edits: Iterable[Edit], work: "_Work") -> Iterator[Refusal]:
    """Lines that would be lost, because others already say what stands at their place or within it."""
    kept = {name: flat(nested(lines)) for name, lines in work.files.items()}
    for number, edit in enumerate(edits):
        lines = work.files.get(edit.table, {})
        if edit.do == "set" and edit.key in lines and edit.key not in kept[edit.table]:
            detail = f"{edit.key!r} contradicts another line, or is that line written differently"
            yield Refusal("invalid-value", f"/edits/{number}/key", detail, _closest_lines(edit.key, lines))


def _closest_lines(key: str, lines: Mapping[str, str]) -> tuple[str, ...]:
    first = segments(key)[0][0]
    return tuple(each for each in lines if each != key and [first] == [name for name, _ in segments(each)[:1]])


@dataclass(slots=True)
class _Work:
    """A draft on the bench."""

    files: dict[str, dict[str, str]]
    tables: dict[str, list[DraftRow]]
    next_id: int
    changes: list[CellChange] = field(default_factory=list)


@dataclass(eq=False)
class _Senseless(Exception):
    """Which member of an edit makes no sense, and what would."""

    member: str
    detail: str
    allowed: tuple[str, ...] = ()


def _do(edit: Edit, work: _Work) -> None:
    if edit.table in FILES:
        possible = _LINE_EDITS
    elif edit.table in TABLE_BY_NAME:
        possible = _ROW_EDITS
    else:
        raise _Senseless("table", f"there is no table {edit.table!r}", (*FILES, *TABLE_BY_NAME))
    if edit.do not in possible:
        raise _Senseless("do", f"{edit.do!r} is nothing that can be done to {edit.table}", tuple(possible))
    possible[edit.do](edit, work)


def _set_line(edit: Edit, work: _Work) -> None:
    steps = segments(edit.key)
    if not steps or any(number and number > MOST_LINES for _, number in steps):
        raise _Senseless("key", f"{edit.key!r} is no key", ("labour.bench_rate", "parts.markup 1.rate"))
    lines, new = work.files[edit.table], _cell("value", edit.value or "")
    old = lines.get(edit.key)
    if old is None and len(lines) >= MOST_LINES:
        raise _Senseless("table", f"{edit.table} has {MOST_LINES} lines already, which is the most")
    if old != new:
        lines[edit.key] = new
        work.changes.append(CellChange(edit.table, None, edit.key, "", old, new))


def _delete_line(edit: Edit, work: _Work) -> None:
    if edit.key not in work.files[edit.table]:
        raise _Senseless("key", f"there is no line {edit.key!r}", tuple(work.files[edit.table]))
    old = work.files[edit.table].pop(edit.key)
    work.changes.append(CellChange(edit.table, None, edit.key, "", old, None))


def _set(edit: Edit, work: _Work) -> None:
    rows = work.tables[edit.table]
    place = _place(rows, edit.row, "row")
    row, cells = rows[place], _cells(edit)
    key = row_key(edit.table, row.cells)
    changed = {column: text for column, text in cells.items() if row.cells.get(column, "") != text}
    work.changes += [CellChange(edit.table, row.id, key, each, row.cells.get(each), changed[each]) for each in changed]
    rows[place] = DraftRow(row.id, {**row.cells, **changed})


def _add(edit: Edit, work: _Work) -> None:
    rows = work.tables[edit.table]
    if len(rows) >= MOST_ROWS:
        raise _Senseless("table", f"{edit.table} has {MOST_ROWS} rows already, which is the most")
    row = DraftRow(work.next_id, dict.fromkeys(TABLE_BY_NAME[edit.table].header, "") | _cells(edit))
    rows.insert(len(rows) if edit.before is None else _place(rows, edit.before, "before"), row)
    work.next_id += 1
    key = row_key(edit.table, row.cells)
    work.changes.append(CellChange(edit.table, row.id, key, "", None, row_text(row.cells)))


def _delete(edit: Edit, work: _Work) -> None:
    rows = work.tables[edit.table]
    row = rows.pop(_place(rows, edit.row, "row"))
    key = row_key(edit.table, row.cells)
    work.changes.append(CellChange(edit.table, row.id, key, "", row_text(row.cells), None))


def _move(edit: Edit, work: _Work) -> None:
    rows = work.tables[edit.table]
    old = _place(rows, edit.row, "row")
    target = len(rows) if edit.before is None else _place(rows, edit.before, "before")
    new = target - 1 if target > old else target
    if target != old and new != old:
        row = rows.pop(old)
        rows.insert(new, row)
        key = row_key(edit.table, row.cells)
        work.changes.append(CellChange(edit.table, row.id, key, "", f"row {old + 2}", f"row {new + 2}"))


_LINE_EDITS: dict[str, Callable[[Edit, _Work], None]] = {"set": _set_line, "delete": _delete_line}
_ROW_EDITS: dict[str, Callable[[Edit, _Work], None]] = {"set": _set, "add": _add, "delete": _delete, "move": _move}


def _place(rows: list[DraftRow], row_id: int | None, member: str) -> int:
    for place, row in enumerate(rows):
        if row.id == row_id:
            return place
    raise _Senseless(member, f"there is no row with the id {row_id}")


def _cells(edit: Edit) -> dict[str, str]:
    header = TABLE_BY_NAME[edit.table].header
    for column in edit.cells:
        if column not in header:
            raise _Senseless(f"cells/{column}", f"{edit.table} has no column {column!r}", header)
    return {column: _cell(f"cells/{column}", text) for column, text in edit.cells.items()}


def _cell(member: str, text: str) -> str:
    """As a file is read: without spaces around it."""
    if len(text) > LONGEST_CELL:
        raise _Senseless(member, f"{len(text)} characters are too many; {LONGEST_CELL} at most")
    return text.strip()


def row_key(table: str, cells: Mapping[str, str]) -> str:
    """What names a row in the owner's words."""
    return " ".join(filter(None, (cells.get(column, "") for column in TABLE_BY_NAME[table].key)))


def row_text(cells: Mapping[str, str]) -> str:
    """A row's filled cells on one line."""
    return ", ".join(f"{column} {text}" for column, text in cells.items() if text)


def draft_data(draft: Draft) -> dict[str, Any]:
    """The draft as plain data, to be kept as JSON."""
    return {
        "files": {name: dict(lines) for name, lines in draft.files.items()},
        "tables": {name: [[row.id, dict(row.cells)] for row in rows] for name, rows in draft.tables.items()},
        "next_id": draft.next_id,
    }


def draft_from(data: Mapping[str, Any]) -> Draft:
    """What `draft_data` came from. One that was kept before there was a table or a document has nothing in it."""
    tables = {
        table.name: tuple(DraftRow(row_id, cells) for row_id, cells in data["tables"].get(table.name, ()))
        for table in TABLES
    }
    return Draft({name: data["files"].get(name, {}) for name in FILES}, tables, data["next_id"])
