"""What a cell may hold: readers from text to value, each able to say what would be right.

The first line of a reader's docstring is what the documentation says of its cells, up to a colon if there is one.
"""

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any
from zoneinfo import available_timezones

from quoter.books.numerals import meant
from quoter.books.suggest import Suggestions

LONGEST_TEXT = 2000
LONGEST_CODE = 64

_NUMBER = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,16})?")
"""No more digits than the arithmetic carries (28)."""
_MOST = "999999999"
_LONG_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
_WHOLE = re.compile(r"[0-9]{1,9}")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_CODE = re.compile(rf"[^\s:]{{1,{LONGEST_CODE}}}")
_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")
_LANGUAGE_TAG = re.compile(
    r"""(?P<language>[a-z]{2,3})(-[a-z]{3}){0,3}
        (-(?P<script>[a-z]{4}))?
        (-(?P<region>[a-z]{2}|[0-9]{3}))?
        (-([a-z0-9]{5,8}|[0-9][a-z0-9]{3}))*
        (-[a-wyz0-9](-[a-z0-9]{2,8})+)*
        (-x(-[a-z0-9]{1,8})+)?""",
    re.VERBOSE | re.IGNORECASE | re.ASCII,
)
"""RFC 5646, 2.1 `langtag`, without the languages of four to eight letters, of which none is registered."""


@dataclass(eq=False)
class WrongCell(Exception):
    """A cell that cannot be read: why, and what would be right."""

    message: str
    suggestion: str = ""


Reader = Callable[[Any], Any]


def text(cell: str) -> str:
    """Text: any words, to 2,000 characters."""
    if len(cell) > LONGEST_TEXT:
        raise WrongCell(f"{len(cell)} characters are too many", f"at most {LONGEST_TEXT}")
    control = _CONTROLS.search(cell)
    if control:
        raise WrongCell(f"the character U+{ord(control[0]):04X} cannot be printed", "take it out")
    return cell


def code(cell: str) -> str:
    """A code: a word without spaces or colons, to 64 characters."""
    if not _CODE.fullmatch(cell) or not cell.isprintable():
        right = f"a word without spaces, colons or invisible characters, at most {LONGEST_CODE} characters"
        raise WrongCell("not a code", right)
    return cell


def address_code(cell: str) -> str:
    """A code that also stands in addresses and file names: letters, digits, dots, hyphens and underscores."""
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}", cell, re.ASCII):
        raise WrongCell("not a code", "letters, digits, dots, hyphens and underscores, without spaces, at most 64")
    return cell


def codes(cell: str) -> tuple[str, ...]:
    """Codes separated by spaces."""
    return tuple(_each(word, code, "codes separated by spaces") for word in cell.split())


def pairs(cell: str) -> tuple[tuple[str, str], ...]:
    """Pairs `old:new` separated by spaces."""
    return tuple(_each(word, _pair, "old:new, pairs separated by spaces") for word in cell.split())


def _pair(word: str) -> tuple[str, str]:
    old, _, new = word.partition(":")
    return code(old), code(new)


def _each(word: str, reads: Reader, right: str) -> Any:
    try:
        return reads(word)
    except WrongCell:
        raise WrongCell(f"{word[:80]!r} is not one of {right}", right) from None


def yes(cell: str) -> bool:
    """`yes`, or blank for no."""
    if cell != "yes":
        raise WrongCell("neither yes nor blank", "yes, or leave it blank")
    return True


def whole(low: int, high: int) -> Reader:
    """A whole number within bounds."""

    def read(cell: str) -> int:
        if not _WHOLE.fullmatch(cell) or not low <= int(cell) <= high:
            raise WrongCell("not a whole number that makes sense here", f"{low} to {high}")
        return int(cell)

    read.__doc__ = f"A whole number from {low} to {high}."
    return read


def number(low: str = "0", high: str = _MOST, *, above: bool = False, below: bool = False) -> Reader:
    """A decimal number within bounds; `above` and `below` leave out the bounds themselves."""
    least, most = Decimal(low), Decimal(high)
    right = f"{'above' if above else 'from'} {low} {'to below' if below else 'to'} {high}"

    def read(cell: str) -> Decimal:
        if not _NUMBER.fullmatch(cell):
            raise _not_a_number(cell)
        value = Decimal(cell)
        if value < least or value > most or (above and value == least) or (below and value == most):
            raise WrongCell("out of range", right)
        return value or value.copy_abs()  # -0 is 0

    read.__doc__ = f"A number {right.removesuffix(f' to {_MOST}')}."
    return read


def _not_a_number(cell: str) -> WrongCell:
    if _LONG_NUMBER.fullmatch(cell):
        return WrongCell("too many digits", "at most 12 before the decimal sign and 16 after it")
    others = [other for other in meant(cell) if _NUMBER.fullmatch(other)]
    such_as = f", such as {' or '.join(others)}" if others else ""
    return WrongCell("not a number", f"digits with '.' as the decimal sign{such_as}")


def one_of(*words: str) -> Reader:
    """One of a few words."""

    def read(cell: str) -> str:
        if cell not in words:
            raise WrongCell("not one of the words that count here", f"one of {', '.join(words)}")
        return cell

    read.__doc__ = f"One of {', '.join(words)}."
    return read


def some_of(*words: str) -> Reader:
    """A list of some of a few words."""

    def read(listed: list[Any]) -> tuple[str, ...]:
        if not listed or not all(word in words for word in listed):
            raise WrongCell("not a list of the words that count here", f"some of {', '.join(words)}")
        return tuple(listed)

    read.__doc__ = f"A list of some of {', '.join(words)}."
    return read


def flag(value: bool) -> bool:
    """Either `true` or `false`, without quotation marks."""
    return value


def untouched(value: Any) -> Any:
    """A list or table: what stands in it is read by itself."""
    return value


def filled(value: Any) -> Any:
    """A list or table: it must not be empty."""
    if not value:
        raise WrongCell("must not be empty")
    return value


def names(cell: str) -> tuple[str, ...]:
    """Names separated by commas."""
    found = tuple(name.strip() for name in text(cell).split(","))
    if not all(found):
        raise WrongCell("a name between two commas is blank", "names separated by single commas")
    return found


def year(cell: str) -> int:
    """A year of four digits."""
    if not re.fullmatch(r"(19|20)[0-9]{2}", cell, re.ASCII):
        raise WrongCell("not a year", "four digits, 1900 to 2099")
    return int(cell)


def currency(cell: str) -> str:
    """An ISO 4217 code, three capital letters."""
    from quoter.books.currencies import minor_unit  # the standard's list takes a while to load

    if minor_unit(cell) is None:
        capitals = cell.upper()
        likely = f": {capitals}" if len(cell) == 3 and minor_unit(capitals) is not None else ", such as EUR"
        raise WrongCell("not an ISO 4217 currency", f"three capital letters{likely}")
    return cell


def language_tag(cell: str) -> str:
    """A BCP 47 language tag, such as en-IE."""
    found = _LANGUAGE_TAG.fullmatch(cell)
    if not found:
        raise WrongCell("not a language tag", "a language and a territory, such as en-IE")
    return _in_usual_case(cell, found)


def language(cell: str) -> str:
    """A language that is known, such as de or pt-BR."""
    from babel.localedata import exists  # the list of what is known takes a while to load

    tag = language_tag(cell)
    if not exists(tag.partition("-")[0]):
        raise WrongCell("not a language that is known", "an ISO 639 code, such as de, or with a territory, de-AT")
    return tag


def _in_usual_case(tag: str, found: re.Match[str]) -> str:
    """RFC 5646, 2.1.1: the language small, the script with a capital, the territory in capitals."""
    usual = list(tag.lower())
    for part, case in (("script", str.title), ("region", str.upper)):
        if found[part]:
            usual[found.start(part) : found.end(part)] = case(found[part])
    return "".join(usual)


def timezone(cell: str) -> str:
    """A name of the IANA time zone database, such as Europe/Dublin."""
    if cell not in _packaged_timezones() and cell not in _timezones():
        raise WrongCell("not a time zone", Suggestions(_timezones()).perhaps(cell, "a name such as Europe/Dublin"))
    return cell


@cache
def _packaged_timezones() -> frozenset[str]:
    return frozenset(files("tzdata").joinpath("zones").read_text(encoding="utf-8").split())


@cache
def _timezones() -> frozenset[str]:
    """These and those of the system, if it has others: to find them takes a walk through a thousand files."""
    return frozenset(available_timezones())


def date(cell: str) -> dt.date:
    """A day, YYYY-MM-DD."""
    try:
        return dt.date.fromisoformat(cell if _DAY.fullmatch(cell) else "")
    except ValueError:
        raise WrongCell("not a date", "YYYY-MM-DD") from None


MONEY = number()
POSITIVE = number("0", above=True)
SHARE = number("0", "1")
SHARE_BELOW_ONE = number("0", "1", below=True)
MINUTES = number("0", "100000")
FACTOR = number("0", "100", above=True)
MARKUP = number("0", "100")
MILLIMETRES = number("0", "10000", above=True)
