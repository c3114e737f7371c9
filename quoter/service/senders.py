"""Who sent something, without keeping their network address."""

import hashlib
import hmac
import ipaddress

SITE_BITS = 64
"""Of an IPv6 address: one household or shop is given at least such a network (RFC 6177), and every address in it."""


def sender_of(address: str, secret: bytes) -> str:
    """A hash with a key of who sent something; blank where the address is not known.

    Without the secret nobody can try all addresses until one fits.
    """
    return hmac.digest(secret, _network(address).encode(), hashlib.sha256).hex() if address else ""


def _network(address: str) -> str:
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:
        return address
    if isinstance(parsed, ipaddress.IPv4Address):
        return str(parsed)
    if parsed.ipv4_mapped:
        return str(parsed.ipv4_mapped)
    return str(ipaddress.IPv6Network((int(parsed), SITE_BITS), strict=False))
