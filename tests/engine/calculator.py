"""A pocket calculator for the formulas of a derivation. It shares no code with what wrote them.

    sum     = product { ("+" | "−") product }
    product = factor { ("×" | "÷") factor }
    factor  = ["−"] ( number | "(" sum ")" | function "(" sum ")" )

Functions: round (to the currency's decimals, half up), up (to 6 decimals, then to the next whole number), root (square
root), quantile (of the standard normal distribution, as tables give it), to 6 decimals. Numbers have a point and no
groups; a number that was negative brings its own "-".
"""

import re
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from statistics import NormalDist

SIGNS = re.compile(r"\s*(to 6 decimals|round|up|root|quantile|\d+(?:\.\d+)?|[-+−×÷()])")


class NotAFormula(Exception):
    """Something that a pocket calculator would not know what to do with."""


def worked_out(formula: str, digits: int) -> Decimal:
    """What a formula gives in a currency of so many decimals. Raises NotAFormula where it is none."""
    signs = _signs(formula)
    value = _sum(signs, digits)
    if signs:
        raise NotAFormula(f"{formula!r} goes on with {signs[0]!r}")
    return value


def to_decimals(value: Decimal, digits: int) -> Decimal:
    """Half up, ties away from zero."""
    return value.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP)


def _signs(formula: str) -> list[str]:
    signs, place = [], 0
    while place < len(formula.rstrip()):
        found = SIGNS.match(formula, place)
        if not found:
            raise NotAFormula(f"{formula!r} cannot be read at {formula[place:]!r}")
        signs.append(found[1].replace("-", "−"))
        place = found.end()
    return signs


def _sum(signs: list[str], digits: int) -> Decimal:
    value = _product(signs, digits)
    while signs and signs[0] in "+−":
        adds = signs.pop(0) == "+"
        right = _product(signs, digits)
        value = value + right if adds else value - right
    return value


def _product(signs: list[str], digits: int) -> Decimal:
    value = _factor(signs, digits)
    while signs and signs[0] in "×÷":
        multiplies = signs.pop(0) == "×"
        right = _factor(signs, digits)
        value = value * right if multiplies else value / right
    return value


def _factor(signs: list[str], digits: int) -> Decimal:
    sign = signs.pop(0) if signs else "nothing"
    if sign == "−":
        return -_factor(signs, digits)
    if sign[0].isdigit():
        return Decimal(sign)
    if sign == "(":
        return _bracketed(signs, digits)
    if sign in ("round", "up", "root", "quantile", "to 6 decimals") and signs and signs.pop(0) == "(":
        return _applied(sign, _bracketed(signs, digits), digits)
    raise NotAFormula(f"{sign!r} where a number should be")


def _bracketed(signs: list[str], digits: int) -> Decimal:
    value = _sum(signs, digits)
    if not signs or signs.pop(0) != ")":
        raise NotAFormula("a bracket is not closed")
    return value


def _applied(function: str, value: Decimal, digits: int) -> Decimal:
    if function == "root":
        return value.sqrt()
    if function == "quantile":
        return Decimal(NormalDist().inv_cdf(float(value)))
    if function == "round":
        return to_decimals(value, digits)
    settled = to_decimals(value, 6)
    return settled.to_integral_value(ROUND_CEILING) if function == "up" else settled
