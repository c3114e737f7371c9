"""A job of a book as the numbers that bare arithmetic starts from."""

from decimal import Decimal

from benchmarks.bare import BareConsumable, BareFinding, BareJob, BarePart, BareRates, BareStep
from quoter.book import RateBook
from quoter.engine.consumables import BASES, Uses, uses_of
from quoter.engine.parts import exchange_rate
from quoter.engine.plan import Plan, planned
from quoter.engine.tax import tax_rules
from quoter.job import Job
from quoter.money import ZERO


def bare_job(job: Job, book: RateBook) -> BareJob:
    """The numbers of a planned job. The book must be one whose prices end upwards and whose tax is of stage rate."""
    work, device = planned(job, book), book.devices[job.device]
    return BareJob(
        size=(device.width_mm, device.height_mm, device.corner_mm),
        parts=tuple(BarePart(part.cost, exchange_rate(part, book), part.freight) for part in work.parts),
        consumables=tuple(_consumable(code, uses, book) for code, uses in uses_of(book, work.plan)),
        steps=tuple(_step(place, work.plan) for place in range(len(work.plan.steps))),
        hourly_rates=tuple(repair.difficulty.hourly_rate for repair in work.plan.repairs),
        findings=tuple(
            BareFinding(finding.charge, finding.chance, finding.consequence, finding.disposal)
            for finding in work.plan.findings
        ),
        rates=_rates(job, book),
    )


def _consumable(code: str, uses: Uses, book: RateBook) -> BareConsumable:
    item = book.consumables[code]
    return BareConsumable(
        uses=tuple((BASES.index(book.usage[row].basis), book.usage[row].quantity) for row in uses),
        waste=item.waste,
        pack_price=item.pack_price,
        pack_size=item.pack_size,
        increment=item.increment,
    )


def _step(place: int, plan: Plan) -> BareStep:
    step, repair = plan.steps[place], plan.repairs[plan.owners[place]]
    affecting = (finding for finding in repair.findings if not finding.affects or step.code in finding.affects)
    factors = (repair.difficulty.time_factor, *(finding.time_factor for finding in affecting))
    return BareStep(step.low, step.likely, step.high, step.dwell, factors, plan.owners[place])


def _rates(job: Job, book: RateBook) -> BareRates:
    policy, rates = book.policy, tax_rules(book, job.date).rates
    return BareRates(
        z=policy.z,
        allowance=policy.allowance,
        increment_minutes=policy.increment_minutes,
        bench_rate=policy.bench_rate,
        bands=tuple((band.upto, band.rate) for band in policy.parts_markup),
        consumables_markup=policy.consumables_markup,
        risk_loading=policy.risk_loading,
        ending_unit=policy.price_ending.unit,
        ending_minus=policy.price_ending.minus,
        tax_rates=(_sum_of(rates[book.tax.lines["part"]]), _sum_of(rates[book.tax.lines["labour"]])),
        minor_unit=book.currency.unit,
    )


def _sum_of(components: tuple[tuple[str, Decimal], ...]) -> Decimal:
    return sum((rate for _, rate in components), ZERO)
