"""What very many changes of price come to: how many of which kind, how far, and what is earned.

All of it is worked out in whole numbers, so nothing is lost; what does not come out even is rounded half up, ties
away from zero.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from decimal import Decimal

from quoter.books.effect_rows import ABSENT, BELOW_FLOOR, RATE_DIGITS, REFUSED, Sides, decimal
from quoter.money import Currency

CHANGES = ("up", "down", "same", "newly-refused", "newly-possible", "still-refused", "gone", "new")
"""What can happen to a price. What is gone or new may have been, or may be, refused."""


@dataclass(frozen=True, slots=True)
class Counts:
    """How many of each of CHANGES; together they are all there are."""

    up: int
    down: int
    same: int
    newly_refused: int
    newly_possible: int
    still_refused: int
    gone: int
    new: int

    @property
    def total(self) -> int:
        """All of them."""
        return sum(asdict(self).values())


@dataclass(frozen=True, slots=True)
class Spread:
    """Of many figures the smallest, the one in the middle and the largest.

    In the middle of an even number is the mean of two, rounded as the figures are.
    """

    smallest: Decimal
    median: Decimal
    largest: Decimal


@dataclass(frozen=True, slots=True)
class MarginsOf:
    """The margins of all that is priced under one book; `floor` is its minimum margin, where there is one book.

    `spread` leaves out what has a net of nothing and so no margin; it is None where nothing has one.
    """

    priced: int
    below_floor: int
    floor: Decimal | None
    spread: Spread | None


@dataclass(frozen=True, slots=True)
class Summary:
    """The spreads are of what has a price under both books, what stays the same included."""

    counts: Counts
    difference: Spread | None
    relative: Spread | None
    before: MarginsOf
    after: MarginsOf


@dataclass(frozen=True, slots=True)
class Takings:
    """The sums of some jobs, and the margin of the sums (None on a net of nothing)."""

    jobs: int
    net: Decimal
    gross: Decimal
    cost: Decimal
    margin: Decimal | None


def change_word(old: Sides, new: Sides, place: int) -> str:
    """Which of CHANGES it is."""
    before, after = old.states[place], new.states[place]
    if before == ABSENT or after == ABSENT:
        return "new" if before == ABSENT else "gone"
    if before == REFUSED:
        return "still-refused" if after == REFUSED else "newly-possible"
    if after == REFUSED:
        return "newly-refused"
    difference = new.gross(place) - old.gross(place)
    return "same" if not difference else "up" if difference > 0 else "down"


def summary_of(
    old: Sides, new: Sides, old_floor: Decimal | None, new_floor: Decimal | None, currency: Currency
) -> Summary:
    """Of all changes."""
    words = Counter(change_word(old, new, place) for place in range(len(new)))
    both = [place for place in range(len(new)) if old.is_priced(place) and new.is_priced(place)]
    differences = [new.gross(place) - old.gross(place) for place in both]
    pairs = zip(differences, map(old.gross, both), strict=True)
    return Summary(
        counts=Counts(*(words[word] for word in CHANGES)),
        difference=spread_of(differences, currency.digits),
        relative=spread_of((_millionths(difference, gross) for difference, gross in pairs if gross), RATE_DIGITS),
        before=_margins_of(old, old_floor),
        after=_margins_of(new, new_floor),
    )


def spread_of(numbers: Iterable[int], digits: int) -> Spread | None:
    """Of figures in units of so many decimals; None of nothing."""
    ranked = sorted(numbers)
    if not ranked:
        return None
    twice = ranked[len(ranked) // 2] + ranked[(len(ranked) - 1) // 2]
    return Spread(decimal(ranked[0], digits), decimal(_ratio(twice, 2), digits), decimal(ranked[-1], digits))


def takings_of(sides: Sides, places: Iterable[int], currency: Currency) -> Takings:
    """The sums over the prices at these places."""
    jobs = net = gross = cost = 0
    for place in places:
        jobs += 1
        net += sides.net(place)
        gross += sides.gross(place)
        cost += sides.cost(place)
    millionths = net * 10**RATE_DIGITS
    return Takings(
        jobs=jobs,
        net=decimal(net, currency.digits),
        gross=decimal(gross, currency.digits),
        cost=decimal(cost, RATE_DIGITS),
        margin=rounded_ratio(millionths - cost * 10**currency.digits, millionths),
    )


def rounded_ratio(part: int, base: int) -> Decimal | None:
    """part / base to 6 decimals; None of nothing."""
    return decimal(_millionths(part, base), RATE_DIGITS) if base else None


def _millionths(part: int, base: int) -> int:
    return _ratio(part * 10**RATE_DIGITS, base)


def _ratio(part: int, base: int) -> int:
    """part / base to the nearest whole number, ties away from zero."""
    size = (2 * abs(part) + abs(base)) // (2 * abs(base))
    return size if (part < 0) == (base < 0) else -size


def _margins_of(sides: Sides, floor: Decimal | None) -> MarginsOf:
    return MarginsOf(
        priced=sum(map(sides.is_priced, range(len(sides)))),
        below_floor=sides.states.count(BELOW_FLOOR),
        floor=floor,
        spread=spread_of(sides.margins(), RATE_DIGITS),
    )
