"""Figures in bins with round edges. Expected bins are by hand."""

from collections.abc import Iterable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoter.documents.bins import Bin, change_bins, margin_bins, median_of, round_step

CENT = Decimal("0.01")
CHANGES = st.lists(st.integers(-(10**9), 10**9).map(lambda cents: Decimal(cents).scaleb(-2)))
MARGINS = st.lists(st.integers(-5_000_000, 1_000_000).map(lambda rate: Decimal(rate).scaleb(-6)))


def decimals(*numbers: float | str) -> list[Decimal]:
    """As they are written."""
    return [Decimal(str(number)) for number in numbers]


def plain(bins: Iterable[Bin]) -> list[tuple[str, str, int]]:
    """Edges as text; none is an empty one."""
    return [(edge_text(each.lower), edge_text(each.upper), each.count) for each in bins]


def edge_text(edge: Decimal | None) -> str:
    """Nothing where there is no edge."""
    return "" if edge is None else str(edge)


@pytest.mark.parametrize(
    ("span", "most", "smallest", "step"),
    [
        ("0", 6, "0.01", "0.01"),
        ("0.06", 6, "0.01", "0.01"),
        ("0.07", 6, "0.01", "0.02"),
        ("7", 6, "0.01", "2.00"),
        ("12", 6, "0.01", "2.00"),
        ("12.01", 6, "0.01", "5.00"),
        ("31", 6, "0.01", "10.00"),
        ("123", 6, "1", "50"),
        ("4", 6, "1", "1"),
        ("1000000", 5, "1", "200000"),
        ("0.9", 10, "0.01", "0.10"),
    ],
)
def test_a_step_is_1_2_or_5_times_a_power_of_ten(span: str, most: int, smallest: str, step: str):
    """The first that covers the span, with the unit's decimals."""
    assert str(round_step(Decimal(span), most, Decimal(smallest))) == step


def test_changes_on_both_sides():
    """Seven changes, so six bins at most: three a side, of 1.00. What is exactly 1.00 is in the bin up to 1.00."""
    bins = change_bins(decimals("0.01", "1.00", "1.01", "3.00", 0, 0, "-1.00", "-2.50", "-2.51"), CENT)
    assert plain(bins.rises) == [("0.00", "1.00", 2), ("1.00", "2.00", 1), ("2.00", "3.00", 1)]
    assert plain(bins.falls) == [("-1.00", "0.00", 1), ("-2.00", "-1.00", 0), ("-3.00", "-2.00", 2)]
    assert bins.same == 2


def test_far_changes_share_a_bin_without_end():
    """Three quarters are up to 2.00, so bins go to 6.00; 1,000 and 2,000 are beyond."""
    changes = decimals(*[1] * 10, *[2] * 10, 1000, 2000)
    (*_, last) = change_bins(changes, CENT).rises
    assert plain([last]) == [("6.00", "", 2)]


def test_a_far_change_does_not_flatten_the_other_side():
    """A single fall of 9,000 beside forty rises of up to 2.00: of 41 sizes nine in ten are up to 2.00, thrice is 6."""
    bins = change_bins(decimals(*[1] * 20, *[2] * 20, -9000), CENT)
    assert plain(bins.rises) == [("0.00", "2.00", 40)]
    assert plain(bins.falls)[-1] == ("", "-6.00", 1)


def test_few_changes_have_no_outliers():
    """Of nine, each is as good as the others; of ten, one may be far."""
    (*_, last) = change_bins(decimals(*[1] * 8, 1000), CENT).rises
    assert last.upper == Decimal(1000)
    (*_, last) = change_bins(decimals(*[1] * 9, 1000), CENT).rises
    assert last.upper is None


def test_a_bin_more_is_better_than_one_without_end():
    """Bins to 6.00, and one more holds 6.50."""
    (*_, last) = change_bins(decimals(*[1] * 10, *[2] * 10, 6.5), CENT).rises
    assert (last.upper, last.count) == (Decimal(7), 1)


@pytest.mark.parametrize("changes", [[], [0], [0, 0, 0]])
def test_nothing_that_changes_has_no_bins(changes: list[int]):
    """All is the same, or there is nothing."""
    bins = change_bins(decimals(*changes), CENT)
    assert (bins.rises, bins.same, bins.falls) == ((), len(changes), ())


def test_a_bin_is_never_narrower_than_the_unit():
    """Yen have no decimals."""
    bins = change_bins(decimals(1, 1, 2, -1), Decimal(1))
    assert plain(bins.rises) == [("0", "1", 2), ("1", "2", 1)]


@given(CHANGES)
def test_every_change_is_in_one_bin(changes: list[Decimal]):
    """Those of each side, those that are none, and bins that touch."""
    bins = change_bins(changes, CENT)
    assert sum(each.count for each in bins.rises) == sum(change > 0 for change in changes)
    assert sum(each.count for each in bins.falls) == sum(change < 0 for change in changes)
    assert bins.same == changes.count(Decimal(0))
    assert len(bins.rises) + len(bins.falls) <= 12 + 2
    for inner, outer in zip(bins.rises, bins.rises[1:], strict=False):
        assert inner.upper == outer.lower
    for each in bins.rises:
        inside = [change for change in changes if each.lower < change <= (each.upper or change)]
        assert len([change for change in inside if change > 0]) == each.count


def test_margins_in_the_same_bins():
    """Of two margins, five bins at most: 0.20 to 0.42 in steps of 0.05. An edge belongs to the bin above it."""
    bins = margin_bins(decimals("0.40"), decimals("0.42"), decimals("0.20"))
    assert plain(bins.before)[-1] == ("0.40", "0.45", 1)
    assert plain(bins.after) == plain(bins.before)
    assert plain(bins.before)[0] == ("0.15", "0.20", 0)


def test_the_highest_margin_is_in_the_last_bin():
    """A margin of 1 is what costs nothing; there is none above."""
    bins = margin_bins(decimals(1), decimals("0.95"), [])
    assert plain(bins.before)[-1][1:] == ("1.00", 1)


def test_far_margins_share_bins_without_end():
    """Below and above; the other side has the same bins, empty."""
    bins = margin_bins(decimals(-4, *["0.4"] * 20), decimals(*["0.4"] * 20, "0.98"), decimals("0.2"))
    assert (bins.before[0].lower, bins.before[0].count, bins.after[0].count) == (None, 1, 0)
    assert (bins.after[-1].upper, bins.after[-1].count, bins.before[-1].count) == (None, 1, 0)


@given(MARGINS, MARGINS, st.lists(st.integers(0, 99).map(lambda rate: Decimal(rate).scaleb(-2)), max_size=2))
def test_every_margin_is_in_one_bin_and_every_floor_on_the_scale(
    before: list[Decimal], after: list[Decimal], floors: list[Decimal]
):
    """For both sides, whatever they are."""
    if not before and not after:
        return
    bins = margin_bins(before, after, floors)
    for side, margins in ((bins.before, before), (bins.after, after)):
        assert sum(each.count for each in side) == len(margins)
        for each in side:
            assert each.count <= sum((each.lower or m) <= m <= (each.upper or m) for m in margins)
    ended = [each for each in bins.before if each.lower is not None and each.upper is not None]
    assert all(ended[0].lower <= floor <= ended[-1].upper for floor in floors)
    assert [(b.lower, b.upper) for b in bins.before] == [(a.lower, a.upper) for a in bins.after]


@pytest.mark.parametrize(
    ("figures", "expected"),
    [(["1", "2", "9"], "2.00"), (["0.01", "0.02"], "0.02"), (["-0.02", "-0.01"], "-0.02"), (["7"], "7.00")],
)
def test_the_median_to_the_unit(figures: list[str], expected: str):
    """Half up, ties away from zero."""
    assert str(median_of(decimals(*figures), CENT)) == expected
