"""The tax part against published example invoices: `tests/data/en16931-cases.json` names the source of each case.

A case's rates become a tax profile with a code for each (category, rate); its lines, allowances and charges become
amounts under their code. Reverse charge, exempt and zero-rated categories are codes of rate 0. Some cases contradict
themselves at line level (`source_inconsistencies`): nets are used, not prices.
"""

import json
from collections import Counter
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from builders import a_profile, tax_rules_of

from quoter.engine.adjustments import closest
from quoter.engine.tax import Amount, TaxRules, cash_total, tax_rows, tax_total
from quoter.money import Currency

FILE = Path(__file__).parents[1] / "data" / "en16931-cases.json"
CASES = json.loads(FILE.read_text(), parse_float=Decimal, parse_int=Decimal)["cases"]
each_case = pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
MODES = ("half-up", "half-even", "down", "up")

Case = dict[str, Any]


def code_of(entry: Case) -> str:
    """One tax code for each category and rate."""
    return f"{entry['vat_category']}{entry['vat_rate']}"


def rules_of(case: Case, **tax: Any) -> TaxRules:
    """The tax rules of a case: its codes with their rates."""
    rates = {code_of(row): row["vat_rate"] / 100 for row in case["vat_breakdown"]}
    return tax_rules_of(rates=rates, digits=int(case["decimals"]), **tax)


def amounts_of(case: Case) -> list[Amount]:
    """Line nets, allowances (taken off) and charges (put on), each under its code."""
    lines = [(code_of(line), line["net_amount"]) for line in case["lines"]]
    off = [(code_of(each), -each["amount"]) for each in case["document_allowances"]]
    return [*lines, *off, *((code_of(each), each["amount"]) for each in case["document_charges"])]


def usable(case: Case, purpose: str) -> bool:
    """Whether the source itself is consistent enough for a purpose."""
    return purpose in case["derived"]["usable_for"]


@each_case
def test_nets_add_up_to_the_published_totals(case: Case):
    """BR-CO-13 and BR-S-08: without tax, in all and for each rate."""
    assert sum(net for _, net in amounts_of(case)) == case["totals"]["total_without_vat"]
    taxable = {row.code: row.taxable for row in tax_rows(amounts_of(case), rules_of(case))}
    published = {code_of(row): row["taxable_amount"] for row in case["vat_breakdown"]}
    assert taxable == published


@each_case
def test_tax_of_each_rate_is_the_published_one(case: Case):
    """BR-CO-17, BR-CO-14, BR-CO-15: rounded once for each rate, half up; the one inclusive invoice stands below."""
    if not usable(case, "tax_per_rate_half_up"):
        assert usable(case, "tax_inside_inclusive_total")
        return
    rows = tax_rows(amounts_of(case), rules_of(case))
    published = {code_of(row): row["tax_amount"] for row in case["vat_breakdown"]}
    assert {row.code: row.tax for row in rows} == published
    total = tax_total(amounts_of(case), rules_of(case))
    assert total == case["totals"]["total_vat"]
    assert case["totals"]["total_without_vat"] + total == case["totals"]["total_with_vat"]


@pytest.mark.parametrize("mode", MODES)
@each_case
def test_a_mode_reproduces_the_published_tax_where_the_file_says_so(case: Case, mode: str):
    """Half up must, the others only where the third decimal does not tell them apart: ties are among the cases."""
    total = tax_total(amounts_of(case), rules_of(case, mode=mode))
    reproduces = case["derived"]["file_vat_equals_per_rate_rounding_with"][mode.replace("-", "_")]
    assert (total == case["totals"]["total_vat"]) is reproduces


@each_case
def test_rounding_each_line_gives_what_the_file_says(case: Case):
    """Stage line differs from stage rate by a cent in some invoices: both figures are in the file."""
    total = tax_total(amounts_of(case), rules_of(case, stage="line"))
    derived = case["derived"]
    assert total == derived["vat_total_if_rounded_per_line_half_up"]
    assert (total != case["totals"]["total_vat"]) is derived["per_line_differs_from_file"]


def test_an_invoice_that_was_worked_back_from_its_gross_cannot_be_worked_forward():
    """xr-12: 4743.75 holds 757.41 at 19 %. Forward, 3986.34 gives 757.40, and 3986.35 gives 757.41: both a cent off."""
    (case,) = (case for case in CASES if usable(case, "tax_inside_inclusive_total"))
    rules = rules_of(case)
    assert tax_total([("S19", Decimal("3986.34"))], rules) == Decimal("757.40")  # 757.4046
    assert tax_total([("S19", Decimal("3986.35"))], rules) == Decimal("757.41")  # 757.4065
    net, reached = closest(Decimal("0.00"), Decimal("4743.75"), [], "S19", rules)
    assert (net, reached) == (case["totals"]["total_without_vat"], Decimal("4743.74"))  # of two as close, the smaller


@pytest.mark.parametrize(
    ("name", "increment"),
    [("pp-07", "1"), ("an-06", "1")],  # the notes of the cases: to a whole krone, to a whole dollar
)
def test_an_amount_due_to_a_whole_coin_has_the_published_rounding(name: str, increment: str):
    """BR-CO-16: amount due = total with tax - paid + rounding amount, which is what cash rounding adds."""
    (case,) = (case for case in CASES if case["id"] == name)
    totals = case["totals"]
    open_amount = totals["total_with_vat"] - totals["paid_amount"]
    due = cash_total(open_amount, a_profile(cash_increment=increment), Currency(case["currency"], 2))
    assert (due, due - open_amount) == (totals["amount_due"], totals["rounding_amount"])


def test_the_cases_have_what_they_are_for():
    """Ties, several rates, allowances, charges, reverse charge, no decimals: a shortened file must not pass."""
    features = Counter(feature for case in CASES for feature in case["features"])
    assert len(CASES) == 21
    assert {"tie", "two_rates", "document_allowance", "document_charge", "reverse_charge"} <= set(features)
    assert {"zero_decimal_currency", "per_line_vs_per_rate", "exempt", "inclusive_origin"} <= set(features)
