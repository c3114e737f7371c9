"""Whom a network address stands for."""

import ipaddress
import re

UNKNOWN = "unknown"
"""Whoever's address is none: all of them are one, so that nobody becomes many by inventing words."""

NETWORK_BITS = 64
"""Of an address of version 6: who has one has all that begin like it (RFC 6177 section 2, RFC 4291 section 2.5.4)."""

LONGEST = 100
"""Characters of an address with its port."""

_WITH_PORT = re.compile(r"\[(?P<v6>[^\]]*)\](:[0-9]{1,5})?|(?P<v4>[0-9.]+):[0-9]{1,5}", re.ASCII)


def address_of(said: str) -> str:
    """The address in what a proxy says of who asks, without a port, or `unknown` where it is none.

    With and without quotes, brackets and port, as proxies write it (RFC 7239 section 6 among them). An address of
    version 4 that is written as one of version 6 is what it was (RFC 4291 section 2.5.5.2).
    """
    text = said[: LONGEST + 1].strip().removeprefix('"').removesuffix('"')
    with_port = _WITH_PORT.fullmatch(text)
    if with_port:
        text = with_port["v6"] or with_port["v4"] or ""
    try:
        found = ipaddress.ip_address(text.partition("%")[0])
    except ValueError:
        return UNKNOWN
    inner = found.ipv4_mapped if isinstance(found, ipaddress.IPv6Address) else None
    return str(inner or found)


def network_of(address: str) -> str:
    """Whom an address stands for: itself, or the network of 64 bits that somebody with IPv6 has to themselves."""
    known = address_of(address)
    if ":" not in known:
        return known
    return str(ipaddress.IPv6Network((known, NETWORK_BITS), strict=False))
