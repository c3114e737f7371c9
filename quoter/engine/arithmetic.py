"""The precision that prices are worked out in."""

from collections.abc import Iterator
from contextlib import contextmanager
from decimal import InvalidOperation, localcontext

from quoter.money import ARITHMETIC
from quoter.problems import JobRefused, Refusal


@contextmanager
def arithmetic() -> Iterator[None]:
    """The project's own precision, whatever the caller's; a number that outgrows it is refused, never cut off."""
    try:
        with localcontext(ARITHMETIC):
            yield
    except InvalidOperation:
        detail = "with these rates the price has more digits than a price can have"
        raise JobRefused((Refusal("out-of-range", "/repairs", detail),)) from None
