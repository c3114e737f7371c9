"""Which locale an answer is written in."""

import re
from collections.abc import Collection, Iterator
from decimal import Decimal

from quoter.words.locales import canonical, known_locale

MAX_HEADER_LENGTH = 500
"""Characters of an Accept-Language header; a longer one is ignored."""

_WEIGHTED_RANGE = re.compile(
    r"([a-z]{1,8}(?:-[a-z0-9]{1,8})*|\*)(?:[ \t]*;[ \t]*q=(0(?:\.[0-9]{0,3})?|1(?:\.0{0,3})?))?",
    re.ASCII | re.IGNORECASE,
)
"""RFC 9110 section 12.5.4: a language range and its weight."""


def best_match(
    accept_language: str | None,
    default: str,
    *,
    requested: str | None = None,
    offered: Collection[str] | None = None,
) -> str:
    """The tag asked for, else the best of the header, else the default. Never raises.

    A requested tag that is not known counts as none: an edge that would rather refuse it asks `known_locale`.
    `offered` limits what a header can choose to some languages ("en", "de"); without it any locale will do.
    """
    if requested is not None and known_locale(requested):
        return canonical(requested)
    ranges = _weighted_ranges(accept_language or "")
    refused = {canonical(tag) for tag, weight in ranges if not weight and known_locale(tag)}
    for wanted in _by_weight(ranges):
        for tag in _looked_up(wanted, default):
            if tag not in refused and (tag == default or _is_offered(tag, offered)):
                return tag
    return default


def _weighted_ranges(header: str) -> list[tuple[str, Decimal]]:
    """Language ranges in lower case and their weights; none from a header that is malformed or too long."""
    if len(header) > MAX_HEADER_LENGTH:
        return []
    elements = [element.strip(" \t") for element in header.split(",")]
    matches = [_WEIGHTED_RANGE.fullmatch(element) for element in elements if element]
    if not all(matches):
        return []
    return [(match[1].lower(), Decimal(match[2] or 1)) for match in matches if match]


def _by_weight(ranges: list[tuple[str, Decimal]]) -> list[str]:
    """The ranges that are wanted at all, best first; those of one weight in the order of the header."""
    wanted = [pair for pair in ranges if pair[1]]
    return [tag for tag, _ in sorted(wanted, key=lambda pair: pair[1], reverse=True)]


def _looked_up(wanted: str, default: str) -> Iterator[str]:
    """What serves a range, best first: en-IE-x serves as en-IE, then as en.

    A default that falls under the range serves first: who wants "en" gets the dates of an Irish shop's en-IE.
    """
    if wanted == "*":
        yield default
        return
    subtags = wanted.split("-")
    for length in range(len(subtags), 0, -1):
        shorter = "-".join(subtags[:length])
        if f"{default}-".lower().startswith(f"{shorter}-"):
            yield default
        if known_locale(shorter):
            yield canonical(shorter)


def _is_offered(tag: str, offered: Collection[str] | None) -> bool:
    return offered is None or tag.partition("-")[0] in offered
