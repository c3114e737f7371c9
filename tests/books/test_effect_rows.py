"""Many figures in little memory: what goes in comes out."""

import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoter.books.effect_rows import NotPriced, Rows, Side, Sides, WholeNumbers, decimal, whole
from quoter.books.effect_summary import Spread, rounded_ratio, spread_of, takings_of
from quoter.engine.earnings import Earning
from quoter.money import Currency


def amounts(digits: int, most: int = 10**26) -> st.SearchStrategy[Decimal]:
    """Up to 26 digits, more than a column of 8 bytes holds."""
    return st.integers(-most, most).map(lambda number: decimal(number, digits))


@st.composite
def earnings(draw: st.DrawFn) -> Earning:
    """In a currency of two decimals; a net of nothing has no margin."""
    net = draw(amounts(2) | amounts(2, 5))
    margin = draw(amounts(6)) if net else None
    return Earning(net, draw(amounts(2)), draw(amounts(6)), margin, draw(st.booleans()))


SIDES: st.SearchStrategy[Side] = st.one_of(st.none(), st.text().map(NotPriced), earnings())


@given(st.lists(SIDES))
def test_sides_come_out_as_they_went_in(given_sides: list[Side]):
    """Also those that outgrow a column, with every decimal as it was written."""
    sides = Sides(2)
    for each in given_sides:
        sides.append(each)
    found = [sides[place] for place in range(len(sides))]
    assert found == given_sides
    assert list(map(str, found)) == list(map(str, given_sides))


def test_a_column_goes_on_where_8_bytes_end():
    """The numbers on both sides of the end, and those before them."""
    numbers = [0, 2**63 - 1, -(2**63), 2**63, -(2**63) - 1, 7]
    column = WholeNumbers()
    for number in numbers:
        column.append(number)
    assert [column[place] for place in range(len(numbers))] == numbers


@pytest.mark.parametrize(("value", "digits"), [("0.001", 2), ("0.5", 0), ("1E-7", 6)])
def test_nothing_is_cut_off(value: str, digits: int):
    """An amount of more decimals than its currency has is no amount in it."""
    with pytest.raises(ValueError, match="decimals"):
        whole(Decimal(value), digits)


def test_a_row_takes_few_bytes():
    """34 for each side, where four Decimals alone take 416."""
    sides = Sides(2)
    for number in range(1000):
        sides.append(Earning(Decimal(number), Decimal(number), Decimal(number), Decimal(0), below_floor=False))
    columns = [getattr(sides, name) for name in ("_net", "_gross", "_cost", "_margin")]
    assert sum(sys.getsizeof(column._values) for column in columns) + sys.getsizeof(sides.states) < 40 * 1000


def test_equal_reasons_are_kept_once():
    """A book without a part refuses thousands of entries for one reason."""
    sides = Sides(2)
    for _ in range(2):
        sides.append(NotPriced("".join(["no ", "battery"])))
    first, second = sides[0], sides[1]
    assert isinstance(first, NotPriced)
    assert isinstance(second, NotPriced)
    assert first.reason is second.reason


def test_rows_are_a_sequence():
    """With slices, negative places and an end."""
    rows = Rows(3, lambda place: place * 10)
    assert (list(rows), rows[-1], rows[1:], rows[:0], len(rows)) == ([0, 10, 20], 20, [10, 20], [], 3)
    with pytest.raises(IndexError):
        rows[3]


@pytest.mark.parametrize(
    ("numbers", "expected"),
    [
        ([5], ("0.05", "0.05", "0.05")),
        ([3, 1, 2], ("0.01", "0.02", "0.03")),
        ([4, 1, 2, 9], ("0.01", "0.03", "0.09")),
        ([1, 2], ("0.01", "0.02", "0.02")),  # 1.5, half up
        ([-1, -2], ("-0.02", "-0.02", "-0.01")),  # −1.5, away from zero
        ([-1, 2], ("-0.01", "0.01", "0.02")),  # 0.5
        ([-2, 1], ("-0.02", "-0.01", "0.01")),
        ([-1, 1], ("-0.01", "0.00", "0.01")),
    ],
)
def test_the_median_of_an_even_number_is_the_mean_of_two(numbers: list[int], expected: tuple[str, ...]):
    """To the minor unit, half up, ties away from zero."""
    assert spread_of(numbers, 2) == Spread(*map(Decimal, expected))


def test_nothing_has_no_spread():
    """Not even of zero."""
    assert spread_of([], 2) is None


@pytest.mark.parametrize(
    ("part", "base", "expected"),
    [
        (1, 3, "0.333333"),
        (2, 3, "0.666667"),
        (-2, 3, "-0.666667"),
        (2, -3, "-0.666667"),
        (1, 2_000_000, "0.000001"),
        (-1, 2_000_000, "-0.000001"),
        (1, 2_000_001, "0.000000"),
        (0, -7, "0.000000"),
        (5, 0, None),
    ],
)
def test_a_ratio_has_6_decimals_half_up(part: int, base: int, expected: str | None):
    """Ties away from zero; of nothing there is none."""
    found = rounded_ratio(part, base)
    assert (found if found is None else str(found)) == expected


@pytest.mark.parametrize(("digits", "margin"), [(0, "0.250000"), (2, "0.250000"), (3, "0.250000")])
def test_the_margin_of_sums_by_hand(digits: int, margin: str):
    """Net 1 + 3, cost 1.5 + 1.5: (4 − 3) ÷ 4, whatever the currency's decimals."""
    sides = Sides(digits)
    for net in (1, 3):
        sides.append(Earning(Decimal(net), Decimal(net), Decimal("1.5"), Decimal(0), below_floor=False))
    takings = takings_of(sides, range(2), Currency("XXX", digits))
    assert (takings.net, takings.cost, str(takings.margin)) == (4, 3, margin)
