"""What the texts of one locale look like, and what is refused."""

import unicodedata
from concurrent.futures import ThreadPoolExecutor
from dataclasses import FrozenInstanceError
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoter.words.formats import formats_for

from .tables import DIGITS, LOCALES


@pytest.mark.parametrize(
    ("tag", "amount", "code", "digits", "text", "source"),
    [
        ("en-IE", "1234.50", "EUR", 2, "€1,234.50", "CLDR en: ¤#,##0.00"),
        ("en-IE", "-1234.50", "EUR", 2, "-€1,234.50", "CLDR en: the minus before the symbol"),
        ("de-DE", "1234.5", "EUR", 2, "1.234,50\xa0€", "CLDR de: #,##0.00 ¤"),
        ("en-IN", "12345678.9", "INR", 2, "₹1,23,45,678.90", "CLDR en-IN: ¤#,##,##0.00, lakh and crore"),
        ("hi-IN", "123456", "INR", 2, "₹1,23,456.00", "CLDR hi: ¤#,##,##0.00"),
        ("ja-JP", "1235", "JPY", 0, "￥1,235", "CLDR ja; ISO 4217: no minor unit"),
        ("en-GB", "1.5", "KWD", 3, "KWD1.500", "ISO 4217: 3 decimals"),
        ("hu-HU", "1234.50", "HUF", 2, "1\xa0234,50\xa0Ft", "ISO 4217: 2 decimals, CLDR 48 has none"),
        ("sr-RS", "1234.50", "RSD", 2, "1.234,50\xa0RSD", "ISO 4217: 2 decimals, CLDR 47 has none"),
        ("ar-EG", "1234.5", "EGP", 2, "\u200f1,234.50\xa0ج.م.\u200f", "Western digits, marks kept"),
        ("fr-FR", "1E+3", "EUR", 2, "1\u202f000,00\xa0€", "an exponent is one way to write a number"),
        ("en-IE", "2.500", "EUR", 2, "€2.50", "zeros at the end are no further decimals"),
        ("en-IE", "-0.00", "EUR", 2, "€0.00", "zero has no sign"),
        ("es-ES", "1234.5", "EUR", 2, "1.234,50\xa0€", "Babel groups four digits too"),
    ],
)
def test_money(tag: str, amount: str, code: str, digits: int, text: str, source: str) -> None:
    """The amount in full, with ISO 4217's digits."""
    assert formats_for(tag).money(Decimal(amount), code, digits) == text, source


@pytest.mark.parametrize(
    ("amount", "digits"),
    [
        ("2.665", 2),
        ("0.001", 2),
        ("1234.5", 0),
        ("NaN", 2),
        ("sNaN", 2),
        ("Infinity", 2),
        ("1E+26", 2),
        ("1E+999999", 0),
    ],
)
def test_an_amount_that_cannot_be_shown_in_full_is_refused(amount: str, digits: int) -> None:
    """Further decimals, no number, or more than 28 digits, which is where Babel ends too."""
    with pytest.raises(ValueError, match="shown"):
        formats_for("en-IE").money(Decimal(amount), "EUR", digits)


def test_an_amount_of_28_digits_is_shown_in_full() -> None:
    """As by Babel, and far beyond any price."""
    nines = "9" * 26 + ".99"
    assert formats_for("en-IE").money(Decimal(nines), "EUR", 2) == f"€99{',999' * 8}.99"


@settings(deadline=None, max_examples=500)
@given(st.sampled_from(LOCALES), st.sampled_from(sorted(DIGITS)), st.integers(-(10**13), 10**13))
def test_showing_never_changes_an_amount(tag: str, code: str, minor_units: int) -> None:
    """The digits of the text, read back, are the amount to the last minor unit, and its sign stands there."""
    amount = Decimal(minor_units).scaleb(-DIGITS[code])
    text = formats_for(tag).money(amount, code, DIGITS[code])
    digits = "".join(sign for sign in text if unicodedata.category(sign) == "Nd")
    assert digits.isascii()
    assert Decimal(digits).scaleb(-DIGITS[code]) == abs(amount)
    assert ("-" in text) == (amount < 0)


@pytest.mark.parametrize(
    ("tag", "value", "text"),
    [
        ("en-IE", "1234.5", "1,234.5"),
        ("en-IE", "2.0", "2"),
        ("en-IE", "100", "100"),
        ("en-IE", "0.0005", "0.001"),  # half up; half to even would be 0
        ("en-IE", "-0.0004", "0"),
        ("de-DE", "1234.5", "1.234,5"),
        ("de-CH", "1234.5", "1\u2019234.5"),
        ("fr-FR", "1234.5", "1\u202f234,5"),
        ("hi-IN", "1234567", "12,34,567"),
    ],
)
def test_a_number_has_three_decimals_at_most(tag: str, value: str, text: str) -> None:
    """Half up, no zeros at the end, no negative zero."""
    assert formats_for(tag).number(Decimal(value)) == text


def test_a_number_has_as_many_decimals_as_it_may() -> None:
    """The default of three can be changed."""
    assert formats_for("en-IE").number(Decimal("2.345"), max_decimals=2) == "2.35"
    assert formats_for("en-IE").number(Decimal("2.5"), max_decimals=0) == "3"


@pytest.mark.parametrize(
    ("tag", "rate", "text", "source"),
    [
        ("en-IE", "0.20", "20%", "CLDR en: #,##0%"),
        ("de-DE", "0.2", "20\xa0%", "CLDR de: #,##0 %"),
        ("fr-CA", "0.09975", "9,975\xa0%", "Quebec sales tax, Act respecting the QST s. 16"),
        ("tr-TR", "0.2", "%20", "CLDR tr: %#,##0"),
        ("en-IE", "0.135", "13.5%", "Irish reduced rate, VATCA 2010 s. 46"),
        ("en-IE", "0.0000050", "0.001%", "half up in the third decimal of the percentage"),
        ("en-IE", "0", "0%", "zero rate"),
        ("en-IE", "1", "100%", "the whole"),
    ],
)
def test_a_rate_is_shown_as_percentage(tag: str, rate: str, text: str, source: str) -> None:
    """With up to three decimals."""
    assert formats_for(tag).percent(Decimal(rate)) == text, source


@pytest.mark.parametrize(
    ("tag", "value", "unit", "text", "source"),
    [
        ("en-IE", "0.5", "m", "0.5 m", "CLDR en, length-meter, short"),
        ("en-IE", "4", "ml", "4 ml", "CLDR en-IE"),
        ("en-IE", "0.03", "m2", "0.03 m²", "CLDR en, area-square-meter"),
        ("en-IE", "12.50", "g", "12.5 g", "CLDR en, mass-gram"),
        ("en-IE", "1", "h", "1 hr", "CLDR en-001, duration-hour"),
        ("en-IE", "35", "min", "35 mins", "CLDR en-001, duration-minute"),
        ("en-IE", "2", "each", "2", "a bare number"),
        ("en-IE", "3", "sheet", "3 sheet", "the owner's word"),
        ("en-IE", "1.5", "{0}", "1.5 {0}", "the owner's word, whatever it is"),
        ("de-DE", "2", "h", "2 Std.", "CLDR de"),
        ("de-DE", "1", "m", "1 m", "CLDR de has no short form for one; Babel alone would say 1 Meter"),
        ("es-ES", "1", "h", "1 h", "Babel alone would say 1 horas"),
        ("pl-PL", "5", "min", "5 min", "CLDR pl"),
        ("ar-EG", "1", "m", "متر", "CLDR ar: one metre needs no number"),
        ("ar-EG", "11", "min", "11 د", "CLDR ar, many"),
        ("ja-JP", "90", "min", "90 分", "CLDR ja; the long form would leak duration-minute"),
    ],
)
def test_a_quantity_is_a_number_and_its_unit(tag: str, value: str, unit: str, text: str, source: str) -> None:
    """In the locale's short style, in the plural that the number asks for."""
    assert formats_for(tag).quantity(Decimal(value), unit) == text, source


def test_equal_quantities_read_alike() -> None:
    """Some plurals hang on the zeros that are shown; none are, so 1.0 h is 1 h, in either order of asking."""
    formats = formats_for("en-IE")
    assert [formats.quantity(Decimal(one), "h") for one in ("1.00", "1", "1.0")] == ["1 hr"] * 3


@pytest.mark.parametrize(
    ("tag", "minutes", "text"),
    [
        ("en-IE", "0", "0 mins"),
        ("en-IE", "54.000001", "55 mins"),
        ("en-IE", "59", "59 mins"),
        ("en-IE", "59.5", "1 hr"),
        ("en-IE", "65", "1 hr, 5 mins"),
        ("en-US", "65", "1 hr, 5 min"),
        ("en-IE", "120", "2 hrs"),
        ("en-IE", "1561", "26 hrs, 1 min"),
        ("de-DE", "65", "1 Std., 5 Min."),
        ("fr-FR", "65", "1\u202fh et 5\xa0min"),
        ("es-ES", "65", "1 h y 5 min"),  # Babel's format_list raises KeyError for es and bg
        ("bg-BG", "65", "1 ч и 5 мин"),
        ("ja-JP", "65", "1 時間 5 分"),
    ],
)
def test_a_duration_is_rounded_up_to_minutes(tag: str, minutes: str, text: str) -> None:
    """And shown in hours and minutes from sixty on."""
    assert formats_for(tag).minutes(Decimal(minutes)) == text


@pytest.mark.parametrize("minutes", ["-1", "NaN", "-Infinity"])
def test_a_duration_is_a_number_and_not_less_than_nothing(minutes: str) -> None:
    """Either would be a fault of the engine."""
    with pytest.raises(ValueError, match=minutes.lstrip("-")):
        formats_for("en-IE").minutes(Decimal(minutes))


@pytest.mark.parametrize(
    ("tag", "n", "text"),
    [
        ("en-IE", 1, "1 day"),
        ("en-IE", 90, "90 days"),
        ("de-DE", 14, "14 Tg."),
        ("pl-PL", 1, "1 dzień"),
        ("sv-SE", 1, "1 d"),
    ],
)
def test_days(tag: str, n: int, text: str) -> None:
    """CLDR duration-day, short."""
    assert formats_for(tag).days(n) == text


@pytest.mark.parametrize(
    ("tag", "medium", "long"),
    [
        ("en-IE", "5 Mar 2026", "5 March 2026"),
        ("en-US", "Mar 5, 2026", "March 5, 2026"),
        ("de-DE", "05.03.2026", "5. März 2026"),
        ("ja-JP", "2026/03/05", "2026年3月5日"),
        ("th-TH", "5 มี.ค. 2026", "5 มีนาคม ค.ศ. 2026"),
    ],
)
def test_a_day_is_shown_in_the_gregorian_calendar(tag: str, medium: str, long: str) -> None:
    """CLDR's medium and long dates; a Thai one counts the same years, and its long form says so."""
    formats = formats_for(tag)
    assert (formats.date(date(2026, 3, 5)), formats.date(date(2026, 3, 5), "long")) == (medium, long)


def test_an_instant_is_no_day() -> None:
    """Its day hangs on a zone: 23:30 UTC is tomorrow in Berlin."""
    with pytest.raises(TypeError, match="moment"):
        formats_for("en-IE").date(datetime(2026, 3, 5, 23, 30, tzinfo=UTC))


@pytest.mark.parametrize(
    ("zone", "instant", "text"),
    [
        ("Europe/Dublin", "2026-03-05T14:30:59+00:00", "5 Mar 2026, 14:30"),
        ("Europe/Dublin", "2026-07-05T14:30:00+00:00", "5 Jul 2026, 15:30"),  # summer time
        ("Europe/Berlin", "2026-03-05T23:30:00+00:00", "6 Mar 2026, 00:30"),
        ("Pacific/Auckland", "2026-03-05T11:00:00+00:00", "6 Mar 2026, 00:00"),
        ("America/New_York", "2026-03-05T01:00:00+01:00", "4 Mar 2026, 19:00"),
    ],
)
def test_a_moment_is_shown_on_the_shops_clock(zone: str, instant: str, text: str) -> None:
    """Day and minute in the zone, whatever offset the instant came with."""
    assert formats_for("en-IE").moment(datetime.fromisoformat(instant), zone) == text


def test_a_moment_without_an_offset_is_refused() -> None:
    """It could be any of 26 hours."""
    with pytest.raises(ValueError, match="offset"):
        formats_for("en-IE").moment(datetime(2026, 3, 5, 14, 30), "Europe/Dublin")


@pytest.mark.parametrize(
    ("tag", "direction"),
    [("en-IE", "ltr"), ("ar-EG", "rtl"), ("he-IL", "rtl"), ("fa-IR", "rtl"), ("ja-JP", "ltr")],
)
def test_the_direction_is_that_of_the_script(tag: str, direction: str) -> None:
    """As the attribute dir of HTML wants it."""
    assert formats_for(tag).direction == direction


def test_formats_are_made_once_and_never_changed() -> None:
    """So that threads may share them."""
    formats = formats_for("en-IE")
    assert formats is formats_for("en-IE")
    with pytest.raises(FrozenInstanceError):
        formats.tag = "de-DE"  # type: ignore[misc]


def test_threads_may_share_formats() -> None:
    """The same texts from eight threads at once as from one."""

    def texts(tag: str) -> list[str]:
        formats = formats_for(tag)
        return [
            formats.money(Decimal(cents).scaleb(-2), "EUR", 2) + formats.quantity(Decimal(cents), "h")
            for cents in range(50)
        ]

    with ThreadPoolExecutor(max_workers=8) as threads:
        assert list(threads.map(texts, LOCALES * 2)) == [texts(tag) for tag in LOCALES * 2]
