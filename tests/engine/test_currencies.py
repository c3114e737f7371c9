"""Minor units of currencies: ISO 4217's own list, not what display data makes of it."""

from decimal import Decimal

import pytest
from builders import a_book, quoted

from quoter.books.currencies import minor_unit
from quoter.money import Currency, rounded_up, settled

ISO_4217 = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    2: "AED AUD BRL CAD CHF CNY CZK DKK EUR GBP HUF ILS INR MXN MYR NOK NZD PLN RON SEK SGD THB TRY TWD UAH USD ZAR",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
"""List published 1 January 2026: all that have not 2 decimals, and the 2 of the currencies of most customers."""

CLDR_SAYS_OTHERWISE = (
    "AFN ALL IRR KPW LAK LBP MGA MMK RSD SOS SYP YER "  # CLDR 47 has 0
    "HUF IDR COP PKR"  # CLDR 48 has 0
)


@pytest.mark.parametrize(
    ("code", "digits"), [(code, digits) for digits in ISO_4217 for code in ISO_4217[digits].split()]
)
def test_a_currency_has_the_decimals_of_iso_4217(code: str, digits: int):
    """Source: ISO 4217, list of 1 January 2026."""
    assert minor_unit(code) == digits


@pytest.mark.parametrize("code", CLDR_SAYS_OTHERWISE.split())
def test_where_cldr_rounds_further_iso_4217_counts(code: str):
    """Source: ISO 4217 against `currencyData` of CLDR 47 and 48, which would lose the two decimals."""
    assert minor_unit(code) == 2


def test_the_iraqi_dinar_has_three_decimals_whatever_cldr_says():
    """CLDR 47 has 0."""
    assert minor_unit("IQD") == 3


@pytest.mark.parametrize("code", ["XAU", "XAG", "XPT", "XPD", "XDR", "XXX", "ABC", "eur", "EURO", "", "€"])
def test_what_money_does_not_come_in_has_no_minor_unit(code: str):
    """Metals, drawing rights and no currency have none in the list; the rest is not in it."""
    assert minor_unit(code) is None


@pytest.mark.parametrize(
    ("currency", "net"),
    [("EUR", "48.00"), ("JPY", "48"), ("KWD", "48.000"), ("RSD", "48.00"), ("HUF", "48.00"), ("CLF", "48.0000")],
)
def test_amounts_of_a_quote_have_the_decimals_of_its_currency(currency: str, net: str):
    """From the book's currency to every total: 30 of parts and 18 of labour."""
    totals = quoted(a_book(settings={"currency": currency})).totals
    assert str(totals.net) == net
    assert {amount.as_tuple().exponent for amount in (totals.tax, totals.gross)} == {totals.net.as_tuple().exponent}


@pytest.mark.parametrize(
    ("amount", "digits", "rounded"),
    [
        ("2.665", 2, "2.67"),
        ("-2.665", 2, "-2.67"),
        ("2.6649999", 2, "2.66"),
        ("1234.5", 0, "1235"),
        ("0.0005", 3, "0.001"),
    ],
)
def test_money_is_rounded_half_up_away_from_zero(amount: str, digits: int, rounded: str):
    """The law's first paragraph; half-even would give 2.66 and 1234."""
    assert Currency("XXX", digits).round(Decimal(amount)) == Decimal(rounded)


@pytest.mark.parametrize(
    ("minutes", "increment", "billed"),
    [
        ("5.0000000001", "1", "5"),  # the law's own example: never billed as 6
        ("5.0000004999", "1", "5"),
        ("5.0000005", "1", "6"),  # settles to 5.000001
        ("5.000001", "1", "6"),
        ("4.9999999", "1", "5"),
        ("15", "15", "15"),
        ("15.1", "15", "30"),
        ("0", "15", "0"),
        ("0.12", "0.05", "0.15"),
    ],
)
def test_minutes_are_settled_before_they_are_rounded_up(minutes: str, increment: str, billed: str):
    """To 6 decimals, half up, and only then to the next increment."""
    assert rounded_up(Decimal(minutes), Decimal(increment)) == Decimal(billed)


def test_settled_is_half_up_at_the_sixth_decimal():
    """Both sides of a tie, and the tie."""
    given = ("0.0000004999", "0.0000005", "0.0000015", "-0.0000005")
    assert [str(settled(Decimal(each))) for each in given] == ["0.000000", "0.000001", "0.000002", "-0.000001"]
