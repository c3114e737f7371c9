"""The compiled notations say what Babel says with our digits, in every locale it knows."""

import copy
import re
from decimal import ROUND_HALF_UP, Decimal

import pytest
from babel import Locale, localedata
from babel.dates import format_date, format_datetime, format_time
from babel.numbers import NumberPattern, format_currency, format_decimal, format_percent
from babel.units import format_unit
from hypothesis import given, settings
from hypothesis import strategies as st

from quoter.words.formats import Length, formats_for
from quoter.words.locales import locale_of
from quoter.words.units import CLDR_NAMES

from .tables import AMOUNTS, DAYS, DIGITS, INSTANTS, LOCALES, NUMBERS, QUANTITIES, RATES, in_currency

ALL_TAGS = sorted(name.replace("_", "-") for name in localedata.locale_identifiers())

tags = st.sampled_from(LOCALES)
rows = settings(deadline=None, max_examples=500)


def with_decimals(pattern: NumberPattern, least: int, most: int) -> NumberPattern:
    """The pattern with other digits after the point than its own."""
    changed = copy.copy(pattern)
    changed.frac_prec = (least, most)
    return changed


def babels_money(tag: str, amount: Decimal, code: str, digits: int) -> str:
    locale = locale_of(tag)
    pattern = with_decimals(locale.currency_formats["standard"], digits, digits)
    return format_currency(amount, code, format=pattern, locale=locale, currency_digits=False)


def babels_percent(tag: str, rate: Decimal) -> str:
    locale = locale_of(tag)
    return format_percent(rate, with_decimals(locale.percent_formats[None], 0, 3), locale)


def babels_number(tag: str, value: Decimal, decimals: int = 3) -> str:
    locale = locale_of(tag)
    return format_decimal(value, with_decimals(locale.decimal_formats[None], 0, decimals), locale)


@rows
@given(tags, st.sampled_from(sorted(DIGITS)), st.integers(-(10**13), 10**13))
def test_money_is_what_babel_writes(tag: str, code: str, minor_units: int) -> None:
    """For any amount of minor units; Babel is told our digits, because its own are CLDR's."""
    amount = Decimal(minor_units).scaleb(-DIGITS[code])
    assert formats_for(tag).money(amount, code, DIGITS[code]) == babels_money(tag, amount, code, DIGITS[code])


@rows
@given(tags, st.sampled_from(sorted(DIGITS)), st.sampled_from([0, 2, 3, 4]), st.integers(-(10**9), 10**9))
def test_any_currency_may_have_any_digits(tag: str, code: str, digits: int, minor_units: int) -> None:
    """The digits are those handed in, whatever the code."""
    amount = Decimal(minor_units).scaleb(-digits)
    assert formats_for(tag).money(amount, code, digits) == babels_money(tag, amount, code, digits)


@rows
@given(tags, st.integers(-(10**9), 10**9), st.integers(-2, 5))
def test_a_percentage_is_what_babel_writes(tag: str, digits: int, places: int) -> None:
    """For rates that need no rounding, as they come, or with zeros at the end."""
    rate = Decimal(digits).scaleb(-places)
    assert formats_for(tag).percent(rate) == babels_percent(tag, rate + 0)


@rows
@given(tags, st.decimals(-(10**9), 10**9, places=6), st.integers(0, 5))
def test_a_number_is_what_babel_writes_of_it_rounded_half_up(tag: str, value: Decimal, decimals: int) -> None:
    """Babel itself would round half to even."""
    rounded = value.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)
    assert formats_for(tag).number(value, decimals) == babels_number(tag, rounded + 0, decimals)


@pytest.mark.parametrize("tag", LOCALES)
def test_quantities_are_what_babel_writes_where_it_has_the_plural(tag: str) -> None:
    """Where it has not, it writes the unit's name; that case has a test of its own in test_formats."""
    formats, locale = formats_for(tag), locale_of(tag)
    for unit, name in CLDR_NAMES.items():
        for value in QUANTITIES:
            if locale.plural_form(value) in formats.units[unit]:
                assert formats.quantity(value, unit) == format_unit(value, name, "short", locale=locale)


@pytest.mark.parametrize("tag", LOCALES)
@pytest.mark.parametrize("length", ["medium", "long"])
def test_days_are_what_babel_writes(tag: str, length: Length) -> None:
    """Both lengths."""
    for day in DAYS:
        assert formats_for(tag).date(day, length) == format_date(day, length, locale_of(tag))


@pytest.mark.parametrize("tag", LOCALES)
def test_a_moment_is_what_babel_writes_with_a_short_clock(tag: str) -> None:
    """Babel's medium moment has seconds; without them it is its day and its short time, joined in its way."""
    locale = locale_of(tag)
    for instant in INSTANTS:
        whole = format_datetime(instant, "medium", tzinfo=None, locale=locale)
        long_clock = format_time(instant, "medium", locale=locale)
        expected = whole.replace(long_clock, format_time(instant, "short", locale=locale))
        assert formats_for(tag).moment(instant, "UTC") == expected


def test_every_locale_that_babel_knows_agrees() -> None:
    """All thousand of them, with the amounts of the table in two currencies."""
    for tag in ALL_TAGS:
        formats = formats_for(tag)
        for code in ("EUR", "KWD"):
            for amount in (in_currency(amount, code) for amount in AMOUNTS):
                expected = babels_money(tag, amount, code, DIGITS[code])
                assert formats.money(amount, code, DIGITS[code]) == expected, (tag, code, amount)
        assert formats.percent(RATES[3]) == babels_percent(tag, RATES[3]), tag
        for value in NUMBERS:
            assert formats.number(value) == babels_number(tag, value), (tag, value)


def test_no_raw_name_of_a_unit_leaks() -> None:
    """Of Babel's three lengths the short one alone has words for all our units in all locales."""
    raw = re.compile("length|volume|area|mass|duration|[{}]")
    for tag in ALL_TAGS:
        formats = formats_for(tag)
        texts = [formats.quantity(value, unit) for unit in CLDR_NAMES for value in QUANTITIES]
        texts += [formats.minutes(Decimal(minutes)) for minutes in (0, 1, 59, 60, 61, 1445)]
        assert not [text for text in texts if raw.search(text)], tag


def test_a_quantity_always_says_how_many() -> None:
    """Some languages have a word for one metre or two days that needs no number; no other may lose it."""
    for tag in ALL_TAGS:
        for unit in CLDR_NAMES:
            for value in set(QUANTITIES) - {Decimal(1), Decimal(2)}:
                text = formats_for(tag).quantity(value, unit)
                assert formats_for(tag).number(value) in text, (tag, unit, value)


def test_the_tag_of_every_locale_leads_back_to_it() -> None:
    """In any case, and without the script where Babel's own search would find it so too."""
    for tag in ALL_TAGS:
        assert formats_for(tag.upper()).tag == formats_for(tag).tag == tag
    for short, full in (
        ("zh-TW", "zh-Hant-TW"),
        ("sr-RS", "sr-Cyrl-RS"),
        ("pa-PK", "pa-Arab-PK"),
        ("uz-UZ", "uz-Latn-UZ"),
    ):
        assert formats_for(short).tag == full == str(Locale.parse(short, sep="-")).replace("_", "-")
