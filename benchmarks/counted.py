"""Counts the operations of bare arithmetic by running it once with decimals that keep a tally."""

from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from benchmarks.bare import BareJob, bare_price

WORDS = {
    "__add__": "additions and subtractions",
    "__sub__": "additions and subtractions",
    "__radd__": "additions and subtractions",
    "__mul__": "multiplications",
    "__rmul__": "multiplications",
    "__truediv__": "divisions",
    "quantize": "roundings",
    "to_integral_value": "roundings",
    "sqrt": "square roots",
}


def operations_of(job: BareJob) -> Counter[str]:
    """How many operations of each sort the price of a job takes."""
    tally: Counter[str] = Counter()
    bare_price(_converted(job, _counting_decimal(tally)))
    return tally


def _counting_decimal(tally: Counter[str]) -> type[Decimal]:
    """A decimal whose results count as well."""

    def counting(name: str, words: str) -> Callable[..., Decimal]:
        plain: Callable[..., Decimal] = getattr(Decimal, name)

        def operation(self: Decimal, *others: Any) -> Decimal:
            tally[words] += 1
            result: Decimal = counted(plain(self, *others))
            return result

        return operation

    counted = type("Counted", (Decimal,), {name: counting(name, words) for name, words in WORDS.items()})
    return counted


def _converted(value: Any, number: type[Decimal]) -> Any:
    if isinstance(value, Decimal):
        return number(value)
    if isinstance(value, tuple):
        inner = [_converted(each, number) for each in value]
        return type(value)(*inner) if hasattr(value, "_fields") else tuple(inner)
    return value
