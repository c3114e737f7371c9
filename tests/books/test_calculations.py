"""The owner's helpers against published examples of pricing, labour rates and break-even.

How sure a figure is: R read in the source named, R3 read in a page that is no authority, D calculated from such
figures, M from memory.
"""

from collections.abc import Callable
from decimal import Decimal, localcontext
from typing import Any

import pytest
from engine.calculator import worked_out
from hypothesis import given
from hypothesis import strategies as st

from quoter.books.calculations import (
    BreakEven,
    CalculationRefused,
    Conversion,
    HourlyRate,
    TargetPrice,
    break_even,
    hourly_rate,
    margin_of,
    markup_of,
    price_at_markup,
    price_for_margin,
)
from quoter.money import Currency

EUR = Currency("EUR", 2)
MILLIONTH = Decimal("0.000001")

Inputs = dict[str, Any]


def rate_of(currency: Currency = EUR, **given: str) -> HourlyRate:
    """The rate from inputs as text; what is not given is nothing, and of hours there is one."""
    nothing = ("on_costs", "yearly_overheads", "holiday_hours", "sick_hours", "not_chargeable")
    inputs: Inputs = {"yearly_wage": "0", "paid_hours": "1", **dict.fromkeys(nothing, "0"), **given}
    return hourly_rate(currency=currency, **{name: Decimal(value) for name, value in inputs.items()})


def break_even_of(fixed_costs: str, average_net: str, average_variable_cost: str) -> BreakEven:
    """Break-even in euro from inputs as text."""
    return break_even(
        fixed_costs=Decimal(fixed_costs),
        average_net=Decimal(average_net),
        average_variable_cost=Decimal(average_variable_cost),
        currency=EUR,
    )


def at_margin(cost: str, margin: str, currency: Currency = EUR) -> TargetPrice:
    """The price for a margin from inputs as text."""
    return price_for_margin(cost=Decimal(cost), margin=Decimal(margin), currency=currency)


def at_markup(cost: str, markup: str, currency: Currency = EUR) -> TargetPrice:
    """The price at a markup from inputs as text."""
    return price_at_markup(cost=Decimal(cost), markup=Decimal(markup), currency=currency)


def working_of(found: HourlyRate, name: str) -> Decimal:
    """The value of the one working of that name."""
    (value,) = (working.value for working in found.working if working.name == name)
    return value


# published examples


BICYCLE_SHOP = {"yearly_wage": "70000", "paid_hours": "2500", "profit": "5"}
ENGINE_SHOP = {"yearly_wage": "900000", "yearly_overheads": "450000", "paid_hours": "50000", "profit": "8"}
CHARGEABLE_HOURS = {
    "yearly_wage": "80000",
    "paid_hours": "2080",
    "holiday_hours": "240",  # 160 of one's own and 80 public
    "sick_hours": "40",
    "not_chargeable": "0.25",
}
CHARGE_OUT = {"yearly_wage": "36000", "on_costs": "0.04", "yearly_overheads": "20000", "paid_hours": "1380"}


@pytest.mark.parametrize(
    ("inputs", "rate", "source"),
    [
        (BICYCLE_SHOP, "33.00", "accountingdetails.com, time and material pricing, bicycle shop; R data, D result"),
        (ENGINE_SHOP, "35.00", "accountingdetails.com, time and material pricing, engine shop; R data, D result"),
        (CHARGEABLE_HOURS, "59.26", "ANZ Bank NZ, chargeable hours; R hours, D rate"),
        (CHARGE_OUT, "41.62", "full charge-out, before profit; R3"),
    ],
)
def test_the_hourly_rates_of_published_examples_come_out(inputs: Inputs, rate: str, source: str):
    """What an hour must be charged at, from wages, overheads and the hours that can be charged."""
    assert str(rate_of(**inputs).rate) == rate, source


@pytest.mark.parametrize(
    ("inputs", "hours", "parts", "markup", "total", "source"),
    [
        (BICYCLE_SHOP, "4", "200", "0.75", "482.00", "45,000 ÷ 75,000 + 15 % on parts; R data, D result"),
        (ENGINE_SHOP, "12", "100", "0.8", "600.00", "40 % + 40 % on parts; R data, D result"),
    ],
)
def test_a_job_of_time_and_material_costs_what_the_example_says(
    inputs: Inputs, hours: str, parts: str, markup: str, total: str, source: str
):
    """Hours at the rate, and the parts at their cost with its loading: accountingdetails.com, the same two shops."""
    job = Decimal(hours) * rate_of(**inputs).rate + at_markup(parts, markup).price
    assert str(job) == total, source


def test_only_chargeable_hours_carry_the_cost():
    """ANZ Bank NZ: 2,080 − 160 − 80 − 40 = 1,800, less 25 % = 1,350 [R]; 1,350 ÷ 2,080 = 64.9 % [D]."""
    found = rate_of(**CHARGEABLE_HOURS)
    assert working_of(found, "hours at work") == 1800
    assert str(found.chargeable_hours) == "1350"
    assert round(found.utilisation, 3) == Decimal("0.649")
    assert round(found.wage, 2) == Decimal("59.26")


def test_a_charge_out_rate_is_built_up_as_the_example_builds_it():
    """36,000 ÷ 1,380 = 26.09; with a levy of 4 % 27.13; overhead 20,000 ÷ 1,380 = 14.49; together 41.62 [R3]."""
    found = rate_of(**CHARGE_OUT)
    built = (found.wage, found.wage_with_on_costs, found.overhead, found.loaded_cost)
    assert [str(round(each, 2)) for each in built] == ["26.09", "27.13", "14.49", "41.62"]


@pytest.mark.parametrize(
    ("markup", "margin"),
    [
        ("0.20", "0.1667"),
        ("0.25", "0.2000"),
        ("0.333333333", "0.2500"),
        ("0.40", "0.2857"),
        ("0.50", "0.3333"),
        ("1.00", "0.5000"),
        ("1.50", "0.6000"),
        ("0", "0.0000"),
    ],
)
def test_a_markup_is_the_margin_of_the_published_table(markup: str, margin: str):
    """Margin = markup ÷ (1 + markup): the table of tax-and-money.md, section 7 [D], and nothing for nothing."""
    there = margin_of(Decimal(markup))
    assert f"{there.margin:.4f}" == margin
    back = markup_of(there.margin)
    assert abs(back.markup - Decimal(markup)) < Decimal("0.00001")
    assert (there.markup, back.margin) == (Decimal(markup), there.margin)


@pytest.mark.parametrize(
    ("helper", "cost", "share", "price", "profit", "markup", "margin", "source"),
    [
        (at_markup, "50", "0.4", "70.00", "20", "0.4", "0.286", "posapt.au; R3"),
        (at_markup, "5", "1", "10.00", "5", "1", "0.5", "skillmaker.edu.au; R3"),
        (at_margin, "5", "0.5", "10.00", "5", "1", "0.5", "skillmaker.edu.au: 5 ÷ (1 − 0.5); R3"),
        (at_markup, "4.00", "0.25", "5.00", "1", "0.25", "0.2", "price R3, margin D"),
        (at_margin, "27.40", "0.2", "34.25", "6.85", "0.25", "0.2", "connollysbs.com.au, corrected; D"),
        (at_markup, "27.40", "0.2", "32.88", "5.48", "0.2", "0.167", "connollysbs.com.au, price R3, margin D"),
    ],
)
def test_prices_for_a_margin_or_at_a_markup_are_the_published_ones(
    helper: Callable[[str, str], TargetPrice],
    cost: str,
    share: str,
    price: str,
    profit: str,
    markup: str,
    margin: str,
    source: str,
):
    """The price, what it leaves, and both shares. 20 % added to a cost is not a margin of 20 %, as one page has it."""
    found = helper(cost, share)
    assert str(found.price) == price, source
    assert (found.profit, found.markup) == (Decimal(profit), Decimal(markup)), source
    assert round(found.margin, 3) == Decimal(margin), source


@pytest.mark.parametrize(
    ("fixed", "net", "variable", "contribution", "jobs", "revenue", "source"),
    [
        ("20000", "400", "250", "150", 134, "53600.00", "psu.pb.unizin.org ACCTG 211, 7.2; R data, D result"),
        ("18000", "100", "20", "80", 225, "22500.00", "OpenStax, 3.2; M"),
        ("0", "100", "20", "80", 0, "0.00", "by hand: nothing to carry"),
        ("80.01", "100", "20", "80", 2, "200.00", "by hand: a cent more than one job carries"),
        ("80", "100", "20", "80", 1, "100.00", "by hand: exactly one job"),
    ],
)
def test_break_even_is_where_the_published_examples_have_it(
    fixed: str, net: str, variable: str, contribution: str, jobs: int, revenue: str, source: str
):
    """Fixed costs over what a job contributes, rounded up to a whole job, and the revenue there."""
    found = break_even_of(fixed, net, variable)
    assert found.contribution == Decimal(contribution), source
    assert (found.jobs, str(found.revenue)) == (jobs, revenue), source


@pytest.mark.parametrize(
    ("wanted", "rate"),
    [
        ({}, "40.00"),
        ({"margin": "0.2"}, "50.00"),  # 40 ÷ 0.8
        ({"margin": "0"}, "40.00"),
        ({"profit": "7.50"}, "47.50"),
        ({"profit": "0"}, "40.00"),
    ],
)
def test_the_rate_is_for_a_margin_or_for_a_profit_an_hour(wanted: Inputs, rate: str):
    """A loaded cost of 40 an hour (by hand: 30,000 and 10,000 over 1,000 hours)."""
    found = rate_of(yearly_wage="30000", yearly_overheads="10000", paid_hours="1000", **wanted)
    assert (found.loaded_cost, str(found.rate)) == (40, rate)


@pytest.mark.parametrize(
    ("currency", "cost", "margin", "price"),
    [
        (EUR, "0.1", "0.2", "0.13"),  # 0.125, a tie: away from zero
        (Currency("JPY", 0), "100", "0.2", "125"),
        (Currency("JPY", 0), "101", "0.2", "126"),  # 126.25
        (Currency("KWD", 3), "1", "0.3", "1.429"),  # 1.428571
    ],
)
def test_money_is_rounded_to_the_currency_at_the_end(currency: Currency, cost: str, margin: str, price: str):
    """Half up, to the decimals that the currency has."""
    found = at_margin(cost, margin, currency)
    assert str(found.price) == price
    assert str(rate_of(currency, yearly_wage=cost, margin=margin).rate) == price


def test_the_callers_precision_does_not_matter():
    """The arithmetic is the project's own."""
    with localcontext(prec=3):
        assert str(rate_of(**CHARGE_OUT).rate) == "41.62"


# the working


@st.composite
def results(draw: Any) -> HourlyRate | TargetPrice | BreakEven | Conversion:
    """What any of the helpers makes of numbers that it accepts."""
    money = st.decimals(0, 1_000_000, places=2)
    share = st.decimals(0, "0.99", places=4)
    cost, markup, margin = draw(money), draw(share), draw(share)
    helper = draw(st.sampled_from(["hour", "margin", "markup", "even", "margin_of", "markup_of"]))
    if helper == "hour":
        wanted = draw(st.sampled_from([{}, {"margin": str(margin)}, {"profit": str(markup)}]))
        numbers = {"yearly_wage": cost, "yearly_overheads": draw(money), "on_costs": markup, "not_chargeable": margin}
        hours = {"paid_hours": "1800.5", "holiday_hours": "240", "sick_hours": str(draw(st.integers(0, 100)))}
        return rate_of(**{name: str(number) for name, number in numbers.items()}, **hours, **wanted)
    if helper == "even":
        variable = draw(st.decimals(0, 100, places=2))
        return break_even_of(str(cost), str(variable + draw(st.decimals("0.01", 100, places=2))), str(variable))
    calls: dict[str, Callable[[], TargetPrice | Conversion]] = {
        "margin": lambda: at_margin(str(cost), str(margin)),
        "markup": lambda: at_markup(str(cost), str(markup)),
        "margin_of": lambda: margin_of(markup),
        "markup_of": lambda: markup_of(margin),
    }
    return calls[helper]()


@given(results())
def test_every_working_can_be_redone_with_a_pocket_calculator(found: HourlyRate | TargetPrice | BreakEven | Conversion):
    """Each formula, with its numbers filled in, gives its value to 6 decimals, and money to the cent."""
    assert found.working
    for working in found.working:
        redone = worked_out(working.formula, EUR.digits)
        assert abs(redone - working.value) <= MILLIONTH / 2, working
        if working.name in ("rate", "price", "revenue"):
            assert redone == working.value


@given(results())
def test_every_figure_of_a_result_is_worked_or_was_given(found: HourlyRate | TargetPrice | BreakEven | Conversion):
    """No figure comes from nowhere: the last working of the main one is the main one."""
    values = {working.value for working in found.working}
    main = {HourlyRate: "rate", TargetPrice: "price", BreakEven: "jobs"}
    if type(found) in main:
        assert getattr(found, main[type(found)]) in values
    if isinstance(found, HourlyRate):
        assert {found.chargeable_hours, found.utilisation, found.wage, found.overhead, found.loaded_cost} <= values


def test_the_working_names_every_step_with_its_numbers():
    """What the owner reads beside the rate."""
    assert [(each.name, each.formula, str(each.value)) for each in rate_of(**CHARGE_OUT).working] == [
        ("hours at work", "1380 − 0 − 0", "1380"),
        ("chargeable hours", "1380 × (1 − 0)", "1380"),
        ("wage an hour", "36000 ÷ 1380", "26.086957"),
        ("wage with on-costs an hour", "26.086957 × (1 + 0.04)", "27.130435"),
        ("overhead an hour", "20000 ÷ 1380", "14.492754"),
        ("loaded cost an hour", "27.130435 + 14.492754", "41.623189"),
        ("utilisation", "1380 ÷ 1380", "1"),
        ("rate", "round(41.623189)", "41.62"),
    ]


# what cannot be worked with


def pointers(call: Callable[[], object]) -> list[tuple[str, str]]:
    """Where and why it is refused. Fails where it is not."""
    with pytest.raises(CalculationRefused) as refused:
        call()
    return [(refusal.pointer, refusal.reason) for refusal in refused.value.refusals]


@pytest.mark.parametrize(
    ("inputs", "field"),
    [
        ({"paid_hours": "0"}, "paid_hours"),
        ({"paid_hours": "280", "holiday_hours": "200", "sick_hours": "80"}, "paid_hours"),
        ({"paid_hours": "100", "holiday_hours": "101"}, "paid_hours"),
        ({"paid_hours": "0.000001", "not_chargeable": "0.9"}, "paid_hours"),  # a tenth of a millionth settles to none
        ({"not_chargeable": "1"}, "not_chargeable"),
        ({"not_chargeable": "25"}, "not_chargeable"),
        ({"sick_hours": "-1"}, "sick_hours"),
        ({"on_costs": "-0.1"}, "on_costs"),
        ({"yearly_wage": "NaN"}, "yearly_wage"),
        ({"yearly_overheads": "Infinity"}, "yearly_overheads"),
        ({"yearly_wage": "1000000000000"}, "yearly_wage"),
        ({"yearly_wage": "0.0000000001"}, "yearly_wage"),
        ({"yearly_wage": "1E-999999"}, "yearly_wage"),
        ({"margin": "1"}, "margin"),
        ({"profit": "-1"}, "profit"),
    ],
)
def test_hours_and_shares_that_make_no_sense_are_refused_where_they_stand(inputs: Inputs, field: str):
    """Nothing to charge for, shares of one and more, and what is no number of a shop."""
    assert pointers(lambda: rate_of(**inputs)) == [(f"/{field}", "out-of-range")]


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: at_margin("10", "1"), "margin"),
        (lambda: at_margin("10", "-0.1"), "margin"),
        (lambda: at_margin("-1", "0.1"), "cost"),
        (lambda: at_markup("10", "-0.5"), "markup"),
        (lambda: markup_of(Decimal(1)), "margin"),
        (lambda: margin_of(Decimal(-1)), "markup"),
        (lambda: break_even_of("100", "20", "20"), "average_variable_cost"),
        (lambda: break_even_of("0", "20", "21"), "average_variable_cost"),
        (lambda: break_even_of("-1", "20", "10"), "fixed_costs"),
        (lambda: break_even_of("1", "sNaN", "10"), "average_net"),
    ],
)
def test_prices_and_jobs_that_cannot_be_are_refused_where_they_stand(call: Callable[[], object], field: str):
    """A margin of all the price, a job that costs what it brings in, and amounts below nothing."""
    assert pointers(call) == [(f"/{field}", "out-of-range")]


def test_everything_that_is_wrong_is_told_at_once():
    """Not the first input alone."""
    found = pointers(lambda: rate_of(yearly_wage="-1", sick_hours="NaN", not_chargeable="2", margin="1"))
    assert [pointer for pointer, _ in found] == ["/yearly_wage", "/sick_hours", "/not_chargeable", "/margin"]


def test_a_margin_and_a_profit_an_hour_exclude_each_other():
    """Either would give another rate."""
    assert pointers(lambda: rate_of(margin="0.1", profit="5")) == [("/profit", "contradiction")]


@pytest.mark.parametrize(
    ("call", "detail", "right"),
    [
        (lambda: at_margin("10", "1.5"), "margin is a share from 0 to below 1 (0.25 is 25 %)", "from 0 to below 1"),
        (
            lambda: at_margin("-1", "0.5"),
            "cost is not a number that makes sense here",
            "from 0 to 999999999999, with at most 9 decimals",
        ),
        (
            lambda: rate_of(paid_hours="280", holiday_hours="200", sick_hours="80"),
            "280 paid hours leave no hour that could be charged",
            "more than the 280 lost to holidays and sick leave",
        ),
        (
            lambda: break_even_of("100", "20", "25"),
            "a job must bring in more than it costs, or no number of them carries the fixed costs",
            "below 20",
        ),
    ],
)
def test_a_refusal_says_what_would_be_right(call: Callable[[], object], detail: str, right: str):
    """In words, for the form that asked."""
    with pytest.raises(CalculationRefused) as refused:
        call()
    (refusal,) = refused.value.refusals
    assert (refusal.detail, refusal.allowed) == (detail, (right,))
    assert str(refused.value) == detail
    assert (refused.value.code, bool(refused.value.title)) == ("calculation-refused", True)


def test_what_outgrows_the_arithmetic_is_refused_and_never_cut_off():
    """A huge wage over a millionth of an hour, for hardly anything but margin."""
    huge = {"yearly_wage": "999999999999", "paid_hours": "0.000001", "on_costs": "99999", "margin": "0.999999999"}
    assert pointers(lambda: rate_of(**huge)) == [("", "out-of-range")]
