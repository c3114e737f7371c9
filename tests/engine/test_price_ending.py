"""The price ending: from a gross to the price asked for, or to the attainable one closest to it (rule 4, Ending)."""

from decimal import Decimal

import pytest
from builders import a_book, a_part, a_row, a_step, kinds, line_of, nets, quoted, tax_rules_of

from quoter.book import PriceEnding, RateBook
from quoter.engine.adjustments import closest, wanted_gross


def ending(mode: str, unit: str, minus: str = "0", *, part: str = "30.00", **given: object) -> RateBook:
    """A book that shows prices with tax and ends them; the work is one part, taxed at 20 % unless told otherwise."""
    tax = {"display": "inclusive", **given.pop("tax", {})}
    settings = {
        f"policy.price_ending.{key}": value for key, value in (("mode", mode), ("unit", unit), ("minus", minus))
    }
    return a_book(
        settings=settings | given.pop("settings", {}), tax=tax,
        steps=[a_step("fit", 0, slot="battery")],
        procedures=[a_row("battery", slot="battery", goals="fit")], parts=[a_part("B1", cost=part)],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("mode", "unit", "minus", "gross", "wanted"),
    [
        ("up", "5", "0.01", "36.00", "39.99"),
        ("down", "5", "0.01", "36.00", "34.99"),
        ("nearest", "5", "0.01", "36.00", "34.99"),
        ("nearest", "5", "0.01", "37.49", "39.99"),  # a tie: the higher
        ("nearest", "5", "0.01", "37.48", "34.99"),
        ("up", "5", "0.01", "39.99", "39.99"),
        ("down", "5", "0.01", "39.99", "39.99"),
        ("up", "5", "0.01", "40.00", "44.99"),
        ("down", "5", "0.01", "39.98", "34.99"),
        ("up", "1", "0", "36.01", "37"),
        ("up", "10", "0", "0.00", "0"),
        ("down", "10", "0", "9.99", "0"),
        ("up", "0.50", "0.05", "36.00", "36.45"),
        ("up", "100", "1", "1234", "1299"),
    ],
)
def test_the_price_asked_for_is_a_multiple_less_something(mode: str, unit: str, minus: str, gross: str, wanted: str):
    """k·unit − minus: the smallest not below, the largest not above, or the closer one, the higher on a tie."""
    asked = wanted_gross(Decimal(gross), PriceEnding(mode, Decimal(unit), Decimal(minus)))
    assert asked == Decimal(wanted)


@pytest.mark.parametrize(
    ("mode", "net", "gross"),
    [
        ("up", "3.33", "40.00"),  # 36.00 → 40.00: 3.33 × 1.2 = 3.996, and of 33.33 together 6.666 → 6.67
        ("down", "-0.83", "35.00"),  # 29.17 × 0.2 = 5.834
        ("nearest", "-0.83", "35.00"),
    ],
)
def test_the_line_brings_the_gross_to_the_price_asked_for(mode: str, net: str, gross: str):
    """30.00 and 6.00 of tax, on multiples of 5."""
    quote = quoted(ending(mode, "5"))
    assert nets(quote, "ending") == [net]
    assert str(quote.totals.gross) == gross


@pytest.mark.parametrize("mode", ["up", "down", "nearest"])
def test_a_price_that_ends_well_already_is_left_alone(mode: str):
    """36.00 is a multiple of 6."""
    assert "ending" not in kinds(quoted(ending(mode, "6")))


@pytest.mark.parametrize("kind", ["business", "exempt"])
def test_only_consumers_prices_end(kind: str):
    """A business sees nets."""
    assert "ending" not in kinds(quoted(ending("up", "5"), customer_kind=kind))


def test_prices_shown_without_tax_do_not_end():
    """The profile displays exclusive prices."""
    assert "ending" not in kinds(quoted(ending("up", "5", tax={"display": "exclusive"})))


@pytest.mark.parametrize("mode", ["down", "nearest"])
def test_no_price_ends_below_nothing(mode: str):
    """The multiple of 100 less 0.10 that is below (or closest to) 36.00 is −0.10: nobody pays a customer."""
    quote = quoted(ending(mode, "100", "0.10"))
    assert (kinds(quote), str(quote.totals.gross)) == (["part", "labour"], "36.00")


def test_without_a_mode_prices_do_not_end():
    """`none` is the default."""
    assert "ending" not in kinds(quoted(ending("none", "5")))


@pytest.mark.parametrize(
    ("gross", "wanted", "net", "reached"),
    [
        # at 100 % every net of n cents makes 2n cents of gross: an odd price is skipped, both neighbours a cent away
        ("10.00", "10.03", "0.01", "10.02"),  # 10.02 by 0.01, 10.04 by 0.02: the smaller change
        ("10.00", "9.97", "-0.01", "9.98"),
        ("10.00", "10.01", "0.00", "10.00"),  # the smallest change is none
        ("10.00", "9.99", "0.00", "10.00"),
        ("10.00", "10.04", "0.02", "10.04"),
    ],
)
def test_where_tax_rounding_skips_the_price_the_closest_counts(gross: str, wanted: str, net: str, reached: str):
    """On a tie the smaller change, in either direction."""
    rules = tax_rules_of(rates={"std": "1"})
    found = closest(Decimal(gross), Decimal(wanted), [("std", Decimal(gross) / 2)], "std", rules)
    assert found == (Decimal(net), Decimal(reached))


def test_a_skipped_price_ends_as_close_as_it_can():
    """At 19 %, 3986.34 makes 4743.74 and 3986.35 makes 4743.76: of the two beside 4743.75 the one that changes less."""
    quote = quoted(ending("nearest", "4743.75", part="3900.00", tax={"rates": {"std": "0.19"}}))
    assert (nets(quote, "ending"), str(quote.totals.gross)) == (["86.34"], "4743.74")
    quote = quoted(ending("nearest", "4743.75", part="4000.00", tax={"rates": {"std": "0.19"}}))
    assert (nets(quote, "ending"), str(quote.totals.gross)) == (["-13.65"], "4743.76")


@pytest.mark.parametrize(
    ("stage", "net", "gross"),
    [
        # 10.10 at 5 % and 8 % is 0.505 → 0.51 and 0.808 → 0.81: 11.42. To 12.00:
        ("line", "0.51", "12.00"),  # by itself 0.0255 → 0.03, 0.0408 → 0.04: 11.42 + 0.58
        ("rate", "0.52", "12.00"),  # 10.62: 0.531 → 0.53, 0.8496 → 0.85
        ("document", "0.52", "12.00"),
    ],
)
def test_the_ending_is_taxed_at_the_stage_of_the_profile(stage: str, net: str, gross: str):
    """As a line of its own, or together with what stands under its code."""
    tax = {"stage": stage, "rates": {"std": {"federal": "0.05", "provincial": "0.08"}}}
    quote = quoted(ending("up", "1", part="10.10", tax=tax))
    assert (nets(quote, "ending"), str(quote.totals.gross)) == ([net], gross)


def test_the_ending_carries_labours_code():
    """Also where nothing else does: the part is not taxed, what brings 30.00 to 35.00 is."""
    tax = {"rates": {"std": "0.25", "nil": "0"}, "lines": {"part": "nil"}}
    quote = quoted(ending("up", "7", tax=tax))
    assert (line_of(quote, "ending").tax_code, nets(quote, "ending")) == ("std", ["4.00"])
    assert (quote.totals.tax, quote.totals.gross) == (Decimal("1.00"), Decimal("35.00"))


def test_the_ending_comes_after_the_minimum_and_cash_after_the_ending():
    """Minimum 40.00, 48.00 with tax, ended at 49.99, paid in coins as 50.00."""
    quote = quoted(ending("up", "5", "0.01", settings={"policy.minimum_net": 40}, tax={"cash_increment": "0.05"}))
    assert nets(quote, "minimum") == ["10.00"]
    assert (quote.totals.gross, quote.totals.cash) == (Decimal("49.99"), Decimal("50.00"))


def test_the_derivation_tells_the_prices_before_asked_for_and_reached():
    """39.99 is skipped: 33.32 makes 39.98 (6.664), 33.33 makes 40.00 (6.666); 3.32 is the smaller change."""
    because = line_of(quoted(ending("up", "5", "0.01")), "ending").charge.because
    found = {working.name: str(working.value) for working in because.working}
    assert found == {
        "gross before": "36.00",
        "price wanted": "39.99",
        "tax with the line": "6.66",
        "net": "3.32",
        "gross reached": "39.98",
    }
    assert [(cell.table, cell.row, cell.column, cell.value) for cell in because.inputs] == [
        ("book", "policy.price_ending", "mode", "up"),
        ("book", "policy.price_ending", "unit", "5"),
        ("book", "policy.price_ending", "minus", "0.01"),
    ]


def test_a_currency_without_decimals_ends_on_whole_units():
    """¥30,000 and 10 %: 33,000, up to 33,980: 891 more is 30,891, tax 3,089.1 → 3,089."""
    book = ending("up", "1000", "20", part="30000", settings={"currency": "JPY"}, tax={"rates": {"std": "0.10"}})
    quote = quoted(book)
    assert (nets(quote, "ending"), str(quote.totals.gross)) == (["891"], "33980")
