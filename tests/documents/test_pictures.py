"""Pictures of an effect: what is drawn can be read by a machine, and is what the figures say."""

import random
import re
from decimal import Decimal
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoter.documents.drawing import Picture
from quoter.documents.labels import Labels
from quoter.documents.margin_drawing import Margins
from quoter.documents.pictures import changes_picture, margins_picture, relative_changes_picture
from quoter.messages import Message
from quoter.words.formats import formats_for

CENT = Decimal("0.01")
SVG = "{http://www.w3.org/2000/svg}"

PLAIN = Labels(money=str, percent=lambda rate: f"{(rate * 100).normalize():f} %")
"""Figures as they are."""


def in_german() -> Labels:
    """As a German reader is shown them, with nothing translated but a few words."""
    formats = formats_for("de-DE")
    words = {"the same": "unverändert", "How prices change": "Wie sich Preise ändern"}

    def text(message: Message) -> str:
        return words.get(message.text, message.text).format_map(message.parameters)

    return Labels(
        money=lambda amount: formats.money(amount, "EUR", 2),
        percent=formats.percent,
        count=lambda number: formats.number(Decimal(number)),
        text=text,
    )


def decimals(*numbers: object) -> list[Decimal]:
    """As they are written."""
    return [Decimal(str(number)) for number in numbers]


def margins(*rates: object, below: int = 0, floor: str | None = "0.2") -> Margins:
    """Margins with a floor of 20 %, unless told otherwise."""
    return Margins(decimals(*rates), below, None if floor is None else Decimal(floor))


def root(picture: Picture) -> ElementTree.Element:
    """The drawing as XML; fails where it is none."""
    return ElementTree.fromstring(picture.svg)


def texts(picture: Picture) -> list[str]:
    """Everything that is written in it."""
    return [element.text or "" for element in root(picture).iter(f"{SVG}text")]


def numbers_at_bars(picture: Picture) -> list[int]:
    """What bars stand for, from the top; those of a side after the other."""
    return [int(element.attrib["data-count"]) for element in root(picture).iter() if "data-count" in element.attrib]


def widths(picture: Picture, kind: str) -> list[Decimal]:
    """Of the bars of a kind, in per cent of the whole; the legend's is not in per cent."""
    bars = [each.attrib["width"] for each in root(picture).iter(f"{SVG}rect") if each.attrib.get("class") == kind]
    return [Decimal(width.rstrip("%")) for width in bars if width.endswith("%")]


MIXED = decimals("0.50", "1.00", "3.00", 0, 0, "-1.00", "-2.50")


def test_changes_by_hand():
    """Rises from the top down to what stays the same, then falls; steps of 1.00, what is 1.00 in the first."""
    picture = changes_picture(MIXED, PLAIN, CENT)
    assert numbers_at_bars(picture) == [1, 2, 2, 1, 1]
    assert texts(picture)[:1] == ["How prices change"]
    assert {"3.00", "2.00", "1.00", "the same", "-1.00", "-3.00", "3 dearer", "2 cheaper"} <= set(texts(picture))


def test_the_text_alternative_holds_the_numbers():
    """Whoever does not see the picture learns as much."""
    assert changes_picture(MIXED, PLAIN, CENT).alt == (
        "How prices change. Of 7 prices: 3 dearer, 2 cheaper, 2 the same. "
        "The changes go from -2.50 to 3.00; the one in the middle is 0.00. "
        "Dearer: 2 by up to 1.00; 1 by more than 2.00 up to 3.00. "
        "Cheaper: 1 by up to 1.00; 1 by more than 2.00 up to 3.00."
    )


def test_the_margins_text_alternative_holds_the_numbers():
    """Both sides, each with its floor and what is below it. In the middle of 0.1 and 0.4 is 0.25."""
    picture = margins_picture(margins("0.4", "0.1", below=1), margins("0.42", "0.45", floor=None), PLAIN)
    assert picture.description == (
        "Before: prices: 2; margins from 10 % to 40 %, in the middle 25 %; 1 below the floor of 20 %; "
        "1 from 10 % to below 20 %; 1 from 40 % to 50 %. "
        "After: prices: 2; margins from 42 % to 45 %, in the middle 43.5 %; 0 below their floor; "
        "2 from 40 % to 50 %."
    )


@pytest.mark.parametrize(
    "picture",
    [
        changes_picture(MIXED, PLAIN, CENT),
        changes_picture([], PLAIN, CENT),
        relative_changes_picture(decimals("0.1", "-0.25"), PLAIN),
        margins_picture(margins("0.4"), margins("0.1", below=1), PLAIN),
        margins_picture(margins(), margins(), PLAIN),
    ],
    ids=["changes", "no changes", "relative", "margins", "no margins"],
)
def test_a_picture_is_an_image_with_a_name_and_nothing_from_outside(picture: Picture):
    """Role, title and description, each named by its id; no script, font, link or style attribute."""
    svg = root(picture)
    assert svg.attrib["role"] == "img"
    by_id = {element.attrib["id"]: element for element in svg.iter() if "id" in element.attrib}
    title, description = (by_id[name] for name in svg.attrib["aria-labelledby"].split())
    assert (title.tag, title.text, description.tag, description.text) == (
        *(f"{SVG}title", picture.title, f"{SVG}desc"),
        picture.description,
    )
    assert {element.tag.removeprefix(SVG) for element in svg.iter()} <= {
        *("svg", "title", "desc", "style", "defs", "pattern", "rect", "line", "text"),
    }
    assert not any(name.startswith("on") or name in ("style", "href") for each in svg.iter() for name in each.attrib)
    assert not re.search(r"@import|@font-face|url\((?!#hatch\))", picture.svg)


def test_colours_are_not_all_that_tells_falls_from_rises():
    """Falls are hatched and stand below what is the same; the hatch is there when no style sheet is."""
    bars = [each for each in root(changes_picture(MIXED, PLAIN, CENT)).iter(f"{SVG}rect") if "y" in each.attrib]
    places = {
        kind: [int(b.attrib["y"]) for b in bars if b.attrib["class"] == kind] for kind in ("rise", "same", "fall")
    }
    assert max(places["rise"]) < min(places["same"]) < max(places["fall"])
    assert {b.attrib["fill"] for b in bars if b.attrib["class"] == "fall"} == {"url(#hatch)"}
    assert all(b.attrib["fill"].startswith("#") for b in bars if b.attrib["class"] != "fall")


def test_figures_are_shown_as_the_reader_writes_them():
    """1,234.50 is 1.234,50 € in German, and a thousand 1.000."""
    changes = decimals(*["1234.50"] * 1000, "-0.10")
    picture = changes_picture(changes, in_german(), CENT)
    assert "1.234,50\xa0€" in picture.description
    assert "-0,10\xa0€" in picture.description
    assert {"1.000", "1.000 dearer", "unverändert", "Wie sich Preise ändern"} <= set(texts(picture))


def test_relative_changes_are_in_per_cent():
    """0.1 is 10 %."""
    picture = relative_changes_picture(decimals("0.1", "0.1", "-0.05"), in_german())
    assert "from -5\xa0% to 10\xa0%" in picture.description
    assert "in per cent" in picture.title


def test_words_that_would_be_markup_are_text():
    """Whatever a catalogue or a locale says; a character that XML cannot hold is replaced."""
    hostile = "<script>&\"'\x00\x1b\ud800]]>"
    labels = Labels(money=lambda _: hostile, percent=lambda _: hostile, count=lambda _: hostile, text=lambda _: hostile)
    for picture in (
        changes_picture(MIXED, labels, CENT),
        margins_picture(margins("0.4"), margins("0.3"), labels),
        changes_picture([], labels, CENT),
    ):
        svg = root(picture)
        assert not list(svg.iter(f"{SVG}script"))
        assert set(texts(picture)) == {"<script>&\"'\ufffd\ufffd\ufffd]]>"}
        picture.svg.encode()


def test_all_the_same_is_one_bar():
    """It fills the scale as far as its number goes, and is not cut."""
    picture = changes_picture(decimals(*[0] * 237), PLAIN, CENT)
    assert numbers_at_bars(picture) == [237]
    assert 'class="cut"' not in picture.svg
    assert "237 the same" in picture.description


def test_a_bar_that_would_dwarf_the_others_is_cut_and_says_its_number():
    """23,700 that stay the same beside three that do not."""
    picture = changes_picture(decimals(*[0] * 23_700, "0.05", "0.10", "-0.05"), PLAIN, CENT)
    assert numbers_at_bars(picture) == [1, 1, 23_700, 1]
    assert picture.svg.count('class="cut"') == 1
    assert widths(picture, "same") == widths(picture, "rise")[:1]


def test_the_longest_bar_of_changes_may_be_the_same_without_a_cut():
    """Twice as many is not dwarfing."""
    picture = changes_picture(decimals(0, 0, 1), PLAIN, CENT)
    assert 'class="cut"' not in picture.svg
    assert widths(picture, "same") == [2 * width for width in widths(picture, "rise")]


def test_one_change_alone():
    """And nothing else."""
    picture = changes_picture(decimals(5), PLAIN, CENT)
    assert numbers_at_bars(picture) == [1, 0]
    assert "from 5 to 5" in picture.description


def test_outliers_are_counted_where_bins_end():
    """The true number, with a word in place of an edge; the largest is told in words."""
    picture = changes_picture(decimals(*[1] * 20, *[2] * 20, 1000, 2000, -9000), PLAIN, CENT)
    assert numbers_at_bars(picture)[0] == 2
    assert "more" in texts(picture)
    assert "2 by more than 6.00" in picture.description
    assert "from -9000 to 2000" in picture.description


def test_a_bar_for_one_in_24_000_can_be_seen():
    """And all are there."""
    chance = random.Random(1)
    changes = decimals(*(Decimal(round(chance.gauss(-4, 9) * 100)).scaleb(-2) for _ in range(23_999)), "1234.50")
    picture = changes_picture(changes, in_german(), CENT)
    assert sum(numbers_at_bars(picture)) == 24_000
    assert min(widths(picture, "rise")) >= Decimal("0.6")
    assert len(picture.svg) < 12_000


def test_margins_by_hand():
    """Before to the left and after to the right, highest first: 0.4 and 0.3 before; two of 0.4 and one of 0.1 after."""
    picture = margins_picture(margins("0.4", "0.3"), margins("0.4", "0.41", "0.1", below=1), PLAIN)
    assert numbers_at_bars(picture) == [1, 1, 2, 1]
    assert texts(picture).count("floor 20 %") == 2
    assert {"Before", "After", "below floor: 0", "below floor: 1", "in the middle: 35 %"} <= set(texts(picture))
    assert len(widths(picture, "fall")) == 1


def test_a_bin_that_the_floor_runs_through_is_hatched_below_it():
    """A floor of 22 % between 20 and 25 %: two fifths of 16 pixels, rounded, are 6."""
    rates = [Decimal(rate).scaleb(-2) for rate in range(15, 45)]
    picture = margins_picture(Margins(rates, 7, Decimal("0.22")), Margins(rates, 7, Decimal("0.20")), PLAIN)
    bars = [each.attrib for each in root(picture).iter(f"{SVG}rect") if each.attrib.get("class") == "fall"]
    assert sorted(int(bar["height"]) for bar in bars) == [6, 16, 16]


def test_a_side_whose_floor_is_not_known_has_none_marked():
    """Issued quotes may come from many versions."""
    picture = margins_picture(margins("0.1", below=1, floor=None), margins("0.4"), PLAIN)
    assert texts(picture).count("floor 20 %") == 1
    assert not widths(picture, "fall")
    assert "1 below their floor" in picture.description


def test_far_margins_are_told_by_the_edge_that_they_are_beyond():
    """One loses four times its net, one costs next to nothing; both have a word in place of an edge."""
    before, after = margins(-4, *["0.4"] * 20, below=1), margins(*["0.4"] * 20, "0.98")
    picture = margins_picture(before, after, PLAIN)
    assert {"less", "more"} <= set(texts(picture))
    assert re.search(r"1 below 1[05] %; 20 from", picture.description)
    assert re.search(r"20 from 40 % to .*; 1 above \d+ %\.$", picture.description)
    assert len(widths(picture, "fall")) == 1


def test_a_side_may_be_empty():
    """Everything is refused after the change."""
    picture = margins_picture(margins("0.4"), margins(), PLAIN)
    assert numbers_at_bars(picture) == [1]
    assert "After: prices: 0; 0 below the floor of 20 %." in picture.description


@given(st.lists(st.integers(-(10**7), 10**7).map(lambda cents: Decimal(cents).scaleb(-2)), min_size=1))
def test_the_bars_add_up_to_the_changes(changes: list[Decimal]):
    """Whatever they are; no bar is longer than its place."""
    picture = changes_picture(changes, PLAIN, CENT)
    assert sum(numbers_at_bars(picture)) == len(changes)
    for kind in ("rise", "same", "fall"):
        assert all(0 < width <= 100 for width in widths(picture, kind))


RATES = st.lists(st.integers(-9_000_000, 1_000_000).map(lambda rate: Decimal(rate).scaleb(-6)), min_size=1)
FLOORS = st.none() | st.integers(0, 999).map(lambda rate: Decimal(rate).scaleb(-3))


@given(RATES, RATES, FLOORS, FLOORS)
def test_the_bars_add_up_to_the_margins(
    before: list[Decimal], after: list[Decimal], floor: Decimal | None, other_floor: Decimal | None
):
    """Of both sides, with any floors."""
    picture = margins_picture(Margins(before, 0, floor), Margins(after, 0, other_floor), PLAIN)
    assert sum(numbers_at_bars(picture)) == len(before) + len(after)
    assert len([line for line in root(picture).iter(f"{SVG}line") if line.attrib["class"] == "floor"]) == 2 * sum(
        each is not None for each in (floor, other_floor)
    )
