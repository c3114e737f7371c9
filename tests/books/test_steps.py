"""Steps that wait for each other: as they are, without a part, and once a finding has replaced some."""

from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from books.conftest import Change, added, all_of, cell, the_one
from quoter.books import check_steps
from quoter.books.check_steps import circles
from quoter.problems import Flaw


def step(code: str, needs: str, slot: str = "", without_part: str = "") -> str:
    """A row of steps.csv."""
    return f"{code},T,1,2,3,,{needs},{slot},{without_part},\n"


NEEDS = "the steps wait for each other"
STAND_INS = "the steps stand in for each other"
WITHOUT = "without the part, the steps wait for each other"
REPLACED = "replaced like this, the steps wait for each other"

FOUR_STEPS = added("steps.csv", step("a", "") + step("b", "a") + step("c", "") + step("d", "c"))

CIRCLES = [
    ("a step needs itself", cell("steps", 2, "needs", "warm"), "steps", 2, "needs", NEEDS, "warm → warm"),
    ("two steps", cell("steps", 2, "needs", "open"), "steps", 2, "needs", NEEDS, "warm → open → warm"),
    ("beside a step that waits for nothing", added("steps.csv", step("a", "b warm") + step("b", "open a")),
     "steps", 10, "needs", NEEDS, "a → b → a"),
    ("a step stands in for itself", cell("steps", 8, "without_part", "fit-seal"),
     "steps", 8, "without_part", STAND_INS, "fit-seal → fit-seal"),
    ("two stand in for each other", added("steps.csv", step("a", "", "seal", "b") + step("b", "", "seal", "a")),
     "steps", 10, "without_part", STAND_INS, "a → b → a"),
    ("and one of them needs the other", added("steps.csv", step("a", "", "seal", "b") + step("b", "a", "seal", "a")),
     "steps", 10, "without_part", STAND_INS, "a → b → a"),
    ("what stands in needs what it stands in for", cell("steps", 7, "needs", "fit-seal"),
     "steps", 8, "without_part", WITHOUT, "cut-seal → cut-seal"),
    ("what stands in comes later", cell("steps", 7, "needs", "close"),
     "steps", 8, "without_part", WITHOUT, "cut-seal → close → cut-seal"),
    ("what replaces needs what it replaces", cell("findings", 4, "replaces", "warm:open"),
     "findings", 4, "replaces", REPLACED, "open → open"),
    ("what replaces comes later", cell("findings", 4, "replaces", "warm:close"),
     "findings", 4, "replaces", REPLACED, "close → fit-seal → open → close"),
    ("only two replacements together", all_of(FOUR_STEPS, cell("findings", 4, "replaces", "a:d c:b")),
     "findings", 4, "replaces", REPLACED, "d → b → d"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("change", "table", "row", "column", "message", "value"),
    [case[1:] for case in CIRCLES],
    ids=[c[0] for c in CIRCLES],
)
def test_a_circle_is_one_flaw_that_shows_it(
    flaws_with: Callable[..., list[Flaw]], change: Change, table: str, row: int, column: str, message: str, value: str
):
    """At the step where it begins, or at the finding or stand-in that closes it."""
    flaw = the_one(flaws_with(change))
    assert (flaw.table, flaw.row, flaw.column, flaw.message, flaw.value) == (table, row, column, message, value)


@pytest.mark.parametrize(
    "change",
    [
        cell("findings", 4, "replaces", "open:cold-open"),
        cell("findings", 4, "replaces", "warm:warm"),
        cell("findings", 4, "replaces", "warm:cold-open cold-open:warm"),
        cell("findings", 4, "replaces", "close:warm"),
        cell("steps", 7, "needs", "warm cold-open"),
        added("steps.csv", step("a", "open warm open") + step("b", "a open")),
    ],
)
def test_steps_that_merely_share_or_swap_what_they_need_are_no_flaw(
    flaws_with: Callable[..., list[Flaw]], change: Change
):
    """A need that is reached on two ways is no circle."""
    assert flaws_with(change) == []


def test_circles_that_do_not_touch_are_a_flaw_each(flaws_with: Callable[..., list[Flaw]]):
    """And those of stand-ins and findings are seen beside those of needs."""
    rows = step("a", "b") + step("b", "a") + step("c", "d") + step("d", "c") + step("e", "f a") + step("f", "e")
    found = flaws_with(
        added("steps.csv", rows), cell("steps", 7, "needs", "close"), cell("findings", 4, "replaces", "warm:close")
    )
    assert [(flaw.table, flaw.row) for flaw in found] == [
        ("steps", 8),
        ("steps", 10),
        ("steps", 12),
        ("steps", 14),
        ("findings", 4),
    ]


def test_of_circles_that_touch_one_is_shown(flaws_with: Callable[..., list[Flaw]]):
    """Taking it apart may be all that is needed."""
    rows = step("a", "b c") + step("b", "a") + step("c", "a b")
    assert the_one(flaws_with(added("steps.csv", rows))).value == "a → b → a"


def test_a_long_circle_is_shown_by_its_beginning_and_end(flaws_with: Callable[..., list[Flaw]]):
    """Ten steps, and where it closes."""
    rows = "".join(step(f"s{number}", f"s{(number + 1) % 40}") for number in range(40))
    flaw = the_one(flaws_with(added("steps.csv", rows)))
    assert flaw.value == "s0 → s1 → s2 → s3 → s4 → s5 → s6 → s7 → s8 → s9 → … → s0"


def test_a_chain_may_be_longer_than_the_program_could_call_itself(flaws_with: Callable[..., list[Flaw]]):
    """A thousand calls are Python's limit; a table may have more rows."""
    rows = "".join(step(f"s{number}", f"s{number + 1}") for number in range(5000)) + step("s5000", "")
    assert flaws_with(added("steps.csv", rows)) == []
    assert the_one(flaws_with(added("steps.csv", rows.replace("s5000,T,1,2,3,,,", "s5000,T,1,2,3,,s0,")))).row == 10


def test_a_book_too_tangled_to_be_searched_is_flawed(
    flaws_with: Callable[..., list[Flaw]], monkeypatch: pytest.MonkeyPatch
):
    """Rather than priced with unchecked, or searched for hours."""
    monkeypatch.setattr(check_steps, "MOST_VISITS", 1)
    assert the_one(flaws_with()).message == "too many steps to tell whether they wait for each other"


GRAPHS = st.dictionaries(st.integers(0, 7), st.lists(st.integers(0, 8), max_size=4))


def reached(needs: dict[str, tuple[str, ...]], start: str) -> set[str]:
    """Whatever is needed in the end, by the plainest of ways."""
    found: set[str] = set()
    waiting = [*needs.get(start, ())]
    while waiting:
        code = waiting.pop()
        if code not in found:
            found.add(code)
            waiting += needs.get(code, ())
    return found


@given(GRAPHS)
def test_circles_are_found_exactly_where_steps_need_themselves(graph: dict[int, list[int]]):
    """Each found one is a circle; none is found twice; each step that needs itself reaches one that was found."""
    needs = {str(code): tuple(map(str, wanted)) for code, wanted in graph.items()}
    found = list(circles(needs))
    for circle in found:
        assert circle[0] == circle[-1]
        assert all(need in needs[code] for code, need in pairwise(circle))
    inside = [code for circle in found for code in circle[1:]]
    assert len(inside) == len(set(inside))
    for code in needs:
        if code in reached(needs, code):
            assert reached(needs, code) & set(inside)
