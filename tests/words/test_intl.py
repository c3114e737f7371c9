"""Another implementation says the same, but for the differences that are listed here with their reasons.

Ours is Babel 2.18 with CLDR 47, theirs ECMA-402 as recorded from Node with CLDR 48.
"""

import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

import pytest

from quoter.words.formats import Formats, formats_for

from .intl import HOURS_AND_MINUTES, UNITS, Answers, asked, locale_data_of, recorded
from .tables import AMOUNTS, DAYS, DIGITS, INSTANTS, LOCALES, NUMBERS, QUANTITIES, RATES, in_currency

WITH_NUMBERS = ("money", "change", "percent", "number", "quantity")
SIGNED = ("money", "change", "percent", "number")
MEASURES = ("quantity", "minutes")
DATES = ("medium", "long", "moment")


@dataclass(frozen=True)
class Difference:
    """In these kinds of text and locales (none: all) ours becomes theirs by `change`, for a reason."""

    reason: str
    kinds: tuple[str, ...]
    tags: tuple[str, ...]
    change: Callable[[str], str]

    def __str__(self) -> str:
        return f"{self.reason}: {', '.join(self.tags) or 'everywhere'}"

    def concerns(self, kind: str, tag: str) -> bool:
        return kind in self.kinds and (not self.tags or tag in self.tags)


def replacing(pattern: str, by: str) -> Callable[[str], str]:
    return lambda text: re.sub(pattern, by, text)


def ungrouping(separator: str) -> Callable[[str], str]:
    return replacing(rf"(?<!\d)(\d){separator}(\d{{3}})(?!{separator}\d)", r"\1\2")


FOUR_DIGITS = "Babel ignores minimumGroupingDigits = 2: four digits are no group"
HYPHEN = "Babel keeps the hyphen of the pattern"

DIFFERENCES = (
    Difference(
        "Babel has no CLDR currencySpacing: a space between digits and a symbol that is letters there",
        ("money", "change"),
        (),
        replacing(r"(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])", "\xa0"),
    ),
    Difference(FOUR_DIGITS, WITH_NUMBERS, ("es-ES", "it-IT"), ungrouping(r"\.")),
    Difference(FOUR_DIGITS, WITH_NUMBERS, ("pt-PT", "pl-PL", "hu-HU", "bg-BG"), ungrouping("\xa0")),
    Difference(FOUR_DIGITS, WITH_NUMBERS, ("it-CH",), ungrouping("\u2019")),
    Difference("CLDR 48 writes an apostrophe", WITH_NUMBERS, ("de-CH", "it-CH"), replacing("\u2019", "'")),
    Difference(
        "Babel takes currencyGroup, a point, for the group of plain numbers too",
        ("percent", "number", "quantity"),
        ("de-AT",),
        replacing(r"\.(?=\d{3})", "\xa0"),
    ),
    Difference("Babel ignores currencyDecimal, a point", ("money", "change"), ("fr-CH",), replacing(r",(?=\d)", ".")),
    Difference(HYPHEN, SIGNED, ("sv-SE", "nb-NO", "fi-FI"), replacing("-", "\u2212")),
    Difference(HYPHEN + ", without a mark", SIGNED, ("fa-IR",), replacing("-", "\u200e\u2212")),
    Difference(HYPHEN + ", without a mark", SIGNED, ("ar-EG", "ar-AE", "he-IL"), replacing("-", "\u200e-")),
    Difference(
        "A plus sign stands as the hyphen of the pattern does, without a mark",
        ("change",),
        ("ar-EG", "ar-AE", "he-IL", "fa-IR"),
        replacing(r"\+", "\u200e+"),
    ),
    Difference(
        "Babel keeps the percent sign of the pattern, without marks",
        ("percent",),
        ("ar-EG", "ar-AE"),
        replacing("%", "\u200e%\u200e"),
    ),
    Difference(
        "CLDR 48 has U+00A0 before all units but grams",
        MEASURES,
        ("fr-CA",),
        replacing(r"(?<=\d) (?!g)", "\xa0"),
    ),
    Difference("CLDR 48 spells the hour otherwise", MEASURES, ("bn-BD",), replacing("ঘন্টা", "ঘণ্টা")),
    Difference("CLDR 48 joins hours and minutes by a word", ("minutes",), ("ms-MY",), replacing(",", " dan")),
    Difference("Node writes U+0020 for U+202F in dates, as it used to", DATES, (), replacing("\u202f", " ")),
    Difference(
        "CLDR 48 joins day and clock by a comma",
        ("moment",),
        ("pt-BR", "da-DK", "bn-BD", "id-ID"),
        replacing(r"(?<=2026) ", ", "),
    ),
    Difference("CLDR 48 joins day and clock by a word", ("moment",), ("fi-FI",), replacing(" ", " klo ")),
    Difference("CLDR 48 has no mark after the comma", ("moment",), ("fa-IR",), replacing("\u200f", "")),
)


@dataclass(frozen=True)
class Pair:
    """One text in both implementations."""

    kind: str
    about: str
    ours: str
    theirs: str


@cache
def pairs(tag: str) -> tuple[Pair, ...]:
    """Every text of a locale."""
    formats, theirs = formats_for(tag), recorded()["texts"][tag]
    others: tuple[tuple[str, tuple[Any, ...], Callable[[Any], str]], ...] = (
        ("percent", RATES, formats.percent),
        ("number", NUMBERS, formats.number),
        ("minutes", HOURS_AND_MINUTES, lambda both: formats.minutes(Decimal(60 * both[0] + both[1]))),
        ("medium", DAYS, formats.date),
        ("long", DAYS, lambda day: formats.date(day, "long")),
        ("moment", INSTANTS, lambda instant: formats.moment(instant, "Europe/Dublin")),
    )
    paired = [
        Pair(kind, str(value), write(value), text)
        for kind, values, write in others
        for value, text in zip(values, theirs[kind], strict=True)
    ]
    return (*money_pairs(formats, theirs), *quantity_pairs(formats, theirs), *paired)


def money_pairs(formats: Formats, theirs: Answers) -> Iterator[Pair]:
    for kind, write in (("money", formats.money), ("change", formats.change)):
        for code, digits in DIGITS.items():
            for amount, text in zip(AMOUNTS, theirs[kind][code], strict=True):
                yield Pair(kind, f"{code} {amount}", write(in_currency(amount, code), code, digits), text)


def quantity_pairs(formats: Formats, theirs: Answers) -> Iterator[Pair]:
    for unit, name in UNITS.items():
        for value, text in zip(QUANTITIES, theirs["quantity"][name], strict=True):
            yield Pair("quantity", f"{value} {unit}", formats.quantity(value, unit), text)


def agree(tag: str, pair: Pair, *, without: Difference | None = None) -> bool:
    """Is ours theirs after the changes that are listed?"""
    text = pair.ours
    for difference in DIFFERENCES:
        if difference is not without and difference.concerns(pair.kind, tag):
            text = difference.change(text)
    return text == pair.theirs


@pytest.mark.parametrize("tag", LOCALES)
def test_the_texts_differ_only_as_listed(tag: str) -> None:
    """Money, percentages, numbers, quantities, durations and dates."""
    assert [pair for pair in pairs(tag) if not agree(tag, pair)] == []


@pytest.mark.parametrize("difference", DIFFERENCES, ids=str)
def test_every_listed_difference_is_one_in_each_of_its_locales(difference: Difference) -> None:
    """So that the list never excuses more than it must: what agrees one day is to be struck off."""
    needed = {tag for tag in LOCALES for pair in pairs(tag) if not agree(tag, pair, without=difference)}
    assert needed
    assert needed >= set(difference.tags)


def test_the_recording_is_what_node_says() -> None:
    """Where there is one with the CLDR of the recording."""
    node = shutil.which("node")
    if node is None:
        pytest.skip("there is no node to ask")
    if locale_data_of(node) != recorded()["versions"]["cldr"]:
        pytest.skip("this node has other locale data than the recorded one")
    assert asked(node)["texts"] == recorded()["texts"]
