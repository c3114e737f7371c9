"""A TOML document as lines of key and value, so that it can be edited like a table: labour.bench_rate, 3.00.

Tables in a list are counted from 1, as flaws count them: `parts.markup 1.rate`. A key with a dot or a space in it
stands in quotes. Lists of words are words separated by spaces.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

Lines = Mapping[str, str]

WORD_LISTS = re.compile(r"reclass \d+\.lines|consent\.how")
FLAGS = re.compile(r"combined|tax_in_price|excess\.from|consent\.number|notices\..+\.must_be_told")
TRUTHS: Mapping[str, bool] = {"true": True, "false": False}
EMPTY_LISTS = re.compile(r"codes\..+\.components")

_SEGMENT = re.compile(r'(?:"(?P<quoted>[^"]+)"|(?P<plain>[^."\s]+))(?: (?P<number>1000|[1-9][0-9]{0,2}))?(?:\.|$)')


def flat(document: Mapping[str, Any]) -> dict[str, str]:
    """Every value of a document under its key, in the document's order. An empty list of tables has none."""
    return dict(_lines(document, ""))


def _lines(document: Mapping[str, Any], within: str) -> Iterator[tuple[str, str]]:
    for key, value in document.items():
        name = within + (f'"{key}"' if re.search(r"[.\s]", key) else key)
        if isinstance(value, Mapping):
            yield from _lines(value, f"{name}.")
        elif isinstance(value, list) and any(isinstance(item, Mapping) for item in value):
            for number, item in enumerate(value, start=1):
                yield from _lines(item if isinstance(item, Mapping) else {}, f"{name} {number}.")
        elif value != [] or WORD_LISTS.fullmatch(name) or EMPTY_LISTS.fullmatch(name):
            yield name, _text(value)


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return " ".join(map(str, value)) if isinstance(value, list) else str(value)


def nested(lines: Lines) -> dict[str, Any]:
    """The document of these lines: what `flat` came from. A key that contradicts an earlier one is left out."""
    document: dict[str, Any] = {}
    for key, text in lines.items():
        steps = segments(key)
        if steps:
            _put(document, steps, _value(key, text))
    return document


def segments(key: str) -> list[tuple[str, int | None]]:
    """The names that lead to a value, each with its place in a list if it has one; empty for what is no key."""
    found: list[tuple[str, int | None]] = []
    place = 0
    while place < len(key):
        match = _SEGMENT.match(key, place)
        if match is None or (match.end() == len(key) and key.endswith(".")):
            return []
        found.append((match["quoted"] or match["plain"], int(match["number"]) if match["number"] else None))
        place = match.end()
    return found


def _put(document: dict[str, Any], steps: list[tuple[str, int | None]], value: Any) -> None:
    for name, number in steps[:-1]:
        inner = document.setdefault(name, {} if number is None else [])
        if number is not None and isinstance(inner, list):
            inner.extend({} for _ in range(number - len(inner)))
            inner = inner[number - 1]
        if not isinstance(inner, dict):
            return
        document = inner
    name, number = steps[-1]
    if number is None:
        document.setdefault(name, value)


def _value(key: str, text: str) -> Any:
    if WORD_LISTS.fullmatch(key):
        return text.split()
    if EMPTY_LISTS.fullmatch(key) and not text:
        return []
    return TRUTHS.get(text, text) if FLAGS.fullmatch(key) else text
