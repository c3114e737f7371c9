"""The drawing of a cut list: strips to scale, under one heading a material, each with its length and its step.

It is printed, so it is measured in millimetres of paper. It stands inside the page that shows it, has no style sheet,
and takes the page's colour.
"""

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from quoter.documents.drawing import Picture, safe, tag
from quoter.money import ONE

WIDTH = 170
"""Between the margins of a sheet of paper."""

SCALES = tuple(Decimal(step).scaleb(power) for power in range(6) for step in (1, 2, 5))
"""What is longer than the paper is drawn at half its size, a fifth, a tenth and so on."""

HEADING, LABEL, BETWEEN, GAP = Decimal(8), Decimal("4.2"), Decimal("0.8"), Decimal("1.8")
THINNEST, UNKNOWN = Decimal("0.8"), Decimal(2)
"""A strip's height at least, and that of one whose width nobody has told."""

MOST_BARS = 12
"""Of one length; how many there are is written as well."""

RIGHT_TO_LEFT = "\N{RIGHT-TO-LEFT MARK}"
"""In front of a line it decides its direction; the attribute would turn the anchor too, and not in every program."""

MOST_LETTERS = 88
"""What fits on a line; letters of East Asia count twice."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A piece to cut so many times, in millimetres, and what is written at it."""

    count: int
    length: Decimal
    text: str


@dataclass(frozen=True, slots=True)
class Material:
    """What strips are cut from; no width where the book does not say one."""

    title: str
    width: Decimal | None
    strips: Sequence[Strip]


def scale_of(materials: Iterable[Material]) -> Decimal:
    """How many millimetres one on paper stands for, so that the longest strip fits: 1 where it does as it is."""
    longest = max((strip.length for each in materials for strip in each.strips), default=ONE)
    return next((scale for scale in SCALES if longest <= scale * WIDTH), SCALES[-1])


def cut_picture(materials: Sequence[Material], title: str, description: str, *, rightward: bool = True) -> Picture:
    """All strips on one scale. `rightward` is false where people read to the left."""
    drawn = _Cuts(scale_of(materials), rightward)
    elements = list(drawn.elements(materials))
    svg = tag(
        "svg",
        tag("title", safe(title), id="cuts-title"),
        tag("desc", safe(description), id="cuts-description"),
        *elements,
        xmlns="http://www.w3.org/2000/svg",
        width=f"{WIDTH}mm",
        height=f"{drawn.y}mm",
        viewBox=f"0 0 {WIDTH} {drawn.y}",
        role="img",
        aria_labelledby="cuts-title cuts-description",
        font_family="FiraGO, Noto Sans JP, system-ui, sans-serif",
        font_size="3.2",
        fill="currentColor",
    )
    return Picture(title, description, svg)


class _Cuts:
    """Draws from the top down; `y` is where the next thing goes."""

    def __init__(self, scale: Decimal, rightward: bool) -> None:
        self._scale, self._rightward = scale, rightward
        self.y = Decimal(0)

    def elements(self, materials: Iterable[Material]) -> Iterator[str]:
        """Headings and strips."""
        for each in materials:
            yield self._text(each.title, self.y + 5, font_weight="bold")
            self.y += HEADING
            for strip in each.strips:
                yield self._text(strip.text, self.y + 3)
                self.y += LABEL
                for _ in range(min(strip.count, MOST_BARS)):
                    yield self._bar(strip.length, each.width)
                self.y += GAP

    def _text(self, text: str, y: Decimal, **attributes: object) -> str:
        if self._rightward:
            return tag("text", safe(shortened(text)), x=0, y=y, **attributes)
        placed = {"x": WIDTH, "y": y, "text_anchor": "end", "direction": "ltr", "unicode_bidi": "plaintext"}
        return tag("text", RIGHT_TO_LEFT + safe(shortened(text)), **placed, **attributes)

    def _bar(self, length: Decimal, width: Decimal | None) -> str:
        long = min((length / self._scale).quantize(Decimal("0.01")), Decimal(WIDTH))
        high = UNKNOWN if width is None else max((width / self._scale).quantize(Decimal("0.01")), THINNEST)
        x = Decimal(0) if self._rightward else WIDTH - long
        y = self.y
        self.y += high + BETWEEN
        shape = {"x": x, "y": y, "width": long, "height": high, "data_length": length}
        return tag("rect", **shape, fill_opacity="0.18", stroke="currentColor", stroke_width="0.25")


def shortened(text: str) -> str:
    """As much of a text as a line holds."""
    room = MOST_LETTERS
    for place, letter in enumerate(text):
        room -= 2 if unicodedata.east_asian_width(letter) in "WF" else 1
        if room < 0:
            return f"{text[:place].rstrip()}…"
    return text
