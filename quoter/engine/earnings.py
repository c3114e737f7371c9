"""What a job brings in and what it costs, without the rest of its quote: for whoever prices very many."""

from dataclasses import dataclass
from decimal import Decimal

from quoter.book import RateBook
from quoter.engine.arithmetic import arithmetic
from quoter.engine.economics import economics
from quoter.engine.price import price
from quoter.engine.refusals import check_job
from quoter.job import Job


@dataclass(frozen=True, slots=True)
class Earning:
    """For the owner's eyes: `cost` and `margin` to 6 decimals, `margin` None on a net of nothing."""

    net: Decimal
    gross: Decimal
    cost: Decimal
    margin: Decimal | None
    below_floor: bool


def earning_of(job: Job, book: RateBook) -> Earning:
    """The totals and the economics that the job's quote has. Raises JobRefused where there would be no quote."""
    with arithmetic():
        check_job(job, book)
        base = price(job, book)
        figures = economics(base, book)
    return Earning(base.totals.net, base.totals.gross, figures.cost, figures.margin, figures.below_floor)
