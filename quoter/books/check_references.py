"""Codes, slots and grades that lead nowhere."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from quoter.books.cells import LONGEST_CODE
from quoter.books.reading import BOOK_FILE, ReadBook, ReadRow
from quoter.books.setting_values import setting_flaw
from quoter.books.suggest import Suggestions
from quoter.books.tables import TABLE_BY_NAME, TABLES, Column, Table
from quoter.problems import Flaw


def reference_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Codes that no row of the table they come from has."""
    judges = {table.name: KnownRows(book, table) for table in TABLES}
    for table in TABLES:
        for column in table.columns:
            if column.refers and judges[column.refers].can_judge:
                yield from _unknown_codes(table, column, book.tables[table.name], judges[column.refers])


def diagnosis_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Procedures that the settings call a diagnosis, and that are not there."""
    procedures = KnownRows(book, TABLE_BY_NAME["procedures"])
    named = book.settings.get("policy.diagnosis_procedures", ()) if procedures.can_judge else ()
    for code in dict.fromkeys(named):
        if procedures.lacks(code):
            at, message = "policy.diagnosis_procedures", f"procedures has no row {code!r}"
            yield setting_flaw(BOOK_FILE, at, message, code, procedures.instead_of(code))


class KnownRows:
    """The rows that a table is known to have, and those of which only something like the key is known."""

    def __init__(self, book: ReadBook, table: Table) -> None:
        key = table.key[0]
        unreadable = {row.key for row in book.tables[table.name] if not row.has(key)}
        is_empty = not book.tables[table.name] and not table.may_be_empty
        is_lost = any(not code or len(code) > LONGEST_CODE for code in unreadable)
        self.name = table.name
        self.can_judge = not (is_empty or is_lost or table.name in book.raw.incomplete)
        self.codes = book.keys[table.name] - {""}
        self._likely = Suggestions(self.codes)
        self._unreadable = Suggestions(unreadable)

    def lacks(self, code: str) -> bool:
        """Neither a row's code nor what an unreadable one was meant to be."""
        return code not in self.codes and not self._unreadable.nearest(code)

    def instead_of(self, code: str) -> str:
        """What would be right."""
        return self._likely.perhaps(code, f"a {TABLE_BY_NAME[self.name].key[0]} of {self.name}.csv")


def _unknown_codes(table: Table, column: Column, rows: Iterable[ReadRow], known: KnownRows) -> Iterator[Flaw]:
    sound: set[Any] = set()  # in a large book many rows name the same
    for row in rows:
        named = row.values.get(column.name)
        if named not in sound:
            unknown = [code for code in dict.fromkeys(_codes_in(named)) if code not in known.codes]
            if not unknown:
                sound.add(named)
            yield from (_unknown_code(table, column, row, code, known) for code in unknown if known.lacks(code))


def _unknown_code(table: Table, column: Column, row: ReadRow, code: str, known: KnownRows) -> Flaw:
    message = f"{known.name} has no row {code!r}"
    return Flaw(table.name, column.name, message, row.number, row.key, code, known.instead_of(code))


def _codes_in(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    for item in value if isinstance(value, tuple) else ():
        yield from _codes_in(item)


def slot_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Slots that lead nowhere: a step that no part can fill, a procedure about a slot that no step fits."""
    unfilled: dict[str, Flaw] = {}
    if book.is_whole("parts", "slot"):
        unfilled = {flaw.key: flaw for flaw in _unfilled_slots(book)}
        yield from unfilled.values()
    if book.is_whole("steps", "slot"):
        yield from _unasked_slots(book, unfilled)


def _unfilled_slots(book: ReadBook) -> Iterator[Flaw]:
    known = _words(book, "parts", "slot")
    likely = Suggestions(known)
    for row in book.tables["steps"]:
        slot = row.values.get("slot")
        if slot and slot not in known and row.has("without_part") and not row.values["without_part"]:
            message = "no part fills the slot, and no step stands in without one"
            right = likely.perhaps(slot, "a part that fills it, or a step in without_part")
            yield Flaw("steps", "slot", message, row.number, row.key, slot, right)


def _unasked_slots(book: ReadBook, unfilled: Mapping[str, Flaw]) -> Iterator[Flaw]:
    """Where the slot of the step is the wrong one, it has its flaw already, and the procedure's is right."""
    known = _words(book, "steps", "slot")
    likely = Suggestions(known)
    for row in book.tables["procedures"]:
        slot = row.values.get("slot")
        if slot and slot not in known and unfilled.keys().isdisjoint(row.values.get("goals", ())):
            message, right = "no step fits a part into this slot", likely.perhaps(slot, "the slot of a step, or blank")
            yield Flaw("procedures", "slot", message, row.number, row.key, slot, right)


def grade_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Menu prices for a grade that no part has: nobody could ever pay them."""
    if not book.is_whole("parts", "grade"):
        return
    known = _words(book, "parts", "grade")
    likely = Suggestions(known)
    for row in book.tables["menu"]:
        grade = row.values.get("grade")
        if grade and grade not in known:
            right = likely.perhaps(grade, "the grade of a part, or blank for any")
            yield Flaw("menu", "grade", "no part has this grade", row.number, row.key, grade, right)


def _words(book: ReadBook, table: str, column: str) -> set[str]:
    return {word for row in book.tables[table] if (word := row.values.get(column))}
