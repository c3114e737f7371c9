"""What an owner would otherwise work out on paper before a number goes into the rate book. Pure.

    loaded cost an hour = wage x (1 + on-costs) / chargeable hours + overheads / chargeable hours
    price               = cost / (1 - margin) = cost x (1 + markup)
    break-even jobs     = fixed costs / (average net - average variable cost), rounded up

Shares and markups are fractions. Each step is settled to 6 decimals, and money is rounded to the currency at the end.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation, localcontext

from quoter.money import ARITHMETIC, ONE, ZERO, Currency, rounded_up, settled
from quoter.problems import CalculationRefused, Refusal
from quoter.quote import Working, shown

MOST = Decimal(999_999_999_999)
MOST_DECIMALS = 9
"""As many as a formula shows, so that it can be redone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HourlyRate:
    """What an hour costs the shop once everything is in it, and what it must then be charged at.

    `utilisation` is the share of the paid hours that is chargeable. All but the hours are for one chargeable hour.
    """

    chargeable_hours: Decimal
    utilisation: Decimal
    wage: Decimal
    wage_with_on_costs: Decimal
    overhead: Decimal
    loaded_cost: Decimal
    rate: Decimal
    working: tuple[Working, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Conversion:
    """One profit as a share of the cost (markup) and as a share of the price (margin)."""

    markup: Decimal
    margin: Decimal
    working: tuple[Working, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetPrice:
    """A price before tax, what it leaves beyond the cost, and that as markup and as margin before rounding."""

    price: Decimal
    profit: Decimal
    markup: Decimal
    margin: Decimal
    working: tuple[Working, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakEven:
    """How many jobs a month carry the fixed costs, what each contributes, and what they bring in before tax."""

    contribution: Decimal
    jobs: int
    revenue: Decimal
    working: tuple[Working, ...]


def hourly_rate(
    *,
    currency: Currency,
    yearly_wage: Decimal,
    on_costs: Decimal,
    yearly_overheads: Decimal,
    paid_hours: Decimal,
    holiday_hours: Decimal,
    sick_hours: Decimal,
    not_chargeable: Decimal,
    margin: Decimal | None = None,
    profit: Decimal | None = None,
) -> HourlyRate:
    """The rate for a wanted margin, or for a profit an hour, or (with neither) the one that just covers the cost.

    On-costs are a share of the wage, `not_chargeable` is one of the hours at work. Wages and hours are those of one
    person or of all. Cost over chargeable hours, not over paid ones.
    """
    with _reckoning() as sheet:
        sheet.check_amounts(yearly_wage=yearly_wage, on_costs=on_costs, yearly_overheads=yearly_overheads)
        sheet.check_hours(paid_hours, holiday_hours, sick_hours, not_chargeable)
        sheet.check_profit(margin, profit)
        sheet.refuse()
        hours = _chargeable_hours(sheet, paid_hours, holiday_hours, sick_hours, not_chargeable)
        wage, wage_with_on_costs, overhead, loaded = _loaded_cost(sheet, hours, yearly_wage, on_costs, yearly_overheads)
        return HourlyRate(
            chargeable_hours=hours,
            utilisation=sheet.put("utilisation", f"{shown(hours)} ÷ {shown(paid_hours)}", hours / paid_hours),
            wage=wage,
            wage_with_on_costs=wage_with_on_costs,
            overhead=overhead,
            loaded_cost=loaded,
            rate=_rate(sheet, loaded, margin, profit, currency),
            working=tuple(sheet.working),
        )


def markup_of(margin: Decimal) -> Conversion:
    """markup = margin / (1 - margin)."""
    with _reckoning() as sheet:
        sheet.check_share("margin", margin)
        sheet.refuse()
        return Conversion(markup=_markup(sheet, margin), margin=margin, working=tuple(sheet.working))


def margin_of(markup: Decimal) -> Conversion:
    """margin = markup / (1 + markup)."""
    with _reckoning() as sheet:
        sheet.check("markup", markup)
        sheet.refuse()
        return Conversion(markup=markup, margin=_margin(sheet, markup), working=tuple(sheet.working))


def price_for_margin(*, cost: Decimal, margin: Decimal, currency: Currency) -> TargetPrice:
    """price = cost / (1 - margin). Adding the margin's share of the cost would fall short of it."""
    with _reckoning() as sheet:
        sheet.check("cost", cost)
        sheet.check_share("margin", margin)
        sheet.refuse()
        price = sheet.put_money("price", f"{shown(cost)} ÷ (1 − {shown(margin)})", cost / (ONE - margin), currency)
        profit = sheet.put("profit", f"{shown(price)} − {shown(cost)}", price - cost)
        markup = _markup(sheet, margin)
        return TargetPrice(price=price, profit=profit, markup=markup, margin=margin, working=tuple(sheet.working))


def price_at_markup(*, cost: Decimal, markup: Decimal, currency: Currency) -> TargetPrice:
    """price = cost x (1 + markup)."""
    with _reckoning() as sheet:
        sheet.check_amounts(cost=cost, markup=markup)
        sheet.refuse()
        price = sheet.put_money("price", f"{shown(cost)} × (1 + {shown(markup)})", cost * (ONE + markup), currency)
        profit = sheet.put("profit", f"{shown(price)} − {shown(cost)}", price - cost)
        margin = _margin(sheet, markup)
        return TargetPrice(price=price, profit=profit, markup=markup, margin=margin, working=tuple(sheet.working))


def break_even(
    *, fixed_costs: Decimal, average_net: Decimal, average_variable_cost: Decimal, currency: Currency
) -> BreakEven:
    """Jobs a month = fixed costs of a month / (average net - average variable cost of a job), rounded up."""
    with _reckoning() as sheet:
        amounts = {"average_net": average_net, "average_variable_cost": average_variable_cost}
        sheet.check_amounts(fixed_costs=fixed_costs, **amounts)
        sheet.refuse()
        formula = f"{shown(average_net)} − {shown(average_variable_cost)}"
        contribution = sheet.put("contribution", formula, average_net - average_variable_cost)
        sheet.check_contribution(contribution, average_net)
        sheet.refuse()
        formula = f"up({shown(fixed_costs)} ÷ {shown(contribution)})"
        jobs = sheet.put("jobs", formula, rounded_up(fixed_costs / contribution, ONE))
        revenue = sheet.put_money("revenue", f"{shown(jobs)} × {shown(average_net)}", jobs * average_net, currency)
        return BreakEven(contribution=contribution, jobs=int(jobs), revenue=revenue, working=tuple(sheet.working))


class _Sheet:
    """The sheet of paper: what is written down, and what is wrong with the inputs."""

    def __init__(self) -> None:
        self.working: list[Working] = []
        self.refusals: list[Refusal] = []

    def put(self, name: str, formula: str, value: Decimal) -> Decimal:
        """Writes a step down and gives its value, settled and without trailing zeros."""
        value = Decimal(format(settled(value).normalize(), "f"))
        self.working.append(Working(name, formula, value))
        return value

    def put_money(self, name: str, formula: str, amount: Decimal, currency: Currency) -> Decimal:
        """Writes down an amount as it is charged: rounded, with all its decimals."""
        amount = currency.round(amount)
        self.working.append(Working(name, f"round({formula})", amount))
        return amount

    def refuse(self) -> None:
        """Raises CalculationRefused where anything is wrong."""
        if self.refusals:
            raise CalculationRefused(tuple(self.refusals))

    def check_amounts(self, **amounts: Decimal) -> None:
        """Several of them, by field."""
        for field, amount in amounts.items():
            self.check(field, amount)

    def check(self, field: str, value: Decimal) -> bool:
        """An amount, a number of hours or a markup: zero or more, of no more digits than can be shown."""
        right = f"from 0 to {MOST}, with at most {MOST_DECIMALS} decimals"
        is_right = value.is_finite() and ZERO <= value <= MOST and _decimals(value) <= MOST_DECIMALS
        return self._holds(is_right, field, f"{_name(field)} is not a number that makes sense here", right)

    def check_share(self, field: str, value: Decimal) -> bool:
        """A share: from zero to below one."""
        detail = f"{_name(field)} is a share from 0 to below 1 (0.25 is 25 %)"
        return self.check(field, value) and self._holds(value < ONE, field, detail, "from 0 to below 1")

    def check_hours(self, paid: Decimal, holidays: Decimal, sick: Decimal, not_chargeable: Decimal) -> None:
        """Something must be left to charge for."""
        hours = {"paid_hours": paid, "holiday_hours": holidays, "sick_hours": sick}
        readable = [self.check(field, value) for field, value in hours.items()]
        if all((*readable, self.check_share("not_chargeable", not_chargeable))):
            left = settled(settled(paid - holidays - sick) * (ONE - not_chargeable))
            detail = f"{shown(paid)} paid hours leave no hour that could be charged"
            lost = shown(holidays + sick)
            self._holds(left > ZERO, "paid_hours", detail, f"more than the {lost} lost to holidays and sick leave")

    def check_contribution(self, contribution: Decimal, average_net: Decimal) -> None:
        """A job must leave something towards the fixed costs."""
        detail = "a job must bring in more than it costs, or no number of them carries the fixed costs"
        self._holds(contribution > ZERO, "average_variable_cost", detail, f"below {shown(average_net)}")

    def check_profit(self, margin: Decimal | None, profit: Decimal | None) -> None:
        """At most one of the two ways to want a profit."""
        if margin is not None:
            self.check_share("margin", margin)
        if profit is not None:
            self.check("profit", profit)
        if margin is not None and profit is not None:
            detail = "a margin and a profit an hour exclude each other"
            self.refusals.append(Refusal("contradiction", "/profit", detail, ("one of the two",)))

    def _holds(self, is_right: bool, field: str, detail: str, right: str) -> bool:
        if not is_right:
            self.refusals.append(Refusal("out-of-range", f"/{field}", detail, (right,)))
        return is_right


def _name(field: str) -> str:
    return field.replace("_", " ")


def _decimals(value: Decimal) -> int:
    """The decimals of a finite number, as it is written."""
    exponent = value.as_tuple().exponent
    return -exponent if isinstance(exponent, int) else 0


@contextmanager
def _reckoning() -> Iterator[_Sheet]:
    """The project's own precision, whatever the caller's; a number that outgrows it is refused, never cut off."""
    try:
        with localcontext(ARITHMETIC):
            yield _Sheet()
    except InvalidOperation:
        detail = "what comes of these numbers has more digits than can be worked with"
        raise CalculationRefused((Refusal("out-of-range", "", detail),)) from None


def _chargeable_hours(
    sheet: _Sheet, paid: Decimal, holidays: Decimal, sick: Decimal, not_chargeable: Decimal
) -> Decimal:
    formula = f"{shown(paid)} − {shown(holidays)} − {shown(sick)}"
    at_work = sheet.put("hours at work", formula, paid - holidays - sick)
    formula = f"{shown(at_work)} × (1 − {shown(not_chargeable)})"
    return sheet.put("chargeable hours", formula, at_work * (ONE - not_chargeable))


def _loaded_cost(
    sheet: _Sheet, hours: Decimal, yearly_wage: Decimal, on_costs: Decimal, yearly_overheads: Decimal
) -> tuple[Decimal, Decimal, Decimal, Decimal]:
    """Wage, wage with on-costs, overhead and their sum, for a chargeable hour."""
    wage = sheet.put("wage an hour", f"{shown(yearly_wage)} ÷ {shown(hours)}", yearly_wage / hours)
    formula = f"{shown(wage)} × (1 + {shown(on_costs)})"
    with_on_costs = sheet.put("wage with on-costs an hour", formula, wage * (ONE + on_costs))
    formula = f"{shown(yearly_overheads)} ÷ {shown(hours)}"
    overhead = sheet.put("overhead an hour", formula, yearly_overheads / hours)
    loaded = sheet.put("loaded cost an hour", f"{shown(with_on_costs)} + {shown(overhead)}", with_on_costs + overhead)
    return wage, with_on_costs, overhead, loaded


def _rate(
    sheet: _Sheet, loaded: Decimal, margin: Decimal | None, profit: Decimal | None, currency: Currency
) -> Decimal:
    if margin is not None:
        formula, rate = f"{shown(loaded)} ÷ (1 − {shown(margin)})", loaded / (ONE - margin)
    elif profit is not None:
        formula, rate = f"{shown(loaded)} + {shown(profit)}", loaded + profit
    else:
        formula, rate = shown(loaded), loaded
    return sheet.put_money("rate", formula, rate, currency)


def _markup(sheet: _Sheet, margin: Decimal) -> Decimal:
    return sheet.put("markup", f"{shown(margin)} ÷ (1 − {shown(margin)})", margin / (ONE - margin))


def _margin(sheet: _Sheet, markup: Decimal) -> Decimal:
    return sheet.put("margin", f"{shown(markup)} ÷ (1 + {shown(markup)})", markup / (ONE + markup))
