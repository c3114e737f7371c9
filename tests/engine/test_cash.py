"""Cash totals: what countries' rules make of a final total that is paid in coins and notes.

Only the total is rounded, never a line or the tax. Ties go up in Sweden, Norway, Denmark and Hungary; New Zealand's
five is the shop's choice, usually down; steps of 0.05 have no ties where prices are whole cents.
"""

from decimal import Decimal
from typing import NamedTuple

import pytest
from builders import a_book, a_profile, quoted

from quoter.engine.tax import cash_total
from quoter.money import Currency


class Rule(NamedTuple):
    """A country's increment and tie, its source, and totals with what they become."""

    country: str
    currency: str
    increment: str
    mode: str
    source: str
    totals: str


FIVE_CENTS = (
    "10.00:10.00 10.01:10.00 10.02:10.00 10.03:10.05 10.04:10.05 10.05:10.05 "
    "10.06:10.05 10.07:10.05 10.08:10.10 10.09:10.10"
)
WHOLE = "10.00:10 10.01:10 10.49:10 10.50:11 10.99:11"
TEN_DOWN = "10.01:10.00 10.05:10.00 10.06:10.10 10.10:10.10 10.15:10.10 10.19:10.20"
TEN_UP = "10.04:10.00 10.05:10.10 10.06:10.10"
DANISH = "10.00:10.00 10.24:10.00 10.25:10.50 10.74:10.50 10.75:11.00 10.99:11.00 405.85:406.00"
HUNGARIAN = "0.01:0 2.49:0 2.50:5 4.99:5 5.01:5 7.49:5 7.50:10 9.99:10"

RULES = (
    Rule("Canada", "CAD", "0.05", "half-up", "Budget 2012; Royal Canadian Mint", FIVE_CENTS),
    Rule("Australia", "AUD", "0.05", "half-up", "ACCC (Dec 2000) on the 1991 guideline", FIVE_CENTS),
    Rule("New Zealand", "NZD", "0.10", "half-down", "Reserve Bank (2006): recommended, the five down", TEN_DOWN),
    Rule("New Zealand, up", "NZD", "0.10", "half-up", "Reserve Bank (2006): the five is the shop's choice", TEN_UP),
    Rule("Sweden", "SEK", "1", "half-up", "Act 1970:1029 s 2 as amended by SFS 2009:283", WHOLE),
    Rule("Norway", "NOK", "1", "half-up", "Regulation 16 March 2011 no. 294 s 2", WHOLE),
    Rule("Denmark", "DKK", "0.50", "half-up", "Order 928 of 19 Sep 2008", DANISH),
    Rule("Hungary", "HUF", "5", "half-up", "Act III of 2008 s 2", HUNGARIAN),
    Rule("Finland", "EUR", "0.05", "half-up", "Act 890/2000 (recalled, not read)", FIVE_CENTS),
    Rule("Belgium", "EUR", "0.05", "half-up", "vrt.be, 28 Nov 2019", FIVE_CENTS),
    Rule("Estonia", "EUR", "0.05", "half-up", "maaleht.delfi.ee (2025)", FIVE_CENTS),
    Rule("Switzerland", "CHF", "0.05", "half-up", "SRF", f"19.32:19.30 {FIVE_CENTS}"),
    Rule("Malaysia", "MYR", "0.05", "half-up", "Bank Negara Malaysia (2008)", FIVE_CENTS),
)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.country)
def test_cash_ends_where_the_countrys_rule_says(rule: Rule):
    """Each ending on both sides of each boundary."""
    profile = a_profile(cash_increment=rule.increment, cash_mode=rule.mode)
    for pair in rule.totals.split():
        gross, cash = map(Decimal, pair.split(":"))
        assert cash_total(gross, profile, Currency(rule.currency, 2)) == cash, (pair, rule.source)


def test_without_an_increment_cash_is_the_gross():
    """The euro in most of its countries, the pound, the dollar."""
    assert cash_total(Decimal("10.03"), a_profile(), Currency("EUR", 2)) == Decimal("10.03")


def test_cash_goes_half_up_where_the_profile_does_not_say():
    """The law's default for cash_mode."""
    assert cash_total(Decimal("10.25"), a_profile(cash_increment="0.50"), Currency("DKK", 2)) == Decimal("10.50")


def test_cash_has_the_currencys_decimals():
    """A whole krone is still written with its øre, so that all totals of a quote look alike."""
    assert str(cash_total(Decimal("10.50"), a_profile(cash_increment="1"), Currency("SEK", 2))) == "11.00"


def test_cash_rounding_leaves_lines_tax_and_gross_alone():
    """48.00 net at 8.1 % is 51.888, so 51.89; in Swiss coins 51.90."""
    book = a_book(tax={"rates": {"std": "0.081"}, "cash_increment": "0.05"}, settings={"currency": "CHF"})
    for payment in ("cash", "other"):
        totals = quoted(book, payment=payment).totals
        figures = (totals.net, totals.tax, totals.gross, totals.cash)
        assert figures == tuple(map(Decimal, ("48.00", "3.89", "51.89", "51.90")))
