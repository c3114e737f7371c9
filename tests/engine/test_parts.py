"""Part lines: landed cost and graduated markup (rule 4, Part)."""

from decimal import Decimal

import pytest
from builders import PORT, a_book, a_part, line_of, nets, quoted

from quoter.quote import Charge

BANDS = [{"upto": 20, "rate": "1.0"}, {"upto": 60, "rate": "0.6"}, {"rate": "0.35"}]


def part_line(cost: str, markup: list = BANDS, **given: object) -> Charge:
    """The part line of a job with one battery."""
    book = a_book(parts=[a_part("B1", cost=cost, **given.pop("part", {})), PORT], markup=markup, **given)
    return line_of(quoted(book), "part").charge


@pytest.mark.parametrize(
    ("cost", "price"),
    [
        ("0", "0.00"),
        ("10", "20.00"),
        ("20", "40.00"),
        ("20.01", "40.02"),  # 20.01 + 20 + 0.6 × 0.01 = 40.016
        ("60", "104.00"),  # 60 + 20 + 0.6 × 40
        ("60.01", "104.01"),  # and 0.01 × 1.35 = 0.0135 on top
        ("100", "158.00"),  # 60 + 20 + 24 + 40 × 1.35
    ],
)
def test_each_band_of_markup_is_on_its_own_slice_of_landed_cost(cost: str, price: str):
    """100 % to 20, 60 % to 60, 35 % above, worked by hand on both sides of each edge."""
    assert str(part_line(cost).net) == price


def test_one_band_without_end_is_a_flat_markup():
    """Cost 50, markup 40 %: price 70 (posapt.au)."""
    assert str(part_line("50", [{"rate": "0.4"}]).net) == "70.00"


@pytest.mark.parametrize(
    ("part", "landed"),
    [
        ({"freight": "1.65"}, "11.65"),
        ({"currency": "USD"}, "9.20"),
        ({"currency": "USD", "freight": "0.67"}, "9.87"),  # freight is in the book's currency
        ({"currency": "EUR", "freight": "1"}, "11"),  # the book's own currency needs no rate
    ],
)
def test_landed_cost_is_cost_by_exchange_rate_and_freight(part: dict, landed: str):
    """10.00 at 0.92, with freight on top; the markup is on what has landed."""
    charge = part_line("10", [{"rate": "0.5"}], part=part, fx={"USD": "0.92"})
    assert charge.cost == Decimal(landed)
    assert charge.unit_price == Decimal(landed) * Decimal("1.5")


@pytest.mark.parametrize(("rate", "net"), [("0.0005", "10.01"), ("0.0004", "10.00")])
def test_a_part_is_rounded_half_up_once(rate: str, net: str):
    """10.005 is a tie, 10.004 is not."""
    assert str(part_line("10", [{"rate": rate}]).net) == net


def test_parts_stand_in_the_order_of_their_steps():
    """Of steps.csv, not of parts.csv nor of the job."""
    parts = [PORT, a_part("B1", cost=30)]
    assert nets(quoted(a_book(parts=parts), repairs=["port", "battery"]), "part") == ["30.00", "8.00"]


def test_a_part_that_costs_nothing_is_still_listed():
    """The customer's own part, or one under warranty."""
    assert str(part_line("0").net) == "0.00"


@pytest.mark.parametrize(("cost", "bands"), [("20", 1), ("20.01", 2), ("60", 2), ("60.01", 3)])
def test_the_derivation_shows_only_the_bands_that_count(cost: str, bands: int):
    """A band that begins where the cost ends has no share in it; the last has no end to name."""
    names = [(cell.row, cell.column) for cell in part_line(cost).because.inputs]
    edges = [(f"parts.markup {number}", column) for number in (1, 2, 3) for column in ("rate", "upto")]
    assert names == [("B1", "cost"), ("B1", "freight"), *edges[: min(2 * bands, 5)]]


def test_a_foreign_parts_derivation_names_its_currency_and_the_rate():
    """With the exchange rate as a cell of the book."""
    charge = part_line("10", part={"currency": "USD"}, fx={"USD": "0.92"})
    assert [(cell.table, cell.row, cell.column, cell.value) for cell in charge.because.inputs[:4]] == [
        ("parts", "B1", "cost", "10"),
        ("parts", "B1", "currency", "USD"),
        ("book", "fx", "USD", "0.92"),
        ("parts", "B1", "freight", "0"),
    ]
    assert charge.because.working[0].formula == "10 × 0.92 + 0"
    assert part_line("10").because.working[0].formula == "10 + 0"


# examples of time-and-material pricing, end to end


@pytest.mark.parametrize(
    ("hourly", "markup", "minutes", "cost", "net"),
    [
        ("33.00", "0.75", 240, "200", "482.00"),  # bicycles: 4 h at 33, 200 of parts, 75 % loading
        ("35.00", "0.80", 720, "100", "600.00"),  # engines: 12 h at 35, 100 of parts, 80 % loading
    ],
)
def test_time_and_material_comes_out_as_in_the_textbook(hourly: str, markup: str, minutes: int, cost: str, net: str):
    """accountingdetails.com, time and material pricing: hours by rate, parts, and a loading on parts."""
    book = a_book(
        difficulty=[{"code": "usual", "hourly_rate": hourly}],
        markup=[{"rate": markup}],
        steps=[{"code": "fit", "low": minutes, "likely": minutes, "high": minutes, "slot": "battery"}],
        procedures=[{"code": "battery", "slot": "battery", "goals": "fit"}],
        parts=[a_part("B1", cost=cost)],
    )
    assert str(quoted(book).totals.net) == net
