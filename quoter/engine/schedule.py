"""Elapsed time: when a job is done if one pair of hands does it."""

from decimal import Decimal

from quoter.book import RateBook
from quoter.engine.labour import efforts_of
from quoter.engine.memory import remembered
from quoter.engine.plan import Plan
from quoter.money import ZERO


@remembered
def elapsed_minutes(book: RateBook, plan: Plan) -> Decimal:
    """The moment the last step ends, its dwell included, working with expected minutes.

    Whenever the hands are free they take, of the steps whose needs are all finished (dwell included), the first in
    plan order; if there is none, they wait until one is.
    """
    minutes = [effort.expected_minutes for effort in efforts_of(book, plan).steps]
    finished: dict[int, Decimal] = {}
    waiting = list(range(len(plan.steps)))
    now = ZERO
    while waiting:
        starts = {step: _ready_at(plan.needs[step], finished) for step in waiting if _can_start(plan, step, finished)}
        step = next((step for step, ready in starts.items() if ready <= now), None)
        if step is None:
            now = min(starts.values())
            continue
        now += minutes[step]
        finished[step] = now + plan.steps[step].dwell
        waiting.remove(step)
    return max(finished.values(), default=ZERO)


def _can_start(plan: Plan, step: int, finished: dict[int, Decimal]) -> bool:
    """Its needs have all been worked on; they may still dwell."""
    return all(need in finished for need in plan.needs[step])


def _ready_at(needs: tuple[int, ...], finished: dict[int, Decimal]) -> Decimal:
    return max((finished[need] for need in needs), default=ZERO)
