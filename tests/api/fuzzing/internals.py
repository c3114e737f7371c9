"""What no answer may tell: how the service is made, and where it lies."""

import re
import sys
from collections.abc import Iterable
from pathlib import Path

ROOT = Path(__file__).parents[3]

PATTERNS = (
    r"Traceback \(most recent call last\)",
    r'File "[^"]*", line \d+',
    r"\b\w+\.py\b",
    r"\b(site|dist)-packages\b",
    r"\b(quoter|flask|werkzeug|marshmallow|sqlite_utils|sqlite3|waitress|orjson|babel|typst)\.[a-z_]+\b",
    r"\b[A-Z][A-Za-z]*(Error|Exception|Warning)\b",
    r"\b(BookFlawed|JobRefused|ApiProblem|NotAllowed|ChangedMeanwhile|Refusal)\b",
    r"(?i:\b(select|delete)\b[^\n]{1,200}\bfrom\b[^\n]{1,200}\b(where|order by|limit)\b)",
    r"(?i:\b(insert into|update [a-z_]+ set|create table)\b)",
    r"(?i:\b(no such table|no such column|constraint failed|database is locked|syntax error)\b)",
    r"\bobject at 0x[0-9a-f]+",
    r"<(class|function|module) '?[\w.]+",
    r"\b(Decimal|datetime|NoneType|OrderedDict)\b\(?",
    r"(?<![\w/:.-])/(home|root|usr|var|etc|opt|tmp|srv|proc)/[\w.-]+",
)
INTERNALS = re.compile("|".join(PATTERNS))

PLACES = (str(ROOT), sys.prefix, sys.base_prefix)
"""Of the program and of Python."""


def internals_in(text: str, secrets: Iterable[str] = ()) -> list[str]:
    """What in a text tells of them; `secrets` are told by any text that holds them."""
    found = [match[0] for match in INTERNALS.finditer(text)]
    return found + [each for each in (*PLACES, *secrets) if each in text]
