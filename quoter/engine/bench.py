"""Bench time: the device dwells on the bench while nobody works on it."""

from decimal import Decimal

from quoter.book import RateBook
from quoter.engine.memory import remembered
from quoter.engine.plan import Plan
from quoter.messages import Message
from quoter.money import ZERO
from quoter.quote import Cell, Charge, Derivation, Working, shown


@remembered
def dwell_minutes(book: RateBook, plan: Plan) -> Decimal:
    """The sum of the steps' dwell. It is never scaled, and is not labour."""
    return sum((step.dwell for step in plan.steps), ZERO)


@remembered
def bench_charges(book: RateBook, plan: Plan) -> tuple[Charge, ...]:
    """One, of dwell / 60 x bench rate, where that is above zero."""
    dwell, rate = dwell_minutes(book, plan), book.policy.bench_rate
    if dwell * rate <= ZERO:
        return ()
    net = book.currency.round(dwell / 60 * rate)
    waits = [step for step in plan.steps if step.dwell]
    working = (
        Working("dwell", " + ".join(shown(step.dwell) for step in waits), dwell),
        Working("net", f"round({shown(dwell)} ÷ 60 × {shown(rate)})", net),
    )
    cells = (
        *(Cell("steps", step.code, "dwell", str(step.dwell)) for step in waits),
        Cell("book", "labour", "bench_rate", str(rate)),
    )
    charge = Charge(
        kind="bench",
        ref="",
        description=Message("Bench time"),
        quantity=dwell,
        unit="min",
        unit_price=rate / 60,
        net=net,
        because=Derivation.of("bench", cells, working),
    )
    return (charge,)
