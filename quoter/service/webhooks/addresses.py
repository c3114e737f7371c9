"""Which addresses webhooks may have: those of the open internet, and networks that the settings name.

Whoever may register a webhook could otherwise make this service speak to machines that only it can reach.
"""

import ipaddress
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network
from urllib.parse import urlsplit

from quoter.problems import AddressRefused, Refusal

Address = IPv4Address | IPv6Address
Network = IPv4Network | IPv6Network
Resolve = Callable[[str, int], Sequence[str]]
"""The network addresses of a name. Raises OSError where there is none."""

LONGEST_ADDRESS = 2000
PORTS = {"https": 443, "http": 80}

CLOSED = tuple(
    ipaddress.ip_network(each)
    for each in (
        "0.0.0.0/8",  # this network, RFC 791
        "10.0.0.0/8",  # private, RFC 1918
        "100.64.0.0/10",  # shared between a provider and its customers, RFC 6598
        "127.0.0.0/8",  # loopback, RFC 1122
        "169.254.0.0/16",  # link-local, RFC 3927
        "172.16.0.0/12",  # private, RFC 1918
        "192.0.0.0/24",  # protocol assignments, RFC 6890
        "192.0.2.0/24",  # documentation, RFC 5737
        "192.31.196.0/24",  # AS112, RFC 7535
        "192.52.193.0/24",  # AMT, RFC 7450
        "192.88.99.0/24",  # relays of 6to4, RFC 7526
        "192.168.0.0/16",  # private, RFC 1918
        "192.175.48.0/24",  # AS112, RFC 7534
        "198.18.0.0/15",  # benchmarks, RFC 2544
        "198.51.100.0/24",  # documentation, RFC 5737
        "203.0.113.0/24",  # documentation, RFC 5737
        "224.0.0.0/4",  # multicast, RFC 5771
        "240.0.0.0/4",  # reserved, RFC 1112, and the limited broadcast, RFC 919
        "::/96",  # unspecified, loopback and what was compatible with IPv4, RFC 4291
        "64:ff9b:1::/48",  # translation within a network, RFC 8215
        "100::/64",  # discarded, RFC 6666
        "2001::/23",  # protocol assignments, among them Teredo, RFC 2928 and RFC 4380
        "2001:db8::/32",  # documentation, RFC 3849
        "3fff::/20",  # documentation, RFC 9637
        "5f00::/16",  # segment routing, RFC 9602
        "fc00::/7",  # unique local, RFC 4193
        "fe80::/10",  # link-local, RFC 4291
        "fec0::/10",  # site-local, RFC 3879
        "ff00::/8",  # multicast, RFC 4291
    )
)
"""What the registries of special-purpose addresses (RFC 6890) keep from the open internet."""

TRANSLATED = (ipaddress.ip_network("64:ff9b::/96"), ipaddress.ip_network("::ffff:0:0:0/96"))
"""IPv6 addresses that end with the IPv4 address they lead to: RFC 6052, RFC 2765."""


@dataclass(frozen=True, slots=True)
class Target:
    """Where to connect: one of the checked network addresses; `name` is for the header Host and the certificate."""

    scheme: str
    name: str
    port: int
    path: str
    addresses: tuple[str, ...]

    @property
    def host(self) -> str:
        """The header Host: with the port where it is not the usual one (RFC 9112, section 3.2)."""
        name = f"[{self.name}]" if ":" in self.name else self.name
        return name if self.port == PORTS[self.scheme] else f"{name}:{self.port}"

    @property
    def written(self) -> str:
        """The address, however it was written: equal ones are equal texts (RFC 3986, section 6.2.3)."""
        return f"{self.scheme}://{self.host}{self.path}"


@dataclass(frozen=True, slots=True)
class Addresses:
    """Checks addresses; `networks` are those that may be spoken to although they are not of the open internet."""

    resolve: Resolve
    networks: tuple[Network, ...] = ()

    def target(self, address: str) -> Target:
        """Where an address leads at this moment. Raises AddressRefused where it may not lead there."""
        scheme, name, port, path = _parts(address)
        if scheme == "http" and not self.networks:
            raise refused("it must begin with https://")
        try:
            found = tuple(dict.fromkeys(self.resolve(name, port)))
        except (OSError, UnicodeError):
            found = ()
        if not found:
            raise refused(f"the name {name!r} leads nowhere")
        for each in found:
            self._check(each, scheme)
        return Target(scheme, name, port, path, found)

    def _check(self, text: str, scheme: str) -> None:
        """Every network address of a name must be right, since any may be the one that is connected to."""
        found = ipaddress.ip_address(text)
        if any(found.version == each.version and found in each for each in self.networks):
            return
        if scheme == "http":
            raise refused(f"http is for the networks that the settings name, and {text} is in none of them")
        if not is_open(found):
            raise refused(f"it leads to {text}, which is not on the open internet")


def is_open(address: Address) -> bool:
    """Whether an address is one of the open internet, and so is the one that it holds within."""
    inner = _within(address)
    if inner is not None:
        return is_open(inner)
    closed = any(address.version == each.version and address in each for each in CLOSED)
    return address.is_global and not address.is_multicast and not closed


def _within(address: Address) -> IPv4Address | None:
    """The IPv4 address that an IPv6 address leads to: mapped (RFC 4291), 6to4 (RFC 3056), translated (RFC 6052)."""
    if isinstance(address, IPv4Address):
        return None
    if any(address in each for each in TRANSLATED):
        return IPv4Address(int(address) & 0xFFFFFFFF)
    return address.ipv4_mapped or address.sixtofour


def _parts(address: str) -> tuple[str, str, int, str]:
    """Scheme, name, port and path of an address that can be understood in one way only."""
    if len(address) > LONGEST_ADDRESS or not all("!" <= sign <= "~" and sign not in '\\"<>^`{|}' for sign in address):
        raise refused(f"it must be at most {LONGEST_ADDRESS} characters of ASCII, without blanks")
    try:
        parts = urlsplit(address)
        scheme, name, port = parts.scheme, parts.hostname, parts.port
    except ValueError:
        raise refused("it is not an address such as https://example.org/told") from None
    if scheme not in PORTS or not name or "%" in name:
        raise refused("it is not an address such as https://example.org/told")
    if "@" in parts.netloc:
        raise refused("it must not hold a user's name or password")
    if parts.fragment or port == 0:
        raise refused("it must have no fragment, and no port 0")
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    return scheme, name, port or PORTS[scheme], path


def refused(why: str) -> AddressRefused:
    """The problem of an address that is not used."""
    return AddressRefused((Refusal("address-refused", "/address", f"the address cannot be told anything: {why}"),))
