"""What is the matter with a text that should be JSON."""

import orjson

_TOO_LARGE = "number is infinity when parsed as double"


def why_no_json(error: orjson.JSONDecodeError) -> str:
    """The reason and the place. A number that nobody can count to is JSON all the same (RFC 8259, section 6)."""
    if error.msg == _TOO_LARGE:
        return f"a number is too long or too large: line {error.lineno} column {error.colno} (char {error.pos})"
    return f"not JSON in UTF-8: {error}"
