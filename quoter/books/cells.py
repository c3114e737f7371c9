"""What a cell may hold: readers from text to value, each able to say what would be right."""

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from zoneinfo import available_timezones

_NUMBER = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,10})?", re.ASCII)
_WHOLE = re.compile(r"[0-9]{1,9}", re.ASCII)
_CODE = re.compile(r"[^\s:]{1,64}")
_PAIR = re.compile(r"[^\s:]{1,64}:[^\s:]{1,64}")


@dataclass(eq=False)
class WrongCell(Exception):
    """A cell that cannot be read: why, and what would be right."""

    message: str
    suggestion: str = ""


Reader = Callable[[str], Any]


def text(cell: str) -> str:
    """Any words on one line or more, to 2,000 characters."""
    if len(cell) > 2000:
        raise WrongCell(f"{len(cell)} characters are too many", "at most 2000")
    return cell


def code(cell: str) -> str:
    """A word that names a row: no spaces and no colon, to 64 characters."""
    if not _CODE.fullmatch(cell):
        raise WrongCell("not a code", "a word without spaces or colons, at most 64 characters")
    return cell


def codes(cell: str) -> tuple[str, ...]:
    """Codes separated by spaces."""
    return tuple(code(word) for word in cell.split())


def pairs(cell: str) -> tuple[tuple[str, str], ...]:
    """Pairs `old:new` separated by spaces."""
    for word in cell.split():
        if not _PAIR.fullmatch(word):
            raise WrongCell(f"{word!r} is not a pair", "old:new, pairs separated by spaces")
    return tuple((word.split(":")[0], word.split(":")[1]) for word in cell.split())


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

    return read


def number(low: str = "0", high: str = "999999999", *, above: bool = False, below: bool = False) -> Reader:
    """A decimal number within bounds; `above` and `below` leave out the bounds themselves."""
    least, most = Decimal(low), Decimal(high)
    right = f"{'above' if above else 'from'} {low} {'to below' if below else 'to'} {high}"

    def read(cell: str) -> Decimal:
        if not _NUMBER.fullmatch(cell):
            raise WrongCell("not a number", f"digits with '.' as the decimal sign{_mended(cell)}")
        value = Decimal(cell)
        if value < least or value > most or (above and value == least) or (below and value == most):
            raise WrongCell("out of range", right)
        return value

    return read


def _mended(cell: str) -> str:
    """A comma for a point is the commonest slip; say what was probably meant."""
    mended = cell.replace(" ", "").replace(",", ".")
    return f", such as {mended}" if _NUMBER.fullmatch(mended) else ""


def one_of(*words: str) -> Reader:
    """One of a few words."""

    def read(cell: str) -> str:
        if cell not in words:
            raise WrongCell("not one of the words that count here", ", ".join(words))
        return cell

    return read


def currency(cell: str) -> str:
    """An ISO 4217 code of a currency that money comes in."""
    from quoter.books.currencies import minor_unit  # the standard's list takes a while to load

    if minor_unit(cell) is None:
        raise WrongCell("not an ISO 4217 currency", "three capital letters, such as EUR")
    return cell


def language_tag(cell: str) -> str:
    """A BCP 47 language tag with an optional territory or script."""
    if not re.fullmatch(r"[a-z]{2,3}(-[A-Z][a-z]{3})?(-[A-Z]{2}|-[0-9]{3})?", cell):
        raise WrongCell("not a language tag", "a language and a territory, such as en-IE")
    return cell


def timezone(cell: str) -> str:
    """A name of the IANA time zone database."""
    if cell not in available_timezones():
        raise WrongCell("not a time zone", "a name such as Europe/Dublin")
    return cell


def date(cell: str) -> dt.date:
    """A calendar day, YYYY-MM-DD."""
    try:
        if len(cell) != 10:
            raise ValueError(cell)
        return dt.date.fromisoformat(cell)
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
