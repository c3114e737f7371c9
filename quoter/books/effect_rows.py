"""The figures of very many prices in little memory: columns of whole numbers, read as rows.

A Decimal takes 104 bytes and a whole number in a column 8, so that a hundred thousand rows are some 20 MB.
"""

from array import array
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar, overload

from quoter.engine.earnings import Earning
from quoter.money import ARITHMETIC

Row = TypeVar("Row")

RATE_DIGITS = 6
"""Decimals of a rate, a margin and a cost."""


@dataclass(frozen=True, slots=True)
class NotPriced:
    """That there is no price, and why."""

    reason: str


Side = Earning | NotPriced | None
"""What something comes to under one book; None where that book does not have it."""

ABSENT, REFUSED, PRICED, BELOW_FLOOR = range(4)
"""The states of a side. What is below the floor is priced all the same."""


def whole(value: Decimal, digits: int) -> int:
    """The value in units of so many decimals. ValueError where it has more decimals than that."""
    scaled = value.scaleb(digits, ARITHMETIC)
    number = int(scaled)
    if number != scaled:
        raise ValueError(f"{value} has more than {digits} decimals")
    return number


def decimal(number: int, digits: int) -> Decimal:
    """The Decimal of a whole number of units; exact, however large."""
    return Decimal(f"{number}E-{digits}")


class WholeNumbers:
    """Integers of 8 bytes each; from the first that does not fit in, integers as large as they need be."""

    __slots__ = ("_values",)

    def __init__(self) -> None:
        self._values: array[int] | list[int] = array("q")

    def append(self, number: int) -> None:
        """Adds one at the end."""
        try:
            self._values.append(number)
        except OverflowError:
            self._values = [*self._values, number]

    def __getitem__(self, place: int) -> int:
        """The number at a place."""
        return self._values[place]


class Sides:
    """One side of many prices, in columns. Amounts have the currency's `digits`."""

    __slots__ = ("_cost", "_digits", "_gross", "_margin", "_net", "_reasons", "_shared", "states")

    def __init__(self, digits: int) -> None:
        self.states = bytearray()
        self._digits = digits
        self._net, self._gross, self._cost, self._margin = (WholeNumbers() for _ in range(4))
        self._reasons: dict[int, str] = {}
        self._shared: dict[str, str] = {}

    def append(self, side: Side) -> None:
        """Adds one at the end."""
        if isinstance(side, Earning):
            self._append_numbers(
                whole(side.net, self._digits),
                whole(side.gross, self._digits),
                whole(side.cost, RATE_DIGITS),
                whole(side.margin, RATE_DIGITS) if side.margin is not None else 0,
            )
            self.states.append(BELOW_FLOOR if side.below_floor else PRICED)
            return
        if side is not None:
            self._reasons[len(self.states)] = self._shared.setdefault(side.reason, side.reason)
        self._append_numbers(0, 0, 0, 0)
        self.states.append(ABSENT if side is None else REFUSED)

    def _append_numbers(self, net: int, gross: int, cost: int, margin: int) -> None:
        self._net.append(net)
        self._gross.append(gross)
        self._cost.append(cost)
        self._margin.append(margin)

    def __len__(self) -> int:
        """How many there are."""
        return len(self.states)

    def __getitem__(self, place: int) -> Side:
        """The side at a place, as it was put in."""
        state = self.states[place]
        if state < PRICED:
            return NotPriced(self._reasons[place]) if state == REFUSED else None
        net = self._net[place]
        return Earning(
            net=decimal(net, self._digits),
            gross=decimal(self._gross[place], self._digits),
            cost=decimal(self._cost[place], RATE_DIGITS),
            margin=decimal(self._margin[place], RATE_DIGITS) if net else None,
            below_floor=state == BELOW_FLOOR,
        )

    def is_priced(self, place: int) -> bool:
        """Whether there is a price at a place."""
        return self.states[place] >= PRICED

    def net(self, place: int) -> int:
        """In minor units."""
        return self._net[place]

    def gross(self, place: int) -> int:
        """In minor units."""
        return self._gross[place]

    def cost(self, place: int) -> int:
        """In millionths of the currency."""
        return self._cost[place]

    def margins(self) -> Iterator[int]:
        """In millionths, of all that have one."""
        for place, state in enumerate(self.states):
            if state >= PRICED and self._net[place]:
                yield self._margin[place]


class Rows(Sequence[Row]):
    """Rows that are made when somebody looks at them."""

    __slots__ = ("_count", "_row")

    def __init__(self, count: int, row: Callable[[int], Row]) -> None:
        self._count, self._row = count, row

    def __len__(self) -> int:
        """How many there are."""
        return self._count

    @overload
    def __getitem__(self, place: int) -> Row: ...

    @overload
    def __getitem__(self, place: slice) -> list[Row]: ...

    def __getitem__(self, place: int | slice) -> Row | list[Row]:
        """One row, or a list of those of a slice."""
        if isinstance(place, slice):
            return [self._row(each) for each in range(*place.indices(self._count))]
        return self._row(range(self._count)[place])
