"""Whatever is done to a quote in whatever order: nothing is lost, and nobody pays more than they agreed to."""

import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from quoter.problems import Problem
from quoter.records.quotes import Contact, IssuedQuote
from quoter.service.clock import stamp
from quoter.service.quotes.agreements import consent_needed, is_beyond

from .desk import DESK, LAW, SCREEN_TOO, Desk, a_desk

JOBS: list[dict[str, Any]] = [
    {"findings": []},
    {"findings": ["opened-before"]},
    {"findings": ["swollen-cell"]},
    {"findings": ["swollen-cell", "liquid"]},
    {"repairs": SCREEN_TOO},
    {"discount": {"rate": "0.05", "reason": ""}},
]
DECISIONS = st.tuples(
    st.sampled_from(["accepted", "accepted", "declined", "withdrawn"]),
    st.sampled_from(["price", "ceiling"]),
    st.booleans(),
)
MOVES = st.lists(
    st.one_of(
        st.tuples(st.just("revise"), st.sampled_from(JOBS)),
        st.tuples(st.just("decide"), DECISIONS),
        st.tuples(st.just("wait"), st.sampled_from([1, 20, 40])),
        st.tuples(st.just("contact"), st.sampled_from(["A", "B"])),
        st.tuples(st.just("link"), st.none()),
    ),
    min_size=3,
    max_size=12,
)


def moved(desk: Desk, seen: IssuedQuote, move: str, how: Any) -> None:
    """One move; a refusal is one of the things that may come of it."""
    try:
        if move == "revise":
            desk.revise(seen, **how)
        elif move == "decide":
            decision, up_to, right = how
            consent = consent_needed(seen) if right else None
            desk.decide(seen, decision, up_to=up_to, extra=consent.extra if consent else None)
        elif move == "contact":
            desk.quoting.change_contact(seen, Contact(name=how), DESK.name)
        elif move == "link":
            desk.quoting.replace_link(seen, DESK.name)
        else:
            desk.forward(days=how)
    except Problem:
        assert desk.quoting.get(seen.id) == seen


def check_step(desk: Desk, before: IssuedQuote, told: list[Any]) -> list[Any]:
    """What must hold after every move; gives the events so far."""
    after, events = desk.quoting.get(before.id), desk.quoting.history(before.id)
    assert events[: len(told)] == told
    assert [event.version for event in events] == list(range(1, after.version + 1))
    assert after.version - before.version in (0, 1)
    assert [each.revision for each in desk.quoting.revisions(before.id)] == list(range(1, after.revision + 1))
    if after.state_at(stamp(desk.time)) == "accepted":
        assert after.agreement is not None
        assert not is_beyond(after.agreement, after.result)
    if len(events) > len(told) and events[-1].kind == "accepted" and before.agreement:
        assert is_beyond(before.agreement, before.result) is ("extra" in events[-1].data)
    return events


@settings(max_examples=40)
@given(MOVES, st.booleans())
def test_a_life_keeps_its_promises(moves: list[tuple[str, Any]], with_law: bool):
    """Versions count by one, events stay, and beyond the limit nothing is accepted without its extra."""
    with tempfile.TemporaryDirectory() as folder, a_desk(Path(folder)) as desk:
        quote = desk.under(LAW) if with_law else desk.issue()
        told: list[Any] = []
        for move, how in moves:
            before = desk.quoting.get(quote.id)
            moved(desk, before, move, how)
            told = check_step(desk, before, told)
