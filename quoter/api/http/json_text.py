"""Reads JSON, and says what is the matter with a text that is none."""

import json
from typing import Any

import orjson

from quoter.problems import Unreadable

_TOO_LARGE = "number is infinity when parsed as double"

LONGEST_NAME = 60
"""Signs of a name that are told."""


class _NamedTwice(Exception):
    """An object has two members of this name."""


def read_json_text(content: bytes, what: str) -> Any:
    """The document in a text, which `what` names. Raises Unreadable, with the reason and the place.

    No object may have a name twice (RFC 7493, section 2.3): readers differ in which of them they believe.
    """
    try:
        document = orjson.loads(content)
        _check_names(content)
    except orjson.JSONDecodeError as error:
        raise Unreadable(what, _why_no_json(error)) from None
    except _NamedTwice as error:
        name = json.dumps(str(error)[:LONGEST_NAME], ensure_ascii=False)
        raise Unreadable(what, f"an object has the name {name} twice") from None
    except RecursionError:
        raise Unreadable(what, "its lists and objects lie in each other too deep") from None
    return document


def _why_no_json(error: orjson.JSONDecodeError) -> str:
    """A number that nobody can count to is JSON all the same (RFC 8259, section 6)."""
    if error.msg == _TOO_LARGE:
        return f"a number is too long or too large: line {error.lineno} column {error.colno} (char {error.pos})"
    return f"not JSON in UTF-8: {error}"


def _check_names(content: bytes) -> None:
    """orjson takes the last of two without a word, so Python's own reader looks at the names."""
    _NAMES.decode(content.decode())


def _each_once(members: list[tuple[str, Any]]) -> None:
    seen: set[str] = set()
    for name, _ in members:
        if name in seen:
            raise _NamedTwice(name)
        seen.add(name)


_NAMES = json.JSONDecoder(object_pairs_hook=_each_once, parse_int=len, parse_float=len)
"""Numbers are not worked out: only names matter."""
