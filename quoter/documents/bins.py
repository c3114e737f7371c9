"""Figures in bins with round edges, for pictures. Outliers share one bin at the end, so that they hide nothing."""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

from quoter.money import ONE, ZERO

MOST_BINS = 12
"""In a picture, on both sides of zero together, where there are many figures."""

WIDE = 3
"""Bins go so many times as far as three quarters of the figures, and as far as nine in ten; the rest shares a bin."""

RATE_UNIT = Decimal("0.001")
"""Rates are told in tenths of a per cent."""

MARGIN_STEP, MARGIN_REACH = Decimal("0.01"), Decimal("0.05")
"""Margins are not told apart more finely, and are shown at least so far to both sides of the one in the middle."""


@dataclass(frozen=True, slots=True)
class Bin:
    """How many figures lie between two edges; None is no end."""

    lower: Decimal | None
    upper: Decimal | None
    count: int


@dataclass(frozen=True, slots=True)
class ChangeBins:
    """Changes by size: rises and falls outward from zero, each bin with its outer edge in it; and what is zero."""

    rises: tuple[Bin, ...]
    same: int
    falls: tuple[Bin, ...]


@dataclass(frozen=True, slots=True)
class MarginBins:
    """Two sets of margins in the same bins, lowest first, each bin with its lower edge in it.

    The last bin that has an end has both its edges in it: no margin is above 1.
    """

    before: tuple[Bin, ...]
    after: tuple[Bin, ...]


def round_step(span: Decimal, most: int, smallest: Decimal) -> Decimal:
    """The smallest of 1, 2, 5, 10, 20 … times a power of ten, from `smallest` on, of which `most` cover the span."""
    step = ONE.scaleb(smallest.adjusted())
    while step < smallest or step * most < span:
        step *= Decimal("2.5") if step.normalize().as_tuple().digits == (2,) else 2
    return step.quantize(smallest)


def median_of(ranked: Sequence[Decimal], unit: Decimal) -> Decimal:
    """Of figures in their order the one in the middle, or the mean of two, to the unit, half up."""
    twice = ranked[len(ranked) // 2] + ranked[(len(ranked) - 1) // 2]
    return (twice / 2).quantize(unit, ROUND_HALF_UP)


def change_bins(changes: Iterable[Decimal], unit: Decimal) -> ChangeBins:
    """Changes in bins of a round width, which is at least the `unit`."""
    ranked = sorted(changes)
    rises = [change for change in ranked if change > ZERO]
    falls = [-change for change in reversed(ranked) if change < ZERO]
    span = _reach(sorted((*rises, *falls)))
    most = _most(len(rises) + len(falls))
    step = round_step(span, most // 2 if rises and falls else most, unit)
    bins = _steps(span, step)
    return ChangeBins(
        rises=tuple(_outward(rises, step, bins)),
        same=len(ranked) - len(rises) - len(falls),
        falls=tuple(Bin(_minus(each.upper), _minus(each.lower), each.count) for each in _outward(falls, step, bins)),
    )


def margin_bins(before: Sequence[Decimal], after: Sequence[Decimal], floors: Sequence[Decimal]) -> MarginBins:
    """Margins in bins of a round width, over most of them and the floors. There must be a margin."""
    ranked = sorted((*before, *after))
    low, high = _middle(ranked)
    low, high = min(low, *(floor - MARGIN_STEP for floor in floors), high), max(high, *floors, low)
    step = round_step(high - low, _most(len(ranked)), MARGIN_STEP)
    first = _place(max(low - step, min(low, ranked[0])), step, ROUND_FLOOR)
    last = _place(min(high + step, max(high, ranked[-1])), step, ROUND_CEILING)
    edges = [place * step for place in range(first, max(last, first + 1) + 1)]
    ends = (ranked[0] < edges[0], ranked[-1] > edges[-1])
    return MarginBins(tuple(_between(before, edges, ends)), tuple(_between(after, edges, ends)))


def _most(figures: int) -> int:
    """Few figures in many bins look like noise: as many as the number has binary digits, and three more."""
    return min(figures.bit_length() + 3, MOST_BINS)


def _minus(edge: Decimal | None) -> Decimal | None:
    return None if edge is None else -edge


def _place(value: Decimal, step: Decimal, rounding: str) -> int:
    return int((value / step).to_integral_value(rounding))


def _steps(size: Decimal, step: Decimal) -> int:
    """How many steps reach the size."""
    return _place(size, step, ROUND_CEILING)


def _reach(sizes: Sequence[Decimal]) -> Decimal:
    """How far bins go from the middle, of sizes in their order."""
    if not sizes:
        return ZERO
    quarters, tenths = sizes[(3 * len(sizes) - 1) // 4], sizes[(9 * len(sizes) - 1) // 10]
    return min(max(WIDE * quarters, tenths), sizes[-1])


def _middle(ranked: Sequence[Decimal]) -> tuple[Decimal, Decimal]:
    """From where to where most margins are."""
    middle = ranked[len(ranked) // 2]
    reach = max(_reach(sorted(abs(margin - middle) for margin in ranked)), MARGIN_REACH)
    return max(ranked[0], middle - reach), min(ranked[-1], middle + reach)


def _outward(sizes: Sequence[Decimal], step: Decimal, bins: int) -> Iterator[Bin]:
    """From zero on; the last has no end where sizes go on for more than one bin."""
    if not sizes:
        return
    is_open = sizes[-1] > (bins + 1) * step
    last = bins + 1 if is_open else _steps(sizes[-1], step)
    counts = Counter(min(_steps(size, step), last) for size in sizes)
    for place in range(1, last + 1):
        yield Bin((place - 1) * step, None if is_open and place == last else place * step, counts[place])


def _between(margins: Iterable[Decimal], edges: Sequence[Decimal], ends: tuple[bool, bool]) -> Iterator[Bin]:
    """Between the edges, with a bin without end below or above them where it is asked for."""
    top = len(edges) - 1
    counts = Counter(top if margin == edges[top] else bisect_right(edges, margin) for margin in margins)
    if ends[0]:
        yield Bin(None, edges[0], counts[0])
    for place in range(1, top + 1):
        yield Bin(edges[place - 1], edges[place], counts[place])
    if ends[1]:
        yield Bin(edges[top], None, counts[top + 1])
