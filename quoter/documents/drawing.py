"""SVG as text: elements, and the frame, colours and patterns that every picture has.

A picture is meant to be served as a file of its own and shown by <img>: it has a style sheet inside. The answer needs
the header `Content-Security-Policy: default-src 'none'; style-src 'unsafe-inline'`. Where no style sheet is allowed,
the same colours for a light page stand in the elements themselves. Lengths across are percentages and all else is in
pixels, so a picture may be as wide as it likes: text keeps its size.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from xml.sax.saxutils import escape

from quoter.documents.bins import round_step
from quoter.money import ONE

LIGHT = {
    "ground": "#ffffff",
    "ink": "#20252c",
    "quiet": "#59626e",
    "rule": "#d3d8de",
    "rise": "#1c6b7c",
    "fall": "#b4531a",
    "same": "#7d8794",
}
DARK = {
    "ground": "#171b21",
    "ink": "#e9ebee",
    "quiet": "#a9b3bf",
    "rule": "#3a424d",
    "rise": "#5fbccb",
    "fall": "#f0a06a",
    "same": "#8d98a6",
}

ROW, GAP, AXIS = 22, 10, 44
"""Pixels: a bar with its space, a break in the scale, and what stands below the bars."""

NARROWEST, LETTER = 320, Decimal("7.4")
"""Pixels: the narrowest page, and a digit in a wide font."""

LEAST_BAR = Decimal("0.6")
"""Per cent of the width: a bar that stands for anything at all can be seen."""

_ILLEGAL = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What no XML document may hold, not even escaped."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing with its text alternative: `alt` is for the <img>, whose reader never hears what is inside."""

    title: str
    description: str
    svg: str

    @property
    def alt(self) -> str:
        """Title and description in one."""
        return f"{self.title}. {self.description}"


class CountScale:
    """A scale from zero in round steps, `most` of them, that ends at or after the longest bar."""

    def __init__(self, longest: int, most: int) -> None:
        step = int(round_step(Decimal(longest), most, ONE))
        self._end = max(-(-longest // step), 1) * step
        self.ticks = range(0, self._end + 1, step)

    def part(self, count: int) -> Decimal:
        """How far along the scale a number is; 1 is its end."""
        return Decimal(count) / self._end


def tag(name: str, *children: str, **attributes: object) -> str:
    """An element. Attribute names are written with _ for - and a _ behind a word of Python's."""
    shown = "".join(f' {key.rstrip("_").replace("_", "-")}="{safe(str(value))}"' for key, value in attributes.items())
    return f"<{name}{shown}>{''.join(children)}</{name}>" if children else f"<{name}{shown}/>"


def safe(text: str) -> str:
    """Text as XML may hold it, also between quotation marks."""
    return escape(_ILLEGAL.sub("\N{REPLACEMENT CHARACTER}", text), {'"': "&quot;", "'": "&#39;"})


def share(value: Decimal) -> str:
    """A percentage of the width."""
    return f"{value:.2f}%"


def room_for(texts: Iterable[str]) -> Decimal:
    """What the longest text takes of the narrowest page, in per cent, but not more than two fifths."""
    return min((max(map(len, texts), default=0) * LETTER + 14) * 100 / NARROWEST, Decimal(40))


def words(text: str, x: str, y: int, anchor: str = "start", class_: str = "", **attributes: object) -> str:
    """A line of text; `y` is its middle."""
    colour = LIGHT["quiet"] if class_ == "quiet" else LIGHT["ink"]
    styled = {"class_": class_} if class_ else {}
    return tag("text", safe(text), x=x, y=y, dy="0.35em", text_anchor=anchor, fill=colour, **styled, **attributes)


def bar(kind: str, x: str, y: int, width: str, height: int) -> str:
    """A bar of a kind: rise and same are filled, a fall is hatched, so that it is told apart without its colour."""
    fill = "url(#hatch)" if kind == "fall" else LIGHT[kind]
    return tag("rect", class_=kind, x=x, y=y, width=width, height=height, fill=fill, stroke=LIGHT[kind])


def rule(x1: str, y1: int, x2: str, y2: int, class_: str = "rule") -> str:
    """A thin line."""
    return tag("line", class_=class_, x1=x1, y1=y1, x2=x2, y2=y2, stroke=LIGHT["rule"])


def picture(name: str, title: str, description: str, height: int, drawn: Iterable[str]) -> Picture:
    """The frame around what is drawn. `name` tells its ids from those of other pictures."""
    named = {"id": f"{name}-title"}, {"id": f"{name}-description"}
    svg = tag(
        "svg",
        tag("title", safe(title), **named[0]),
        tag("desc", safe(description), **named[1]),
        tag("style", _style()),
        tag("defs", _hatch()),
        tag("rect", class_="ground", width="100%", height="100%", fill=LIGHT["ground"]),
        *drawn,
        xmlns="http://www.w3.org/2000/svg",
        width="100%",
        height=height,
        role="img",
        aria_labelledby=f"{name}-title {name}-description",
        font_family="system-ui, sans-serif",
        font_size=13,
    )
    return Picture(title, description, svg)


def _style() -> str:
    """Colours by class, light and dark; text has a rim of the ground's colour, to be read across lines and bars."""
    light, dark = (";".join(f"--{name}:{colour}" for name, colour in colours.items()) for colours in (LIGHT, DARK))
    rules = (
        f"svg{{{light}}}",
        f"@media (prefers-color-scheme:dark){{svg{{{dark}}}}}",
        "text{fill:var(--ink);stroke:var(--ground);stroke-width:3px;stroke-linejoin:round;paint-order:stroke;"
        "font-variant-numeric:tabular-nums}",
        ".quiet{fill:var(--quiet);font-size:12px}.strong{font-weight:600}",
        ".ground{fill:var(--ground)}.rule{stroke:var(--rule)}.axis{stroke:var(--quiet)}",
        ".floor{stroke:var(--ink);stroke-dasharray:5 3;stroke-width:1.5px}.cut{stroke:var(--ground);stroke-width:4px}",
        *(f".{kind}{{fill:var(--{kind});stroke:var(--{kind})}}" for kind in ("rise", "same")),
        ".fall{fill:url(#hatch);stroke:var(--fall)}.hatch{fill:var(--fall)}",
    )
    return "".join(rules)


def _hatch() -> str:
    ground = tag("rect", class_="hatch", width=7, height=7, fill=LIGHT["fall"], fill_opacity="0.25")
    stripe = tag("rect", class_="hatch", width=3, height=7, fill=LIGHT["fall"])
    units = {"patternUnits": "userSpaceOnUse", "patternTransform": "rotate(45)"}
    return tag("pattern", ground, stripe, id="hatch", width=7, height=7, **units)
