"""Currencies and the few roundings that a price is allowed to have."""

from dataclasses import dataclass, field
from decimal import (
    ROUND_CEILING,
    ROUND_DOWN,
    ROUND_HALF_DOWN,
    ROUND_HALF_EVEN,
    ROUND_HALF_UP,
    ROUND_UP,
    Context,
    Decimal,
)

ZERO = Decimal(0)
ONE = Decimal(1)

ARITHMETIC = Context(prec=28)
"""28 significant digits, as IEEE 754-2019's decimal128 all but has and Python's own context does.

Formulas are worked out in the order in which they are written: where a division does not come out even, two programs
agree on a tie only if they divide at the same place.
"""

ROUNDING_MODES = {
    "half-up": ROUND_HALF_UP,
    "half-down": ROUND_HALF_DOWN,
    "half-even": ROUND_HALF_EVEN,
    "down": ROUND_DOWN,
    "up": ROUND_UP,
}
"""The words of a tax profile. "Up" and "down" mean away from zero and towards it."""

_MILLIONTH = Decimal("0.000001")


@dataclass(frozen=True, slots=True)
class Currency:
    """An ISO 4217 currency; `digits` is the standard's own minor unit, `unit` one of it (0.01)."""

    code: str
    digits: int
    unit: Decimal = field(init=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "unit", ONE.scaleb(-self.digits))

    def round(self, amount: Decimal) -> Decimal:
        """To the minor unit, half up, ties away from zero."""
        return amount.quantize(self.unit, ROUND_HALF_UP)


def settled(value: Decimal) -> Decimal:
    """A quantity or minutes after a division or a root: 6 decimals, half up, so 5.0000000001 is 5."""
    return value.quantize(_MILLIONTH, ROUND_HALF_UP)


def rounded_up(value: Decimal, increment: Decimal) -> Decimal:
    """The smallest multiple of `increment` that is not below the settled value."""
    return (settled(value) / increment).to_integral_value(ROUND_CEILING) * increment
