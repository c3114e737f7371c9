"""The yardstick: a price as bare arithmetic, the numbers at hand and nothing kept but the totals.

It works out what a price needs and no more: landed cost and bands of each part, the device's geometry, each
consumable, mean and variance of each step, labour, bench, risk, disposal, price ending and tax at stage rate. What
it spares itself is all the rest that the engine does: plan, choice of parts, checks, formulas, sources of numbers.
`engine.py` sees to it that both come to the same cent.
"""

from collections.abc import Iterable
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import NamedTuple

from quoter.engine.consumables import PI

ZERO = Decimal(0)
ONE = Decimal(1)
TWO = Decimal(2)
FOUR = Decimal(4)
SIX = Decimal(6)
SIXTY = Decimal(60)
THOUSAND = Decimal(1000)
MILLIONTH = Decimal("0.000001")

GOODS, WORK = 0, 1


class BarePart(NamedTuple):
    """A part, the exchange rate of its currency included."""

    cost: Decimal
    fx: Decimal
    freight: Decimal


class BareConsumable(NamedTuple):
    """A consumable with what the steps use of it: (place of the basis among `_bases`, quantity)."""

    uses: tuple[tuple[int, Decimal], ...]
    waste: Decimal
    pack_price: Decimal
    pack_size: Decimal
    increment: Decimal | None


class BareStep(NamedTuple):
    """A step, the factors of its difficulty and its findings, and the place of the repair that owns it."""

    low: Decimal
    likely: Decimal
    high: Decimal
    dwell: Decimal
    factors: tuple[Decimal, ...]
    owner: int


class BareFinding(NamedTuple):
    """A finding's money."""

    charge: Decimal
    chance: Decimal
    consequence: Decimal
    disposal: Decimal


class BareRates(NamedTuple):
    """The book's numbers that every price needs."""

    z: Decimal
    allowance: Decimal
    increment_minutes: Decimal
    bench_rate: Decimal
    bands: tuple[tuple[Decimal | None, Decimal], ...]
    consumables_markup: Decimal
    risk_loading: Decimal
    ending_unit: Decimal
    ending_minus: Decimal
    tax_rates: tuple[Decimal, Decimal]
    minor_unit: Decimal


class BareJob(NamedTuple):
    """A planned job as numbers; `hourly_rates` by repair."""

    size: tuple[Decimal, Decimal, Decimal]
    parts: tuple[BarePart, ...]
    consumables: tuple[BareConsumable, ...]
    steps: tuple[BareStep, ...]
    hourly_rates: tuple[Decimal, ...]
    findings: tuple[BareFinding, ...]
    rates: BareRates


def bare_price(job: BareJob) -> tuple[Decimal, Decimal, Decimal]:
    """Net, tax and gross."""
    rates = job.rates
    nets = [
        _total([*_parts(job.parts, rates), *_consumables(job.consumables, _bases(*job.size), rates)]),
        _total([*_labour(job.steps, job.hourly_rates, rates), *_bench(job.steps, rates), *_risk(job.findings, rates)]),
    ]
    nets[WORK] += _ending(nets, rates)
    net, tax = _total(nets), _tax(nets, rates)
    return net, tax, net + tax


def _total(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, ZERO)


def _cents(amount: Decimal, rates: BareRates) -> Decimal:
    return amount.quantize(rates.minor_unit, ROUND_HALF_UP)


def _rounded_up(value: Decimal, step: Decimal) -> Decimal:
    return (value.quantize(MILLIONTH, ROUND_HALF_UP) / step).to_integral_value(ROUND_CEILING) * step


def _parts(parts: tuple[BarePart, ...], rates: BareRates) -> list[Decimal]:
    nets = []
    for cost, fx, freight in parts:
        landed = price = cost * fx + freight
        lower = ZERO
        for upto, rate in rates.bands:
            upper = landed if upto is None or landed < upto else upto
            price += rate * (upper - lower)
            if upto is None or landed <= upto:
                break
            lower = upto
        nets.append(_cents(price, rates))
    return nets


def _bases(width: Decimal, height: Decimal, corner: Decimal) -> tuple[Decimal, ...]:
    """Each, perimeter, long sides, short sides, area, as `quoter.engine.consumables.BASES`."""
    short, long = sorted((width / THOUSAND, height / THOUSAND))
    radius = corner / THOUSAND
    perimeter = TWO * (short + long) - 8 * radius + TWO * PI * radius
    area = short * long - (FOUR - PI) * radius * radius
    return ONE, perimeter, TWO * (long - TWO * radius), TWO * (short - TWO * radius), area


def _consumables(items: tuple[BareConsumable, ...], bases: tuple[Decimal, ...], rates: BareRates) -> list[Decimal]:
    nets = []
    for uses, waste, pack_price, pack_size, increment in items:
        needed = _total([bases[basis] * quantity for basis, quantity in uses]) / (ONE - waste)
        billed = needed.quantize(MILLIONTH, ROUND_HALF_UP) if increment is None else _rounded_up(needed, increment)
        nets.append(_cents(billed * (pack_price / pack_size * (ONE + rates.consumables_markup)), rates))
    return nets


def _labour(steps: tuple[BareStep, ...], hourly_rates: tuple[Decimal, ...], rates: BareRates) -> list[Decimal]:
    means, variances = [], []
    for low, likely, high, _, factors, _ in steps:
        factor = factors[0]
        for more in factors[1:]:
            factor *= more
        spread = factor * (high - low) / SIX
        means.append(factor * (low + FOUR * likely + high) / SIX)
        variances.append(spread * spread)
    total = _total(variances)
    reserve = rates.z * total.sqrt()
    minutes = [ZERO] * len(hourly_rates)
    for step, mean, variance in zip(steps, means, variances, strict=True):
        minutes[step.owner] += (ONE + rates.allowance) * (mean + reserve * variance / total)
    return [
        _cents(_rounded_up(each, rates.increment_minutes) / SIXTY * hourly, rates)
        for each, hourly in zip(minutes, hourly_rates, strict=True)
    ]


def _bench(steps: tuple[BareStep, ...], rates: BareRates) -> list[Decimal]:
    dwell = _total([step.dwell for step in steps])
    return [_cents(dwell / SIXTY * rates.bench_rate, rates)]


def _risk(findings: tuple[BareFinding, ...], rates: BareRates) -> list[Decimal]:
    risks = [charge + rates.risk_loading * chance * consequence for charge, chance, consequence, _ in findings]
    return [_cents(each, rates) for each in (*risks, *(finding.disposal for finding in findings))]


def _tax(nets: list[Decimal], rates: BareRates) -> Decimal:
    return _total([_cents(net * rate, rates) for net, rate in zip(nets, rates.tax_rates, strict=True)])


def _ending(nets: list[Decimal], rates: BareRates) -> Decimal:
    """Prices end upwards; where tax rounding skips the price, the closer of its neighbours."""
    net = _total(nets)
    gross = net + _tax(nets, rates)
    steps = ((gross + rates.ending_minus) / rates.ending_unit).to_integral_value(ROUND_CEILING)
    wanted = steps * rates.ending_unit - rates.ending_minus

    def reached(more: Decimal) -> Decimal:
        return net + more + _tax([nets[GOODS], nets[WORK] + more], rates)

    above = _cents((wanted - gross) / (ONE + rates.tax_rates[WORK]), rates)
    while (at := reached(above)) < wanted:
        above += rates.minor_unit
    while at > wanted:
        below = above - rates.minor_unit
        under = reached(below)
        if under < wanted:
            return below if wanted - under <= at - wanted else above
        above, at = below, under
    return above
