"""The precision that prices are worked out in."""

from decimal import Context, InvalidOperation, getcontext, setcontext

from quoter.money import ARITHMETIC
from quoter.problems import JobRefused, Refusal


class arithmetic:  # noqa: N801 - called like `decimal.localcontext`, of which it is a kind
    """The project's own precision, whatever the caller's; a number that outgrows it is refused, never cut off."""

    __slots__ = ("_outer",)

    def __enter__(self) -> None:
        self._outer: Context = getcontext()
        setcontext(ARITHMETIC.copy())

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: object) -> None:
        setcontext(self._outer)
        if kind is not None and issubclass(kind, InvalidOperation):
            detail = "with these rates the price has more digits than a price can have"
            raise JobRefused((Refusal("out-of-range", "/repairs", detail),)) from None
