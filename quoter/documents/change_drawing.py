"""The drawing of many changes of price: bars one below the other, rises above what stays the same, falls below it."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from quoter.documents.bins import Bin, ChangeBins
from quoter.documents.drawing import AXIS, GAP, LEAST_BAR, ROW, CountScale, bar, room_for, rule, share, tag, words
from quoter.documents.labels import Labels

LEGEND = 36
"""Pixels above the bars."""

CUT_FROM = 2
"""The bar of what stays the same is cut short from so many times the longest other bar on."""


@dataclass(frozen=True, slots=True)
class _Row:
    kind: str
    count: int
    y: int


class ChangeDrawing:
    """The largest changes are outermost; their edges are written at the axis to the left, their numbers at the bars."""

    def __init__(self, bins: ChangeBins, labels: Labels, show: Callable[[Decimal], str]) -> None:
        self._bins, self._labels, self._show = bins, labels, show
        self._rows: list[_Row] = []
        self._edges: list[tuple[str, int]] = []
        self._bottom = self._lay_out()
        self.height = self._bottom + AXIS
        changed = max((row.count for row in self._rows if row.kind != "same"), default=0)
        self._is_cut = 0 < changed * CUT_FROM < bins.same
        self._scale = CountScale(changed if self._is_cut else max(changed, bins.same), 3)
        self._left = room_for(text for text, _ in self._edges)
        self._width = 100 - self._left - room_for(labels.count(row.count) for row in self._rows)

    def elements(self) -> Iterator[str]:
        """From the back to the front."""
        yield from self._grid()
        for row in self._rows:
            yield from self._bar(row)
        yield rule(share(self._left), LEGEND - 4, share(self._left), self._bottom + 4, "axis")
        for text, y in self._edges:
            yield words(text, share(self._left), y, "end", "quiet", dx=-8)
        yield from self._legend()

    def _lay_out(self) -> int:
        """Places rows and edges; gives where the last ends."""
        y = LEGEND
        for each in reversed(self._bins.rises):
            y = self._place("rise", each, each.upper, y)
        y += GAP if self._bins.rises else 0
        self._rows.append(_Row("same", self._bins.same, y))
        self._edges.append((self._labels.words("the same"), y + ROW // 2))
        y += ROW + (GAP if self._bins.falls else 0)
        for each in self._bins.falls:
            y = self._place("fall", each, each.lower, y)
        return y

    def _place(self, kind: str, each: Bin, outer: Decimal | None, y: int) -> int:
        """A bin with the edge that is farther from zero; one without end stands apart from the others."""
        rises = kind == "rise"
        y += GAP if outer is None and not rises else 0
        self._rows.append(_Row(kind, each.count, y))
        if outer is None:
            self._edges.append((self._labels.words("more"), y + ROW // 2))
        else:
            self._edges.append((self._show(outer), y if rises else y + ROW))
        return y + ROW + (GAP if outer is None and rises else 0)

    def _legend(self) -> Iterator[str]:
        sides = (
            ("rise", "1", "{count} dearer", self._bins.rises),
            ("fall", "50%", "{count} cheaper", self._bins.falls),
        )
        for kind, x, template, bins in sides:
            count = self._labels.count(sum(each.count for each in bins))
            yield bar(kind, x, 4, "14", 14)
            yield words(self._labels.words(template, count=count), x, 11, class_="strong", dx=21)

    def _grid(self) -> Iterator[str]:
        for count in self._scale.ticks:
            x = share(self._left + self._width * self._scale.part(count))
            yield rule(x, LEGEND - 4, x, self._bottom + 4)
            yield words(self._labels.count(count), x, self._bottom + 14, "middle", "quiet")
        text = self._labels.words("number of prices")
        yield words(text, share(self._left + self._width / 2), self._bottom + 33, "middle", "quiet")

    def _bar(self, row: _Row) -> Iterator[str]:
        is_cut = self._is_cut and row.kind == "same"
        width = self._width if is_cut else self._width * self._scale.part(row.count)
        if row.count:
            width = max(width, LEAST_BAR)
            yield bar(row.kind, share(self._left), row.y + 3, share(width), ROW - 6)
        if is_cut:
            x = share(self._left + self._width * Decimal("0.85"))
            yield tag("svg", rule("-4", ROW - 1, "4", 1, "cut"), x=x, y=row.y, overflow="visible")
        if row.count or row.kind == "same":
            x, y = share(self._left + width), row.y + ROW // 2
            yield words(self._labels.count(row.count), x, y, dx=6, data_count=row.count)
