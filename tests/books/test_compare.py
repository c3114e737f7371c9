"""What differs between two books: rows, cells, order, settings and the tax profile. Expected changes are by hand."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import combinations, permutations
from typing import Any

import pytest
from builders import a_raw_book, a_row, a_step

from quoter.books.compare import KINDS, Change, compare, summary
from quoter.books.compile import digest
from quoter.books.raw import RawBook, RawRow
from quoter.books.reading import read
from quoter.books.tables import TABLES


def changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[tuple[str, str, str, str, str | None, str | None]]:
    """The differences between two small books, each as a plain tuple; `a_raw_book` explains what is given."""
    found = compare(a_raw_book(**old), a_raw_book(**new))
    return [(each.table, each.key, each.column, each.kind, each.old, each.new) for each in found]


def with_cells(table: str, number: int, **cells: Any) -> RawBook:
    """The small book with other cells in one row."""
    book = a_raw_book(findings=[a_row("bent")], consumables=[a_row("tape")])
    rows = list(book.tables[table])
    rows[number] = replace(rows[number], cells={**rows[number].cells, **cells})
    return replace(book, tables={**book.tables, table: tuple(rows)})


def rows_of(*keys: str) -> tuple[RawRow, ...]:
    """Cautions with these codes, in this order."""
    return tuple(
        RawRow(number, {"code": key, "text": "Take care", "source": ""}) for number, key in enumerate(keys, start=2)
    )


def cautions(*keys: str) -> RawBook:
    """The small book with these cautions, faulty or not."""
    book = a_raw_book()
    return replace(book, tables={**book.tables, "cautions": rows_of(*keys)})


# cells


@pytest.mark.parametrize(
    ("table", "number", "column", "old", "new"),
    [
        ("parts", 0, "cost", "30", "30.00"),
        ("parts", 0, "cost", "0.1", "0.10"),
        ("parts", 0, "freight", "", "0"),
        ("parts", 0, "freight", "-0", "0.0"),
        ("parts", 0, "lead_days", "", "00"),
        ("parts", 0, "devices", "slate wrist", "  slate   wrist "),
        ("findings", 0, "time_factor", "", "1.0"),
        ("findings", 0, "procedures", "", "  "),
        ("consumables", 0, "waste", "", "0.00"),
        ("difficulty", 0, "skill", "", " "),
    ],
)
def test_a_cell_that_is_written_differently_is_not_changed(table: str, number: int, column: str, old: str, new: str):
    """0.10 and 0.1 are one number, a blank is its default, and spaces only separate."""
    before, after = with_cells(table, number, **{column: old}), with_cells(table, number, **{column: new})
    assert compare(before, after) == ()
    assert digest(read(before)) == digest(read(after))


@pytest.mark.parametrize(
    ("table", "number", "column", "old", "new", "key"),
    [
        ("parts", 0, "cost", "30", "31.50", "B1"),
        ("parts", 1, "freight", None, "2", "P1"),
        ("parts", 0, "warranty", "year", None, "B1"),
        ("parts", 0, "devices", "slate wrist", "wrist slate", "B1"),
        ("parts", 0, "title", "Battery", "battery", "B1"),
        ("findings", 0, "stops", None, "yes", "bent"),
        ("offers", 1, "difficulty", None, "usual", "slate port"),  # the procedure's own, but no longer whatever that is
    ],
)
def test_a_changed_cell_is_one_change_with_its_text_before_and_after(
    table: str, number: int, column: str, old: str | None, new: str | None, key: str
):
    """Row by its key, column, and what is written there; None is a blank."""
    before, after = with_cells(table, number, **{column: old or ""}), with_cells(table, number, **{column: new or ""})
    assert compare(before, after) == (Change(table, key, column, "changed", old, new),)


def test_every_column_of_every_table_is_compared():
    """A cell that nobody looked at would be a change that nobody sees."""
    before = a_raw_book()
    for table in TABLES:
        filled = dict.fromkeys(table.header, "x")
        for column in set(table.header) - set(table.key):
            old, new = ({table.name: (RawRow(2, {**filled, column: text}),)} for text in ("x", "z"))
            found = compare(replace(before, tables=old), replace(before, tables=new))
            assert [(each.table, each.column, each.kind) for each in found] == [(table.name, column, "changed")]


@pytest.mark.parametrize(
    ("old", "new"), [("1,5", "1.5"), ("1.5", "1,5"), ("abc", "abd"), ("1e3", "1000"), ("-1", "-1.0")]
)
def test_what_cannot_be_read_is_compared_as_it_is_written(old: str, new: str):
    """A draft may be faulty; -1 is no cost, so it is no number either."""
    found = compare(with_cells("parts", 0, cost=old), with_cells("parts", 0, cost=new))
    assert found == (Change("parts", "B1", "cost", "changed", old, new),)
    assert compare(with_cells("parts", 0, cost=old), with_cells("parts", 0, cost=f" {old}")) == ()


def test_a_required_cell_that_is_emptied_is_a_change():
    """It has no default that it could be equal to."""
    found = compare(with_cells("parts", 0, cost="0"), with_cells("parts", 0, cost=""))
    assert found == (Change("parts", "B1", "cost", "changed", "0", None),)


# rows


def test_a_row_that_comes_or_goes_is_one_change_with_its_filled_cells():
    """What was filled in, readable on one line."""
    old, new = {"findings": [a_row("bent", charge=5)]}, {"findings": [a_row("wet", emerges="yes")]}
    assert changes(old, new) == [
        ("findings", "bent", "", "removed", "code bent, title bent, charge 5", None),
        ("findings", "wet", "", "added", None, "code wet, title wet, emerges yes"),
    ]


def test_a_row_whose_key_changes_is_another_row():
    """Other tables name it by that key."""
    found = compare(with_cells("parts", 0), with_cells("parts", 0, sku="B2"))
    assert [(each.key, each.kind) for each in found] == [("B1", "removed"), ("B2", "added")]


def test_rows_are_matched_by_all_columns_of_their_key():
    """Of one step and consumable there may be a row for each basis, of a menu one for each grade and for any."""
    uses = [{"step": "open", "consumable": "tape", "basis": basis} for basis in ("each", "area")]
    menus = [{"procedure": "battery", "grade": grade, "net": 50} for grade in ("genuine", "")]
    book = {"consumables": [a_row("tape")], "usage": uses, "menu": menus}
    edited = {"usage": [uses[0], uses[1] | {"quantity": 2}], "menu": [menus[0], menus[1] | {"net": 45}]}
    assert changes(book, book | edited) == [
        ("usage", "open tape area", "quantity", "changed", "1", "2"),
        ("menu", "slate battery", "net", "changed", "50", "45"),
    ]


@pytest.mark.parametrize(
    ("old", "new", "moved"),
    [
        ("a b c d", "b c d a", {"a": ("first", "after d")}),
        ("a b c d", "d a b c", {"d": ("after c", "first")}),
        ("a b c d e", "a d b c e", {"d": ("after c", "after a")}),
        ("a b c d e", "d c a b e", {"d": ("after c", "first"), "c": ("after b", "after d")}),
        ("a b c d e", "a b c d e", {}),
        ("a b c", "x a b c", {}),  # a row before all others moves none
        ("a b c", "b c", {}),
        ("x a b y c", "b z c a", {"a": ("after x", "after c")}),  # rows that came or went are neighbours all the same
    ],
)
def test_only_the_rows_that_were_moved_are_moved(old: str, new: str, moved: Mapping[str, tuple[str, str]]):
    """With the rows that they stood and stand after."""
    found = [each for each in compare(cautions(*old.split()), cautions(*new.split())) if each.kind == "moved"]
    assert {each.key: (each.old, each.new) for each in found} == moved
    assert {(each.table, each.column) for each in found} <= {("cautions", "")}


@pytest.mark.parametrize("order", [*permutations("abcde")])
def test_the_fewest_rows_are_moved_that_make_the_new_order(order: tuple[str, ...]):
    """Of every order of five rows: the rest keeps its order, and no larger rest could (all subsets tried)."""
    found = compare(cautions(*"abcde"), cautions(*order))
    moved = {each.key for each in found if each.kind == "moved"}
    rest = [key for key in order if key not in moved]
    assert rest == sorted(rest)
    larger = combinations(order, len(rest) + 1)
    assert not any(list(kept) == sorted(kept) for kept in larger)


def test_a_row_may_be_moved_and_changed():
    """Both are told."""
    steps = [a_step("open"), a_step("warm"), a_step("close")]
    book = {"steps": steps, "procedures": [a_row("clean", goals="close")], "parts": []}
    edited = book | {"steps": [steps[1], steps[2], a_step("open", (1, 2, 3))]}
    assert changes(book, edited) == [
        ("steps", "open", "low", "changed", "0", "1"),
        ("steps", "open", "likely", "changed", "0", "2"),
        ("steps", "open", "high", "changed", "0", "3"),
        ("steps", "open", "", "moved", "first", "after close"),
    ]


# drafts with faults


def test_rows_with_the_same_key_are_told_apart_by_occurrence():
    """The first with the first, the second with the second."""
    assert compare(cautions("hot", "hot"), cautions("hot", "hot")) == ()
    (found,) = compare(cautions("hot", "hot"), cautions("hot", "hot", "hot"))
    assert (found.key, found.kind) == ("hot (3)", "added")
    twice = cautions("hot", "hot")
    first, second = twice.tables["cautions"]
    edited = replace(second, cells={**second.cells, "text": "Hot"})
    (found,) = compare(twice, replace(twice, tables={**twice.tables, "cautions": (first, edited)}))
    assert (found.key, found.column, found.new) == ("hot (2)", "text", "Hot")


def test_rows_without_a_key_are_told_apart_too():
    """A row that was begun and not finished is seen, not lost."""
    found = compare(cautions("hot"), cautions("hot", "", ""))
    assert [(each.key, each.kind) for each in found] == [("(blank)", "added"), ("(blank) (2)", "added")]


def test_a_key_that_looks_like_an_occurrence_hides_no_row():
    """Spaces are no part of a code, but a draft may have them."""
    found = compare(cautions(), cautions("hot (2)", "hot", "hot"))
    assert [each.kind for each in found] == ["added"] * 3


@pytest.mark.parametrize(
    "spoil",
    [
        {"tables": {}},
        {"settings": {}},
        {"tax": {}},
        {"tables": {"parts": (RawRow(2, {}),)}},
        {"tables": {"parts": (RawRow(2, {"sku": 7, "cost": None, "title": ["a", {"b": 1}]}),)}},  # what JSON may bring
        {"settings": {"labour": "none", "parts": {"markup": "none"}, "fx": [1], "shop": [], "tax_profile": {"a": 1}}},
        {"settings": {"parts": {"markup": ["0.5", {"rate": ["0.5"]}, None]}, "": "x", "a.b": {"c d": "x"}}},
        {"tax": {"codes": {"std": {"components": [[], "x"]}, "x": 1}, "lines": None, "reclass": {"when": 1}}},
        {"tax": {"codes": [], "customers": {"exempt": {"code": {"deep": {"deeper": []}}}}}},
    ],
)
def test_what_makes_no_sense_is_compared_and_never_raises(spoil: dict[str, Any]):
    """Whatever a draft has become, it differs from the book that it came from, both ways, and not from itself."""
    book = a_raw_book(fx={"USD": "0.9"})
    spoilt = replace(book, **spoil)
    assert compare(spoilt, spoilt) == ()
    there, back = compare(book, spoilt), compare(spoilt, book)
    assert there
    mirrored = {"added": "removed", "removed": "added"}
    assert summary(there) == {mirrored.get(kind, kind): count for kind, count in summary(back).items()}


def test_changes_are_counted_by_kind():
    """Kinds of which there are none count nothing."""
    found = compare(cautions("a", "b", "c"), cautions("b", "c", "a", "d", "e"))
    assert summary(found) == {"added": 2, "removed": 0, "changed": 0, "moved": 1}
    assert summary(()) == dict.fromkeys(KINDS, 0)
