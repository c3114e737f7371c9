"""Cost, margin and floor of a price. Never shown to a customer."""

from decimal import Decimal

from quoter.book import RateBook
from quoter.engine.labour import minutes_by_repair
from quoter.engine.parts import landed_cost
from quoter.engine.plan import PlannedJob
from quoter.engine.price import Price
from quoter.engine.risk import expected_loss
from quoter.money import ONE, ZERO, settled
from quoter.quote import Economics


def economics(base: Price, book: RateBook) -> Economics:
    """margin = (net - cost) / net; floor = cost / (1 - minimum margin); a net below the floor is marked."""
    cost, net = cost_of(base, book), base.totals.net
    floor = cost / (ONE - book.policy.minimum_margin)
    return Economics(
        cost=settled(cost),
        margin=settled((net - cost) / net) if net else None,
        floor=settled(floor),
        below_floor=net < floor,
    )


def cost_of(base: Price, book: RateBook) -> Decimal:
    """Landed parts + consumables and labour at cost + disposal + expected losses + warranty reserve."""
    charged = sum((line.charge.cost for line in base.lines), ZERO)
    losses = sum((expected_loss(finding) for finding in base.work.plan.findings), ZERO)
    return charged + losses + warranty_reserve(base.work, book)


def warranty_reserve(work: PlannedJob, book: RateBook) -> Decimal:
    """Sum over repairs of the main part's failure rate x (its landed cost + the repair's labour at cost)."""
    reserve = ZERO
    for repair, minutes in zip(work.plan.repairs, minutes_by_repair(book, work.plan), strict=True):
        part = work.main_part(repair)
        if part:
            labour = minutes / 60 * repair.difficulty.hourly_cost
            reserve += part.failure_rate * (landed_cost(part, book) + labour)
    return reserve
