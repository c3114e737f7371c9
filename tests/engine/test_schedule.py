"""Elapsed time: one pair of hands, steps that wait (rule 6, Time)."""

import pytest
from builders import a_book, a_row, a_step, quoted

from quoter.engine.compose import time_of
from quoter.engine.plan import plan_of
from quoter.quote import Time


def time_of_steps(*steps: dict, **settings: object) -> Time:
    """The time of a job of all these steps."""
    book = a_book(
        steps=steps,
        procedures=[a_row("a", goals=" ".join(step["code"] for step in steps))],
        parts=[],
        settings={f"labour.{key}": value for key, value in settings.items()},
    )
    return quoted(book, repairs=["a"]).time


@pytest.mark.parametrize(
    ("steps", "elapsed"),
    [
        # one after the other, the last one's dwell included
        ([a_step("s", 10), a_step("t", 5, dwell=7)], 22),
        # while s dwells, t is done: 10, 15; s is ready at 30
        ([a_step("s", 10, dwell=20), a_step("t", 5)], 30),
        # while s dwells, t is done; u waits for s until 30, then 4 more
        ([a_step("s", 10, dwell=20), a_step("t", 5), a_step("u", 4, needs="s")], 34),
        # t takes longer than s dwells: no waiting
        ([a_step("s", 10, dwell=3), a_step("t", 5), a_step("u", 4, needs="s")], 19),
        # hands free at 10: v is ready, t not before 12, so v is taken though it stands later in the table
        ([a_step("s", 10, dwell=2), a_step("t", 5, needs="s"), a_step("v", 4)], 19),
        # exactly ready when hands are free: t at 12, after v of 2 minutes; t before w
        ([a_step("s", 10, dwell=2), a_step("t", 5, needs="s"), a_step("v", 2), a_step("w", 1, dwell=9)], 27),
        # two dwells at once: s to 11, t to 12; u needs both
        ([a_step("s", 1, dwell=10), a_step("t", 1, dwell=10), a_step("u", 1, needs="s t")], 13),
        # they wait for the first that is ready: u at 11, not v at 22
        (
            [a_step("s", 1, dwell=10), a_step("t", 1, dwell=20), a_step("v", 1, needs="t"), a_step("u", 1, needs="s")],
            23,
        ),
        ([a_step("s", 0)], 0),
    ],
)
def test_hands_take_the_first_step_that_is_ready_and_wait_if_there_is_none(steps: list[dict], elapsed: int):
    """Worked by hand, minute by minute."""
    assert time_of_steps(*steps).elapsed_minutes == elapsed


def test_the_hands_work_with_expected_minutes_and_allowance():
    """(5 + 4 × 8 + 17) ÷ 6 × 1.1 = 9.9, whatever the confidence; dwell has no allowance."""
    time = time_of_steps(a_step("s", (5, 8, 17), dwell=3), confidence="0.9", allowance="0.1")
    assert (str(time.expected_minutes), str(time.elapsed_minutes)) == ("9.900000", "12.900000")
    assert time.quoted_minutes > time.expected_minutes


def test_a_saved_step_is_not_waited_for():
    """What the part saves dwells for nobody."""
    steps = [a_step("glue", 2, dwell=30), a_step("fit-battery", 10, needs="glue", slot="battery")]
    procedures = [a_row("battery", slot="battery", goals="fit-battery")]
    times = [
        quoted(a_book(steps=steps, procedures=procedures, parts=[{"sku": "B1", "saves": saves}])).time.elapsed_minutes
        for saves in ("", "glue")
    ]
    assert times == [42, 10]


def test_a_plan_without_steps_takes_no_time():
    """A part that saves the only step there is."""
    steps = [a_step("fit", 10, slot="battery")]
    book = a_book(
        steps=steps,
        procedures=[a_row("battery", slot="battery", goals="fit")],
        parts=[{"sku": "B1", "saves": "fit"}],
    )
    quote = quoted(book)
    assert (quote.lines, quote.plan, quote.time.elapsed_minutes, quote.totals.gross) == ((), (), 0, 0)
    assert quote.economics.margin is None
    plan = plan_of(book, (book.offered["slate"]["battery"],), (), (("battery", ("fit",)),))
    assert time_of(plan, book).elapsed_minutes == 0
