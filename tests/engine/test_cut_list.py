"""Which strips a bench cuts from a tape, worked by hand from the measures of the device."""

from decimal import Decimal

import pytest
from builders import a_book, a_row, use
from hypothesis import given
from hypothesis import strategies as st

from quoter.engine.consumables import BASES, bases_of
from quoter.engine.cut_list import Cut, cut_list

MEASURES = {"70x150": ("70", "150", "10"), "sideways": ("150", "70", "10"), "square": ("70", "150", "0")}
MEASURES["round"] = ("40", "40", "20")

Strips = list[tuple[str, int, str]]


def cuts(measures: tuple[str, str, str], *usage: object, unit: str = "m", **consumable: object) -> tuple[Cut, ...]:
    """The cut list of the small book's step `open` on a device of these measures."""
    width, height, corner = measures
    book = a_book(
        devices=[a_row("slate", width_mm=width, height_mm=height, corner_mm=corner)],
        consumables=[a_row("tape", unit=unit, **consumable), a_row("foam", unit="m"), a_row("wipe")],
        usage=usage,
    )
    return cut_list(book, "slate", ("open", "close"))


def strips(measures: tuple[str, str, str], basis: str, quantity: str) -> Strips:
    """What is cut for one row of usage."""
    found = cuts(measures, use("open", "tape", basis=basis, quantity=quantity))
    return [(piece.basis, piece.count, str(piece.length_mm)) for cut in found for piece in cut.pieces]


@pytest.mark.parametrize(
    ("device", "basis", "quantity", "expected"),
    [
        # 150 − 2 × 10 = 130, 70 − 2 × 10 = 50, 2π × 10 = 62.83…, up to 62.9
        ("70x150", "perimeter", "1", [("long_sides", 2, "130.0"), ("short_sides", 2, "50.0"), ("corners", 1, "62.9")]),
        (
            "sideways",
            "perimeter",
            "1",
            [("long_sides", 2, "130.0"), ("short_sides", 2, "50.0"), ("corners", 1, "62.9")],
        ),
        ("square", "perimeter", "1", [("long_sides", 2, "150.0"), ("short_sides", 2, "70.0")]),
        ("round", "perimeter", "1", [("corners", 1, "125.7")]),  # 40π = 125.66…
        ("70x150", "long_sides", "1", [("long_sides", 2, "130.0")]),
        ("70x150", "short_sides", "1", [("short_sides", 2, "50.0")]),
        ("round", "long_sides", "1", []),
        ("70x150", "long_sides", "1.05", [("long_sides", 2, "136.5")]),  # 130 × 1.05
        ("70x150", "short_sides", "1.051", [("short_sides", 2, "52.6")]),  # 52.55, up
        ("70x150", "long_sides", "2", [("long_sides", 4, "130.0")]),  # two layers
        ("70x150", "long_sides", "2.1", [("long_sides", 4, "136.5")]),  # two layers, each 2.1 ÷ 2 = 1.05 as long
        ("70x150", "short_sides", "0.5", [("short_sides", 2, "25.0")]),  # half of each
        ("70x150", "each", "0.3", [("each", 1, "300.0")]),
        ("70x150", "each", "2.5", [("each", 1, "2500.0")]),
        ("square", "area", "20", [("area", 1, "210.0")]),  # 0.15 × 0.07 m² × 20 m for each
        ("70x150", "perimeter", "0", []),
    ],
)
def test_the_strips_of_one_row_of_usage(device: str, basis: str, quantity: str, expected: Strips):
    """Sides without their corners, corners as one strip, lengths up to a tenth of a millimetre."""
    assert strips(MEASURES[device], basis, quantity) == expected


def test_only_what_is_bought_by_the_metre_is_cut_in_the_order_of_the_consumables():
    """Wipes and millilitres have no length; of two steps, each has its strips."""
    rows = (
        use("close", "foam", basis="short_sides"),
        use("open", "tape", basis="long_sides"),
        use("close", "tape", basis="each", quantity="0.1"),
        use("open", "wipe", quantity=2),
        use("fit-port", "tape", quantity=9),
    )
    found = cuts(MEASURES["70x150"], *rows, width_mm=5)
    assert [(cut.consumable.code, cut.consumable.width_mm) for cut in found] == [("tape", Decimal(5)), ("foam", None)]
    assert [(piece.step, piece.basis) for piece in found[0].pieces] == [("open", "long_sides"), ("close", "each")]
    assert cuts(MEASURES["70x150"], use("open", "tape"), unit="ml") == ()


@given(
    width=st.decimals("20", "300", places=1),
    height=st.decimals("20", "300", places=1),
    roundness=st.decimals("0", "1", places=2),
    basis=st.sampled_from(BASES),
    quantity=st.decimals("0.01", "9", places=3),
)
def test_the_strips_are_as_long_as_what_is_charged(
    width: Decimal, height: Decimal, roundness: Decimal, basis: str, quantity: Decimal
):
    """All together, but for a tenth of a millimetre that each may be longer."""
    corner = min(width, height) / 2 * roundness
    measures = (str(width), str(height), str(corner))
    (cut,) = cuts(measures, use("open", "tape", basis=basis, quantity=quantity))
    device = a_book(devices=[a_row("slate", width_mm=width, height_mm=height, corner_mm=corner)]).devices["slate"]
    charged = bases_of(device)[basis] * quantity * 1000
    total = sum((piece.count * piece.length_mm for piece in cut.pieces), Decimal(0))
    count = sum(piece.count for piece in cut.pieces)
    assert charged - Decimal("0.00001") <= total <= charged + Decimal("0.1") * count
