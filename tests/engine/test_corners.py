"""Corners of the rules where two of them meet."""

from decimal import Decimal

import pytest
from builders import PORT, a_book, a_part, a_row, a_step, line_of, quoted, use

from .calculator import worked_out

MILLIONTH = Decimal("0.000001")


def test_a_part_that_costs_nothing_is_a_part_that_is_fitted():
    """The rule asks whether a part is fitted, not what it cost."""
    any_part = {"when": "any_part", "lines": ["labour"], "code": "taxed"}
    tax = {"rates": {"taxed": "0.06", "free": "0"}, "lines": {"labour": "free"}, "reclass": [any_part]}
    book = a_book(tax=tax, parts=[a_part("B1", cost=0), PORT])
    assert line_of(quoted(book), "labour").tax_code == "taxed"


def test_a_tax_code_that_no_line_has_may_begin_later():
    """Only what is sold must have a rate."""
    book = a_book(tax={"rates": {"std": "0.2", "later": [("VAT", "0.1", "2030-01-01")]}})
    assert quoted(book).totals.tax > 0


def test_who_does_without_a_part_is_told_what_each_grade_would_cost():
    """None is fitted, so all are others."""
    steps = [a_step("fit", 5, slot="battery", without_part="skip"), a_step("skip", 1)]
    procedures = [a_row("battery", slot="battery", goals="fit")]
    parts = [a_part("B1"), a_part("B2", grade="compatible")]
    quote = quoted(a_book(steps=steps, procedures=procedures, parts=parts), parts={"battery": None})
    assert [each.grade for each in quote.alternatives] == ["genuine", "compatible"]


def test_the_grade_that_is_chosen_is_no_alternative_even_where_its_step_is_saved():
    """The seal makes the fitting needless; the battery is still the one that was chosen."""
    steps = [a_step("fit", 5, slot="battery"), a_step("seal", 1, slot="seal")]
    procedures = [a_row("battery", slot="battery", goals="fit seal")]
    parts = [a_part("B1"), a_part("B2", grade="compatible"), a_part("S1", slot="seal", saves="fit")]
    quote = quoted(a_book(steps=steps, procedures=procedures, parts=parts))
    assert [each.grade for each in quote.alternatives] == ["compatible"]


def test_a_contingency_that_outgrows_the_arithmetic_is_refused_alone():
    """The quote stands; the price that nobody could name does not."""
    names = [f"g{number}" for number in range(11)]
    book = a_book(
        steps=[a_step("fit", 100000, slot="battery")],
        procedures=[a_row("battery", slot="battery", goals="fit")],
        findings=[a_row(name, time_factor=100, emerges="yes") for name in names],
    )
    assert quoted(book).ceiling.refused is not None


def test_the_formulas_round_and_settle_where_the_rules_do():
    """A menu price with more decimals than the currency; a need a hair above an increment."""
    menu = a_book(menu=[{"procedure": "battery", "net": "59.995"}])
    needs = a_book(consumables=[a_row("tape", increment="0.05")], usage=[use("open", "tape", quantity="0.1000004")])
    for book, kind in ((menu, "menu"), (needs, "consumable")):
        for working in line_of(quoted(book), kind).charge.because.working:
            assert abs(worked_out(working.formula, 2) - working.value) < MILLIONTH, working


@pytest.mark.parametrize("display", ["inclusive", "exclusive"])
def test_a_quote_names_the_book_the_currency_and_how_tax_is_shown(display: str):
    """Whoever keeps the quote, or shows it, needs no book beside it."""
    quote = quoted(a_book(settings={"code": "harbour", "currency": "JPY"}, tax={"display": display}))
    assert (quote.book, quote.currency, quote.display) == ("harbour", "JPY", display)
