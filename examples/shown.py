"""What differs from one time to the next, replaced; and what is long, cut."""

import re
from collections.abc import Callable, Mapping
from typing import Any

import orjson

MOST_ENTRIES = 2
MOST_CHARACTERS = 400
MOST_MEMBERS = 60
WHOLE = ("lines", "tax", "errors", "working", "next", "scopes", "origins", "kinds")
"""Lists that say something only as a whole."""

ID = re.compile(r"(?P<time>[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-)[89ab][0-9a-f]{3}-[0-9a-f]{12}")
LINK = re.compile(r"(?<![A-Za-z0-9_-])[A-Za-z0-9_-]{43}(?![A-Za-z0-9_-])")

SECRET = re.compile(r"whsec_[A-Za-z0-9+/]{43}=")

FORM = re.compile(r"(?P<time>\d{13})\.[A-Za-z0-9_-]{10,}\.[A-Za-z0-9_-]{20,}")


def shown(data: dict[str, Any], drawn_by_lot: Mapping[str, str]) -> Any:
    """The examples, with ids that count up and links that lead nowhere in the places of those drawn by lot."""
    text = orjson.dumps(data).decode()
    for drawn, replacement in drawn_by_lot.items():
        text = text.replace(drawn, replacement)
    text = _counted(text, ID, lambda found, n: f"{found['time']}8000-{n:012d}")
    text = _counted(text, SECRET, lambda _, n: f"whsec_AnExampleThatIsNobodysSecretNo{n:012d}A=")
    text = _counted(text, LINK, lambda _, n: f"an-example-that-leads-nowhere-{n:013d}")
    text = _counted(text, FORM, lambda found, n: f"{found['time']}.an-example-{n:03d}.of-a-signature-that-is-none")
    return orjson.loads(text)


def _counted(text: str, pattern: re.Pattern[str], name: Callable[[re.Match[str], int], str]) -> str:
    names: dict[str, str] = {}

    def replaced(found: re.Match[str]) -> str:
        return names.setdefault(found[0], name(found, len(names) + 1))

    return pattern.sub(replaced, text)


def cut(value: Any, member: str = "", *, brief: bool = False) -> Any:
    """The beginning of every long list and text within, and of what is kept by language or by name.

    A `brief` one is for a kind of answer that is shown in full elsewhere: it has one entry of every list.
    """
    if isinstance(value, dict):
        kept = list(value.items())
        if member == "texts" or len(kept) > MOST_MEMBERS:
            kept = kept[:MOST_ENTRIES]
        return {name: cut(each, "" if member == "because" else name, brief=brief) for name, each in kept}
    if isinstance(value, list):
        return [cut(each, brief=brief) for each in value[: _most(member, brief)]]
    if isinstance(value, str) and len(value) > MOST_CHARACTERS:
        return value[:MOST_CHARACTERS] + "…"
    return value


def _most(member: str, brief: bool) -> int | None:
    if brief:
        return 1
    return None if member in WHOLE else MOST_ENTRIES
