"""Decimal numbers in a format that knows only binary ones: what is written comes back as it was written.

A spreadsheet computes with 15 significant digits, and shows no more. A number that is longer stays text.
"""

import re
from decimal import Decimal
from math import isfinite

SIGNIFICANT_DIGITS = 15

_PLAIN = re.compile(r"-?[0-9]{1,15}(\.[0-9]{1,15})?")
_MOST_SHOWN = 10
_PADDED = re.compile(r"0\.(0{1,15})#{0,15}")
_LONGEST = 40


def number_of(text: str) -> float | int | None:
    """The number that a cell of this text may hold; None where it would come back as another text."""
    if not _PLAIN.fullmatch(text):
        return None
    number = float(text) if "." in text else int(text)
    return number if decimal_text(repr(number), format_of(text)) == text else None


def format_of(text: str) -> str:
    """The number format that shows all decimals that are written, zeros too, and more where there are more."""
    decimals = len(text.partition(".")[2])
    return "0." + "0" * decimals + "#" * (_MOST_SHOWN - decimals) if decimals else "General"


def decimal_text(stored: str, number_format: str) -> str | None:
    """The shortest text of a stored number, to 15 significant digits, with the zeros that its format asks for.

    >>> decimal_text("1.1000000000000001", "General"), decimal_text("0.1", "0.00########")
    ('1.1', '0.10')
    """
    try:
        number = float(stored) if len(stored) <= _LONGEST else float("nan")
    except ValueError:
        return None
    if not isfinite(number):
        return None
    text = format(Decimal(f"{number:.{SIGNIFICANT_DIGITS}g}"), "f")
    padded = _PADDED.fullmatch(number_format)
    if padded:
        whole, _, decimals = text.partition(".")
        text = f"{whole}.{decimals.ljust(len(padded[1]), '0')}"
    return text
