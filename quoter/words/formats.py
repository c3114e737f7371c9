"""Money, quantities, durations and dates as text, in the formats of one locale."""

from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from functools import lru_cache
from typing import Literal
from zoneinfo import ZoneInfo

from babel import Locale
from babel.dates import format_date, format_time

from quoter.money import ARITHMETIC
from quoter.words.locales import canonical, locale_of
from quoter.words.notation import Notation, notation
from quoter.words.units import UnitPatterns, unit_patterns

Length = Literal["medium", "long"]

MAX_DIGITS = 28
"""Of a number with its decimals. Babel shows no more of them either."""

_UNITS = tuple(Decimal(1).scaleb(-decimals) for decimals in range(10))


@dataclass(frozen=True, slots=True, eq=False)
class Formats:
    """What one locale makes of numbers and times; `tag` is its BCP 47 tag, digits are always Western."""

    tag: str
    direction: str
    locale: Locale = field(repr=False)
    numbers: Notation = field(repr=False)
    percents: Notation = field(repr=False)
    units: UnitPatterns = field(repr=False)
    moment_pattern: str = field(repr=False)
    pair_pattern: str = field(repr=False)

    def money(self, amount: Decimal, code: str, digits: int) -> str:
        """An amount with the ISO 4217 `digits` of its currency; ValueError where that would round it."""
        return _money_notation(self, code).text_of(_exactly(amount, code, digits))

    def change(self, amount: Decimal, code: str, digits: int) -> str:
        """A difference between amounts: what comes on top has a plus sign."""
        return _money_notation(self, code).text_of_change(_exactly(amount, code, digits))

    def number(self, value: Decimal, max_decimals: int = 3) -> str:
        """Half up to `max_decimals`, without trailing zeros."""
        return self.numbers.text_of(_plain(_rounded(value, max_decimals)))

    def percent(self, rate: Decimal) -> str:
        """A rate as percent with up to 3 decimals, half up: 0.09975 is 9.975 %."""
        return self.percents.text_of(_plain(_rounded(rate, 5).scaleb(2, ARITHMETIC)))

    def quantity(self, value: Decimal, unit: str) -> str:
        """A number, half up to 3 decimals, and its unit in the locale's short style; "each" is not said."""
        if unit == "each":
            return self.number(value)
        if unit in self.units:
            return _measured(self, _rounded(value, 3), unit)
        return f"{self.number(value)} {unit}"

    def minutes(self, value: Decimal) -> str:
        """A duration in minutes, rounded up to whole ones; from 60 on as hours and minutes."""
        whole = int(_rounded(value, 6).to_integral_value(ROUND_CEILING))
        if whole < 0:
            raise ValueError(f"a duration of {value} minutes is less than nothing")
        return _duration(self, whole)

    def days(self, n: int) -> str:
        """A number of days in the locale's short style."""
        return _measured(self, _rounded(Decimal(n), 0), "day")

    def date(self, day: date, length: Length = "medium") -> str:
        """A calendar day. An instant has none before a zone is chosen, so a datetime is refused."""
        if isinstance(day, datetime):
            raise TypeError("an instant is shown by moment(), with the zone whose calendar counts")
        return _date_text(self, day, length)

    def moment(self, instant: datetime, timezone: str) -> str:
        """Day and minute of an instant on the clock of an IANA zone; ValueError for one without an offset."""
        if instant.utcoffset() is None:
            raise ValueError(f"{instant} names no offset from UTC and so is no instant")
        local = instant.astimezone(ZoneInfo(timezone))
        clock = _time_text(self, time(local.hour, local.minute))
        return self.moment_pattern.replace("{0}", clock).replace("{1}", self.date(local.date()))


@lru_cache(maxsize=256)
def formats_for(tag: str) -> Formats:
    """The formats of a BCP 47 tag such as en-IE or zh-TW; ValueError for a tag that is not `known_locale`."""
    locale = locale_of(tag)
    return Formats(
        tag=canonical(tag),
        direction=locale.text_direction,
        locale=locale,
        numbers=notation(locale.decimal_formats[None], locale),
        percents=notation(locale.percent_formats[None], locale),
        units=unit_patterns(locale),
        moment_pattern=str(locale.datetime_formats["medium"]).replace("'", ""),
        pair_pattern=_pair_pattern(locale),
    )


def _pair_pattern(locale: Locale) -> str:
    """How two measures are joined, such as hours and minutes.

    Babel's format_list raises KeyError for es, bg, hy and others, whose short style has no pattern for two.
    """
    styles = [locale.list_patterns.get(style, {}) for style in ("unit-short", "unit", "standard")]
    return next(str(style["2"]) for style in styles if "2" in style)


@lru_cache(maxsize=1024)
def _money_notation(formats: Formats, code: str) -> Notation:
    return notation(formats.locale.currency_formats["standard"], formats.locale, code)


def _exactly(amount: Decimal, code: str, digits: int) -> str:
    shown = _rounded(amount, digits)
    if shown != amount:
        raise ValueError(f"{amount} {code} must be rounded to {digits} decimals before it is shown")
    return f"{shown:,f}"


def _rounded(value: Decimal, decimals: int) -> Decimal:
    """Half up, and zero without a sign; ValueError for what is no number or has more than MAX_DIGITS."""
    if not value.is_finite() or value.adjusted() + decimals >= MAX_DIGITS:
        raise ValueError(f"{value} cannot be shown with {decimals} decimals")
    rounded = value.quantize(_UNITS[decimals], ROUND_HALF_UP, ARITHMETIC)
    return rounded if rounded else rounded.copy_abs()


def _plain(value: Decimal) -> str:
    """Grouped by commas, without trailing zeros after the point."""
    text = f"{value:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


@lru_cache(maxsize=16_384)
def money_text(formats: Formats, amount: str, code: str, digits: int) -> str:
    """An amount that is written as text; the same ones come again and again."""
    return formats.money(Decimal(amount), code, digits)


@lru_cache(maxsize=16_384)
def minutes_text(formats: Formats, minutes: str) -> str:
    """A duration in minutes that is written as text."""
    return formats.minutes(Decimal(minutes))


@lru_cache(maxsize=16_384)
def quantity_text(formats: Formats, quantity: str, unit: str) -> str:
    """A quantity that is written as text."""
    return formats.quantity(Decimal(quantity), unit)


@lru_cache(maxsize=4096)
def _measured(formats: Formats, value: Decimal, unit: str) -> str:
    # Normalised, because no trailing zero is shown, and one may change the plural.
    plural = formats.locale.plural_form(value.normalize(ARITHMETIC))
    patterns = formats.units[unit]
    return patterns.get(plural, patterns["other"]).format(formats.number(value))


@lru_cache(maxsize=4096)
def _duration(formats: Formats, minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    hours_text = formats.quantity(Decimal(hours), "h")
    rest_text = formats.quantity(Decimal(rest), "min")
    if not hours:
        return rest_text
    return formats.pair_pattern.format(hours_text, rest_text) if rest else hours_text


@lru_cache(maxsize=4096)
def _date_text(formats: Formats, day: date, length: Length) -> str:
    return format_date(day, length, formats.locale)


@lru_cache(maxsize=4096)
def _time_text(formats: Formats, clock: time) -> str:
    return format_time(clock, "short", locale=formats.locale)
