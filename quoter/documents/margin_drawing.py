"""The drawing of margins before and after a change: two sets of bars, back to back on one scale."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from quoter.documents.bins import RATE_UNIT, Bin, MarginBins, median_of
from quoter.documents.drawing import AXIS, GAP, ROW, TITLE, CountScale, bar, room_for, rule, share, tag, words
from quoter.documents.labels import Labels
from quoter.money import ONE, ZERO

HEADING = TITLE + 88
"""Pixels above the bars."""

MIDDLE = 50
"""Per cent of the width."""


@dataclass(frozen=True, slots=True)
class Margins:
    """All margins under one book, how many prices are below its floor, and the floor where there is one book."""

    margins: Sequence[Decimal]
    below_floor: int
    floor: Decimal | None


@dataclass(frozen=True, slots=True)
class _Half:
    """One side: its name, its bins from the top, where bars begin, and which way they grow (-1: to the left)."""

    name: str
    side: Margins
    bins: Sequence[Bin]
    spine: Decimal
    way: int
    kind: str

    @property
    def rim(self) -> tuple[str, str]:
        """The outer edge, and how text is anchored there."""
        return ("0%", "start") if self.way < 0 else ("100%", "end")


class MarginDrawing:
    """The highest margins are on top. What is below the floor is hatched, and the floor is a dashed line."""

    def __init__(self, bins: MarginBins, before: Margins, after: Margins, labels: Labels) -> None:
        self._labels = labels
        self._tops = list(_tops(bins.after[::-1]))
        self._bottom = self._tops[-1] + ROW
        self.height = self._bottom + AXIS
        self._edges = list(self._edge_texts(bins.after[::-1]))
        gutter = room_for(text for text, _ in self._edges) / 2
        counts = [each.count for each in (*bins.before, *bins.after)]
        self._scale = CountScale(counts, max(counts), 2, MIDDLE - gutter, labels.count)
        self._halves = (
            _Half(labels.words("Before"), before, bins.before[::-1], MIDDLE - gutter, -1, "same"),
            _Half(labels.words("After"), after, bins.after[::-1], MIDDLE + gutter, 1, "rise"),
        )

    def elements(self) -> Iterator[str]:
        """From the back to the front: figures stand in front of the floor's line."""
        for half in self._halves:
            yield from self._grid(half)
            for each, y in zip(half.bins, self._tops, strict=True):
                yield from self._bar(half, each, y)
            yield rule(share(half.spine), HEADING - 2, share(half.spine), self._bottom + 4, "axis")
            yield from self._heading(half)
            for each, y in zip(half.bins, self._tops, strict=True):
                yield from self._count(half, each, y)
        for text, y in self._edges:
            yield words(text, share(Decimal(MIDDLE)), y, "middle", "quiet")
        yield words(self._labels.words("number of prices"), "50%", self._bottom + 33, "middle", "quiet")

    def _edge_texts(self, bins: Sequence[Bin]) -> Iterator[tuple[str, int]]:
        """The scale in the middle: a bin's lower edge below it, the first one's upper edge above it."""
        for place, (each, y) in enumerate(zip(bins, self._tops, strict=True)):
            if each.lower is None or each.upper is None:
                text = self._labels.words("more" if each.upper is None else "less")
                yield text, y + ROW // 2
            if each.upper is not None and each.lower is not None:
                if place == 0 or bins[place - 1].upper is None:
                    yield self._labels.percent(each.upper), y
                yield self._labels.percent(each.lower), y + ROW

    def _grid(self, half: _Half) -> Iterator[str]:
        for count in self._scale.ticks:
            x = share(half.spine + half.way * self._scale.at(count))
            yield rule(x, HEADING - 2, x, self._bottom + 4)
            yield words(self._labels.count(count), x, self._bottom + 14, "middle", "quiet")

    def _bar(self, half: _Half, each: Bin, y: int) -> Iterator[str]:
        length, top, height = self._scale.reach(each.count), y + 3, ROW - 6
        hatched = round(height * _part_below(half.side.floor, each))
        x = share(half.spine if half.way > 0 else half.spine - length)
        for kind, begin, high in ((half.kind, top, height - hatched), ("fall", top + height - hatched, hatched)):
            if each.count and high:
                yield bar(kind, x, begin, share(length), high)

    def _count(self, half: _Half, each: Bin, y: int) -> Iterator[str]:
        if each.count:
            tip = share(half.spine + half.way * self._scale.reach(each.count))
            anchor = "start" if half.way > 0 else "end"
            text = self._labels.count(each.count)
            yield words(text, tip, y + ROW // 2, anchor, dx=6 * half.way, data_count=each.count)

    def _floor_y(self, floor: Decimal, bins: Sequence[Bin]) -> int:
        """Where the floor is on the scale, which always reaches it."""
        return next(
            y + ROW - round(ROW * _part_below(floor, each))
            for each, y in zip(bins, self._tops, strict=True)
            if each.lower is not None and each.lower <= floor and each.upper is not None
        )

    def _heading(self, half: _Half) -> Iterator[str]:
        """What a side is, its median, its floor with the line that marks it, and how many are below it."""
        x, anchor = half.rim
        yield words(half.name, x, TITLE + 8, anchor, "strong")
        if half.side.margins:
            median = self._labels.percent(median_of(half.side.margins, RATE_UNIT))
            yield words(self._labels.words("in the middle: {margin}", margin=median), x, TITLE + 28, anchor, "quiet")
        below = self._labels.words("below floor: {count}", count=self._labels.count(half.side.below_floor))
        if half.side.floor is not None:
            yield from self._floor(half, half.side.floor)
        yield words(below, x, TITLE + (46 if half.side.floor is None else 64), anchor, "quiet")

    def _floor(self, half: _Half, floor: Decimal) -> Iterator[str]:
        """The line at the floor, and a piece of it beside the words that say which it is."""
        x, anchor = half.rim
        y = self._floor_y(floor, half.bins)
        yield rule(share(half.spine), y, x, y, "floor")
        yield tag("svg", rule("0", 0, str(-20 * half.way), 0, "floor"), x=x, y=TITLE + 46, overflow="visible")
        text = self._labels.words("floor {floor}", floor=self._labels.percent(floor))
        yield words(text, x, TITLE + 46, anchor, "quiet", dx=-26 * half.way)


def _tops(bins: Sequence[Bin]) -> Iterator[int]:
    """Where each row begins; one without end stands apart from the others."""
    y = HEADING
    for each in bins:
        y += GAP if each.lower is None else 0
        yield y
        y += ROW + (GAP if each.upper is None else 0)


def _part_below(floor: Decimal | None, each: Bin) -> Decimal:
    """How much of a bin is below the floor; what has no end is all on one side of it."""
    if floor is None or each.lower is None or each.upper is None:
        return Decimal(floor is not None and each.lower is None)
    return min(max((floor - each.lower) / (each.upper - each.lower), ZERO), ONE)
