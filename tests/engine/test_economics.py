"""Cost, margin and floor, for the owner's eyes (rule 6)."""

from decimal import Decimal

import pytest
from builders import PORT, a_book, a_job, a_part, a_row, a_step, quoted, use

from quoter.engine.economics import warranty_reserve
from quoter.engine.price import price


def test_cost_is_everything_that_the_job_costs_the_shop():
    """Worked by hand, each term by itself."""
    book = a_book(
        parts=[a_part("B1", cost=30, freight=2, failure_rate="0.1"), PORT],
        markup=[{"rate": 1}],
        consumables=[a_row("wipe", pack_price=3, pack_size=2)],
        usage=[use("open", "wipe")],
        settings={"consumables.markup": 1, "labour.increment_minutes": 15, "risk.loading": 2, "labour.bench_rate": 60},
        findings=[a_row("swollen", charge=50, disposal=4, chance="0.05", consequence=100)],
    )
    # part 32; wipe 1.50; 18 minutes (not the 30 billed) at 24.00 an hour 7.20; disposal 4;
    # expected loss 5, unloaded and without the charge; reserve 0.1 × (32 + 7.20)
    assert quoted(book, findings=["swollen"]).economics.cost == Decimal("53.62")


def test_labour_costs_its_quoted_minutes_unrounded():
    """(5 + 4 × 8 + 17) ÷ 6 = 9 minutes and a reserve of 2 z, with an allowance of 10 %, at 24.00 an hour."""
    book = a_book(
        steps=[a_step("s", (5, 8, 17))], procedures=[a_row("a", goals="s")], parts=[],
        settings={"labour.confidence": "0.9", "labour.allowance": "0.1", "labour.increment_minutes": 60},
    )  # fmt: skip
    # 1.1 × (9 + 2 × 1.2815515655) = 12.7194134 minutes, × 0.4
    assert str(quoted(book, repairs=["a"]).economics.cost) == "5.087765"


def test_the_warranty_reserve_is_by_repair():
    """Of each repair its main part's failure rate by (its landed cost + the repair's own labour at cost)."""
    parts = [a_part("B1", cost=30, failure_rate="0.1"), a_part("P1", slot="port", cost=8, failure_rate="0.5")]
    book = a_book(parts=parts)
    # battery owns opening, fitting and closing: 18 minutes, 7.20; port fits for 20 minutes, 8.00
    assert warranty_reserve(price(a_job(repairs=["battery", "port"]), book).work, book) == Decimal("3.72") + 8


def test_a_part_that_is_no_repairs_main_part_is_not_reserved_for():
    """A seal that comes along with the battery."""
    steps = [a_step("fit-battery", 10, slot="battery"), a_step("fit-seal", 5, slot="seal")]
    parts = [a_part("B1", cost=30), a_part("S1", slot="seal", cost=8, failure_rate=1)]
    procedures = [a_row("battery", slot="battery", goals="fit-battery fit-seal")]
    book = a_book(steps=steps, parts=parts, procedures=procedures)
    assert quoted(book).economics.cost == 30 + 8 + 6  # 15 minutes at 24.00


@pytest.mark.parametrize(
    ("cost", "price", "margin"),
    [
        # markup against margin, worked from margin = markup ÷ (1 + markup); 50 and 70 by posapt.au
        ("50", "70", "0.285714"),
        ("5", "10", "0.500000"),  # skillmaker.edu.au: a markup of 100 % is a margin of 50 %
        ("4", "5", "0.200000"),  # a markup of 25 %
        ("100", "120", "0.166667"),
        ("27.40", "32.88", "0.166667"),  # 20 % added to the cost is no margin of 20 %
        ("10", "5", "-1.000000"),
    ],
)
def test_margin_is_a_share_of_the_price(cost: str, price: str, margin: str):
    """(price − cost) ÷ price, to 6 decimals; a job with nothing but a part and a menu price."""
    assert str(quoted(part_only(cost, price)).economics.margin) == margin


@pytest.mark.parametrize(
    ("minimum_margin", "floor", "below"),
    [("0", "27.400000", False), ("0.2", "34.250000", True), ("0.1", "30.444444", False)],
)
def test_the_floor_is_cost_by_one_less_the_least_margin(minimum_margin: str, floor: str, below: bool):
    """connollysbs.com.au: 27.40 for a margin of 20 % is 34.25, and 32.88 is below it."""
    economics = quoted(part_only("27.40", "32.88", minimum_margin)).economics
    assert (str(economics.floor), economics.below_floor) == (floor, below)


@pytest.mark.parametrize(("price", "below"), [("34.24", True), ("34.25", False), ("34.26", False)])
def test_a_net_at_the_floor_is_not_below_it(price: str, below: bool):
    """Both sides of 34.25, and it."""
    assert quoted(part_only("27.40", price, "0.2")).economics.below_floor is below


def part_only(cost: str, price: str, minimum_margin: str = "0"):
    """A book whose only line beside a part without work is the menu price."""
    return a_book(
        settings={"policy.minimum_margin": minimum_margin},
        steps=[a_step("fit", 0, slot="battery")],
        procedures=[a_row("battery", slot="battery", goals="fit")],
        parts=[a_part("B1", cost=cost)],
        menu=[{"procedure": "battery", "net": price}],
    )
