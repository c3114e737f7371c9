"""The drawing of margins before and after a change: two sets of bars, back to back on one scale."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from quoter.documents.bins import Bin, MarginBins
from quoter.documents.drawing import AXIS, GAP, LEAST_BAR, ROW, CountScale, bar, room_for, rule, share, words
from quoter.documents.labels import Labels
from quoter.money import ONE, ZERO

HEADING = 52
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
        self._width = MIDDLE - gutter - room_for(map(labels.count, counts))
        self._scale = CountScale(max(counts), 2)
        self._halves = (
            _Half(labels.words("Before"), before, bins.before[::-1], MIDDLE - gutter, -1, "same"),
            _Half(labels.words("After"), after, bins.after[::-1], MIDDLE + gutter, 1, "rise"),
        )

    def elements(self) -> Iterator[str]:
        """From the back to the front."""
        for half in self._halves:
            yield from self._grid(half)
            for each, y in zip(half.bins, self._tops, strict=True):
                yield from self._bar(half, each, y)
            yield rule(share(half.spine), HEADING - 2, share(half.spine), self._bottom + 4, "axis")
        for text, y in self._edges:
            yield words(text, share(Decimal(MIDDLE)), y, "middle", "quiet")
        for half in self._halves:
            yield from self._floor(half)
            yield from self._heading(half)
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
            x = share(half.spine + half.way * self._width * self._scale.part(count))
            yield rule(x, HEADING - 2, x, self._bottom + 4)
            yield words(self._labels.count(count), x, self._bottom + 14, "middle", "quiet")

    def _bar(self, half: _Half, each: Bin, y: int) -> Iterator[str]:
        if not each.count:
            return
        width = max(self._width * self._scale.part(each.count), LEAST_BAR)
        x = half.spine if half.way > 0 else half.spine - width
        top, height = y + 3, ROW - 6
        hatched = round(height * _part_below(half.side.floor, each))
        for kind, begin, high in ((half.kind, top, height - hatched), ("fall", top + height - hatched, hatched)):
            if high:
                yield bar(kind, share(x), begin, share(width), high)
        anchor = "start" if half.way > 0 else "end"
        tip = share(half.spine + half.way * width)
        yield words(self._labels.count(each.count), tip, y + ROW // 2, anchor, dx=6 * half.way, data_count=each.count)

    def _floor(self, half: _Half) -> Iterator[str]:
        floor = half.side.floor
        if floor is None:
            return
        x, anchor = half.rim
        y = self._floor_y(floor, half.bins)
        yield rule(share(half.spine), y, x, y, "floor")
        yield words(self._labels.words("floor {floor}", floor=self._labels.percent(floor)), x, y + 11, anchor, "quiet")

    def _floor_y(self, floor: Decimal, bins: Sequence[Bin]) -> int:
        """Where the floor is on the scale, which always reaches it."""
        return next(
            y + ROW - round(ROW * _part_below(floor, each))
            for each, y in zip(bins, self._tops, strict=True)
            if each.lower is not None and each.lower <= floor and each.upper is not None
        )

    def _heading(self, half: _Half) -> Iterator[str]:
        x, anchor = half.rim
        yield words(half.name, x, 11, anchor, "strong")
        below = self._labels.words("below floor: {count}", count=self._labels.count(half.side.below_floor))
        yield words(below, x, 30, anchor, "quiet")


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
