"""How settings are read: a function for each kind, of text or of a value in TOML, that says what would be right."""

import ipaddress
import os
import re
from collections.abc import Callable, Collection
from pathlib import Path

Reader = Callable[[object], object]
"""Makes what is given to the value of a setting. Raises NotRead."""

LONGEST = 12
"""Digits of a number that is worth converting."""

ANY_PROXY = "*"
"""Whoever connects is the proxy."""

_ADDRESS = re.compile(r"https?://[^\s/?#@]+(/[^\s?#]*)?", re.ASCII | re.IGNORECASE)


class NotRead(Exception):
    """What is wrong with what is given, and what would be right."""


class WrongSettings(Exception):
    """Every setting that is wrong, with its place and what would be right."""


def text(given: object) -> str:
    """Signs that can be printed, none of them a blank."""
    if not (isinstance(given, str) and given.isprintable() and " " not in given):
        raise NotRead("not a word without blanks")
    return given


def path(given: object) -> Path:
    """A file or a folder, from where the program is started if it does not begin at the root."""
    if not isinstance(given, str) or "\0" in given:
        raise NotRead("not the path of a file")
    return Path(given)


def whole(least: int, most: int) -> Reader:
    """A whole number, both ends included."""

    def number(given: object) -> int:
        found = int(str(given)) if _is_digits(given) else given
        if not isinstance(found, int) or isinstance(found, bool) or not least <= found <= most:
            raise NotRead(f"not a whole number from {least} to {most}")
        return found

    return number


def one_of(allowed: Collection[str]) -> Reader:
    """One of some words."""

    def word(given: object) -> object:
        if given not in tuple(allowed):
            raise NotRead(f"not one of {', '.join(allowed)}")
        return given

    return word


def many(one: Callable[[object], object], separator: str | None = None) -> Reader:
    """Several: a list in TOML; in text they stand between separators, which are blanks unless another is named."""

    def values(given: object) -> tuple[object, ...]:
        if not isinstance(given, str | list):
            raise NotRead("not a list")
        return tuple(one(each) for each in (given.split(separator) if isinstance(given, str) else given) if each)

    return values


def folders(given: object) -> object:
    """Several folders, in text as the system separates them in PATH."""
    return many(path, os.pathsep)(given)


def address(given: object) -> str:
    """Where something is reached over HTTP, without a slash at the end."""
    if not (isinstance(given, str) and _ADDRESS.fullmatch(given)):
        raise NotRead("not an address such as https://quotes.example.org")
    return given.rstrip("/")


def proxy(given: object) -> str:
    """One network address, in its shortest form, or whoever connects."""
    try:
        return ANY_PROXY if given == ANY_PROXY else str(ipaddress.ip_address(str(given)))
    except ValueError:
        raise NotRead(f"not a network address such as 127.0.0.1, nor {ANY_PROXY}") from None


def network(given: object) -> ipaddress.IPv4Network | ipaddress.IPv6Network:
    """A network with the length of its prefix."""
    try:
        return ipaddress.ip_network(str(given))
    except ValueError:
        raise NotRead(f"{given!r} is not a network such as 192.168.0.0/16") from None


def _is_digits(given: object) -> bool:
    return isinstance(given, str) and given.isascii() and given.isdecimal() and len(given) <= LONGEST
