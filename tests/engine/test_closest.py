"""The price ending against brute force: no net comes closer to the price asked for, and none as close is smaller.

The tax is worked out here with fractions, apart from the engine.
"""

from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Any, NamedTuple

from builders import tax_rules_of
from hypothesis import given
from hypothesis import strategies as st

from quoter.engine.adjustments import closest
from quoter.engine.tax import TaxRules, tax_total
from quoter.money import ROUNDING_MODES

from .random_books import amounts, one_of

HALF = Fraction(1, 2)
WINDOW = 60
"""Minor units of net to either side: more than the gross is moved by, as no rate is below zero."""


class Ending(NamedTuple):
    """Rules as a profile and as plain words, the amounts so far in minor units, and how far the gross should move."""

    rules: TaxRules
    stage: str
    mode: str
    rates: dict[str, list[Fraction]]
    nets: list[tuple[str, int]]
    move: Fraction


def rounded(value: Fraction, mode: str) -> int:
    """To a whole number by the mode's definition, mirrored below zero."""
    sign, size = (-1 if value < 0 else 1), abs(value)
    whole, rest = floor(size), size - floor(size)
    up = {
        "up": rest > 0,
        "down": False,
        "half-up": rest >= HALF,
        "half-down": rest > HALF,
        "half-even": rest > HALF or (rest == HALF and whole % 2 == 1),
    }[mode]
    return sign * (whole + up)


def tax_of(nets: list[tuple[str, int]], ending: Ending) -> int:
    """The tax in minor units, by the law's three stages. `rates` are already added up where they are combined."""
    if ending.stage == "line":
        return sum(rounded(net * rate, ending.mode) for code, net in nets for rate in ending.rates[code])
    sums = {code: sum(net for other, net in nets if other == code) for code, _ in nets}
    if ending.stage == "rate":
        return sum(rounded(sums[code] * rate, ending.mode) for code in sums for rate in ending.rates[code])
    places = range(max(len(rates) for rates in ending.rates.values()))
    by_component = [sum(sums[code] * rate for code in sums for rate in ending.rates[code][n : n + 1]) for n in places]
    return sum(rounded(Fraction(tax), ending.mode) for tax in by_component)


@st.composite
def endings(draw: Any) -> Ending:
    """One or two components, one or two codes, up to four amounts, in every stage, mode and number of decimals."""
    stage, mode, combined = draw(one_of("line", "rate", "document")), draw(one_of(*ROUNDING_MODES)), draw(st.booleans())
    digits, components = draw(one_of(0, 2, 3)), draw(one_of("A", "AB"))
    text = {code: {name: draw(amounts(1, 5)) for name in components} for code in ("labour", "other")}
    rates = {code: [Fraction(rate) for rate in each.values()] for code, each in text.items()}
    return Ending(
        rules=tax_rules_of(rates=text, stage=stage, mode=mode, combined=combined, digits=digits),
        stage=stage,
        mode=mode,
        rates={code: [sum(each)] for code, each in rates.items()} if combined else rates,
        nets=draw(st.lists(st.tuples(one_of("labour", "other"), st.integers(-500, 9999)), max_size=4)),
        move=draw(st.integers(-500, 500)) / Fraction(draw(one_of(10, 20))),
    )


@given(endings())
def test_the_ending_is_the_attainable_gross_closest_to_the_price_asked_for(ending: Ending):
    """Tried with every net of a window; on a tie the smaller change."""
    gross = sum(net for _, net in ending.nets) + tax_of(ending.nets, ending)
    wanted = gross + ending.move

    def reached(net: int) -> int:
        nets = [*ending.nets, ("labour", net)]
        return sum(each for _, each in nets) + tax_of(nets, ending)

    best = min(range(-WINDOW, WINDOW + 1), key=lambda net: (abs(reached(net) - wanted), abs(net)))
    unit = ending.rules.unit
    found = closest(in_units(gross, unit), in_units(wanted, unit), decimals(ending), "labour", ending.rules)
    assert found == (best * unit, reached(best) * unit)


@given(endings())
def test_tax_is_what_fractions_make_of_it(ending: Ending):
    """The engine's decimals lose nothing against exact arithmetic, in every stage and mode."""
    assert tax_total(decimals(ending), ending.rules) == tax_of(ending.nets, ending) * ending.rules.unit


def decimals(ending: Ending) -> list[tuple[str, Decimal]]:
    """The amounts as the engine has them."""
    return [(code, net * ending.rules.unit) for code, net in ending.nets]


def in_units(value: Fraction | int, unit: Decimal) -> Decimal:
    """A number of minor units as an amount."""
    return Decimal(Fraction(value).numerator) / Decimal(Fraction(value).denominator) * unit
