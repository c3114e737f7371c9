"""Text that a spreadsheet would take for a formula, made harmless in CSV by an apostrophe, and turned back exactly."""

import re

_FORMULA = re.compile(r"'*([\t\r\n]|\s*[=+\-@＝＋－＠])")
"""What a spreadsheet begins to compute at, the wide forms of East Asian keyboards included, behind any apostrophes."""

_NUMBER = re.compile(r"-[0-9]+(\.[0-9]+)?")


def neutral(cell: str) -> str:
    """The cell as it may stand in a CSV file: =A1 as '=A1. Negative numbers are numbers and stay.

    >>> neutral("=A1"), neutral("'=A1"), neutral("-5"), neutral("'tis")
    ("'=A1", "''=A1", '-5', "'tis")
    """
    return f"'{cell}" if is_formula_like(cell) else cell


def plain(cell: str) -> str:
    """The cell that `neutral` was given; also an apostrophe that a person has put there for the same reason goes.

    >>> plain("'=A1"), plain("''=A1"), plain("-5"), plain("'tis")
    ('=A1', "'=A1", '-5', "'tis")
    """
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell


def is_formula_like(cell: str) -> bool:
    """Whether a spreadsheet could compute the cell, or would once its apostrophes are gone."""
    return bool(_FORMULA.match(cell)) and not _NUMBER.fullmatch(cell)
