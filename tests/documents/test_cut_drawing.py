"""The drawing of a cut list: to scale, readable without its picture, at home in a page without a style sheet."""

from decimal import Decimal
from xml.etree import ElementTree

import pytest

from quoter.documents.cut_drawing import (
    MOST_BARS,
    MOST_LETTERS,
    WIDTH,
    Material,
    Strip,
    cut_picture,
    scale_of,
    shortened,
)

SVG = "{http://www.w3.org/2000/svg}"


def material(*lengths: str, width: str | None = "5", text: str = "strip") -> Material:
    """Strips of so many millimetres."""
    return Material(
        "Tape", None if width is None else Decimal(width), [Strip(1, Decimal(each), text) for each in lengths]
    )


def root(*materials: Material, rightward: bool = True) -> ElementTree.Element:
    """The drawing as XML."""
    return ElementTree.fromstring(cut_picture(materials, "To cut", "All strips", rightward=rightward).svg)


def bars(svg: ElementTree.Element) -> list[tuple[str, str, str]]:
    """Where each bar begins, how long and how high it is, from the top."""
    return [(each.attrib["x"], each.attrib["width"], each.attrib["height"]) for each in svg.iter(f"{SVG}rect")]


@pytest.mark.parametrize(
    ("longest", "scale"),
    [("170", "1"), ("170.01", "2"), ("340", "2"), ("412.5", "5"), ("850", "5"), ("851", "10"), ("0.5", "1")],
)
def test_the_scale_is_the_largest_on_which_the_longest_strip_fits(longest: str, scale: str):
    """170 mm of paper: by hand. Scales are those of ISO 5455 (1:1, 1:2, 1:5, 1:10 and so on)."""
    assert scale_of([material("10", longest)]) == Decimal(scale)


def test_bars_are_as_long_and_as_high_as_strips_are_on_the_scale():
    """At a fifth: 412.5 mm are 82.5, 146 mm are 29.2, 10 mm of width are 2; nothing is thinner than can be seen."""
    svg = root(material("412.5", "146", width="10"), material("68", width="0.5"), material("300", width=None))
    assert bars(svg) == [("0", "82.50", "2.00"), ("0", "29.20", "2.00"), ("0", "13.60", "0.8"), ("0", "60.00", "2")]


def test_strips_that_are_needed_several_times_are_drawn_as_often():
    """As far as a page is not filled with them."""
    tape = Material("Tape", Decimal(5), [Strip(2, Decimal(100), "2"), Strip(40, Decimal(10), "40")])
    assert [width for _, width, _ in bars(root(tape))] == ["100.00"] * 2 + ["10.00"] * MOST_BARS


def test_a_millimetre_of_the_drawing_is_a_millimetre_of_paper():
    """So that a strip at 1 : 1 can be laid on it."""
    svg = root(material("150"))
    width, height = svg.attrib["width"], svg.attrib["height"]
    assert svg.attrib["viewBox"] == f"0 0 {width.removesuffix('mm')} {height.removesuffix('mm')}"
    assert width == f"{WIDTH}mm"


def test_where_people_read_to_the_left_bars_begin_at_the_right():
    """And so do their words."""
    svg = root(material("100"), rightward=False)
    assert bars(svg) == [("70.00", "100.00", "5.00")]
    assert {(each.attrib["x"], each.attrib["text-anchor"]) for each in svg.iter(f"{SVG}text")} == {("170", "end")}


def test_it_has_a_name_and_a_description_and_nothing_that_a_strict_page_forbids():
    """No style, script, link or event."""
    svg = root(material("100"))
    assert svg.attrib["role"] == "img"
    assert [(each.tag, each.text) for each in svg][:2] == [(f"{SVG}title", "To cut"), (f"{SVG}desc", "All strips")]
    assert {each.tag.removeprefix(SVG) for each in svg.iter()} == {"svg", "title", "desc", "text", "rect"}
    assert not any(name.startswith("on") or name in ("style", "href") for each in svg.iter() for name in each.attrib)


def test_words_that_would_be_markup_are_text():
    """Whatever a step is called."""
    svg = root(material("100", text="<script>&\"'\x00"))
    assert [each.text for each in svg.iter(f"{SVG}text")] == ["Tape", "<script>&\"'\ufffd"]


def test_a_line_that_is_too_long_ends_in_dots():
    """Letters of East Asia take the room of two."""
    assert shortened("a" * MOST_LETTERS) == "a" * MOST_LETTERS
    assert shortened("a" * (MOST_LETTERS + 1)) == "a" * MOST_LETTERS + "…"
    assert shortened("日" * 50) == "日" * (MOST_LETTERS // 2) + "…"
