"""Sites that a form may stand on, each by its origin (RFC 6454): scheme, host and port."""

import ipaddress
import re
from urllib.parse import SplitResult, urlsplit

import idna

DEFAULT_PORTS = {"http": 80, "https": 443}
MOST_ORIGINS = 20
LONGEST = 300
EXAMPLE = "https://shop.example"

_NUMBER = re.compile(r"\d+|0x[0-9a-f]*", re.ASCII)


class WrongOrigin(ValueError):
    """Not the origin of a site; says what would be right."""


def origin_of(text: str) -> str:
    """An origin as browsers write it (RFC 6454 section 6.2): lower case, IDNA, without the scheme's own port.

    Raises WrongOrigin. `http:` is taken for this machine alone: elsewhere, what a form sends could be read on the way.
    """
    split = _split(text)
    host = _host(text, split.hostname or "")
    port = split.port if split.port != DEFAULT_PORTS[split.scheme] else None
    right = f"{split.scheme}://{host}" + (f":{port}" if port is not None else "")
    if "@" in split.netloc or split.path or split.query or split.fragment or text[-1] in "?#":
        raise WrongOrigin(f"{text!r} says more than a site: {right} would be right")
    if split.scheme == "http" and not is_this_machine(host):
        raise WrongOrigin(f"{text!r} is not encrypted: https://{host} would be right, http: only for localhost")
    return right


def is_this_machine(host: str) -> bool:
    """Whether a host, as it stands in an origin, never leaves the machine (RFC 6761 section 6.3)."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host == "localhost" or host.endswith(".localhost")


def _split(text: str) -> SplitResult:
    if not text or len(text) > LONGEST or not text.isprintable() or " " in text or "\\" in text:
        raise WrongOrigin(f"{text[:LONGEST]!r} is not the origin of a site; {EXAMPLE} would be right")
    scheme, separator, _ = text.partition("://")
    if not separator or scheme.lower() not in DEFAULT_PORTS:
        raise WrongOrigin(f"{text!r} does not begin with https://; {EXAMPLE} would be right")
    try:
        split = urlsplit(text)
        port = split.port
    except ValueError:
        raise WrongOrigin(f"{text!r} has no host and port that can be read; {EXAMPLE}:8443 would be right") from None
    if port == 0 or split.netloc.endswith(":"):
        raise WrongOrigin(f"{text!r} has a port that is none; {EXAMPLE}:8443 would be right")
    return split


def _host(text: str, host: str) -> str:
    wrong = f"{text!r} names no host; a name such as {EXAMPLE} would be right, each site in full"
    try:
        if ":" in host:
            return f"[{ipaddress.IPv6Address(host).compressed}]"
        if _NUMBER.fullmatch(host.rpartition(".")[2].lower()):  # browsers take it for an address of version 4
            return str(ipaddress.IPv4Address(host))
        return idna.encode(host, uts46=True).decode()
    except ValueError:  # also what idna raises
        raise WrongOrigin(wrong) from None
