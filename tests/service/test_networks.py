"""Whom an address stands for, however it is written."""

from ipaddress import IPv6Address

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoter.service.access.networks import UNKNOWN, address_of, network_of


@pytest.mark.parametrize(
    ("address", "network"),
    [
        ("192.0.2.7", "192.0.2.7"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("2001:db8:1:2:ffff::1", "2001:db8:1:2::/64"),
        ("2001:db8:1:3::1", "2001:db8:1:3::/64"),
        ("[2001:db8:1:2::1]", "2001:db8:1:2::/64"),
        ("fe80::1%eth0", "fe80::/64"),
        ("::ffff:192.0.2.7", "192.0.2.7"),  # RFC 4291 section 2.5.5.2
        ("::ffff:192.0.2.7%1", "192.0.2.7"),
        *((each, "unknown") for each in ("", "unknown", "unknown-7", "_hidden", "x" * 5000, "192.0.2.07", "1.2.3")),
    ],
)
def test_an_address_stands_for_a_network(address: str, network: str):
    """Of IPv6 for all 64 bits that its holder can choose from (RFC 4291 section 2.5.4)."""
    assert network_of(address) == network


@given(st.integers(0, 2**64 - 1), st.integers(0, 2**64 - 1), st.integers(0x2001 << 48, (0x2001 << 48) + 2**40))
def test_all_addresses_of_a_network_share_a_bucket(one: int, other: int, network: int):
    """And no other network's do."""
    first, second, elsewhere = (
        str(IPv6Address((prefix << 64) + host))
        for prefix, host in ((network, one), (network, other), (network + 1, one))
    )
    assert network_of(first) == network_of(second) != network_of(elsewhere)


@pytest.mark.parametrize(
    ("said", "address"),
    [
        ("192.0.2.7", "192.0.2.7"),
        ("192.0.2.7:443", "192.0.2.7"),
        ("::ffff:192.0.2.7", "192.0.2.7"),  # RFC 4291 section 2.5.5.2
        ("[::ffff:192.0.2.7]:443", "192.0.2.7"),
        ("::ffff:c000:207", "192.0.2.7"),
        ("2001:DB8::0:2", "2001:db8::2"),
        ("[2001:db8::2]", "2001:db8::2"),
        ("[2001:db8::2]:65535", "2001:db8::2"),
        ('"[2001:db8:cafe::17]:4711"', "2001:db8:cafe::17"),  # RFC 7239 section 4
        (" 192.0.2.7 ", "192.0.2.7"),
        ("[fe80::1%eth0]:1", "fe80::1"),
    ],
)
def test_what_a_proxy_says_is_read_however_it_says_it(said: str, address: str):
    """The port is nobody's name."""
    assert address_of(said) == address


@pytest.mark.parametrize(
    "said",
    [
        "",
        "unknown",
        "_gazonk",
        "localhost",
        "192.0.2.07",
        "192.0.2.7:",
        "192.0.2.7:x",
        "[",
        "[]:1",
        "[192.0.2.7",
        "1:2",
        "\u0661.2.3.4",
        "::ffff:192.0.2.7:443",
        "2001:db8::2]:1",
        "0x7f.1",
        "2130706433",
        "192.0.2.7, 192.0.2.8",
    ],
)
def test_what_is_no_address_is_nobody_in_particular(said: str):
    """RFC 7239 section 6 has words for such; all of them are one."""
    assert address_of(said) == UNKNOWN


@given(st.text(max_size=300))
def test_whatever_is_said_is_an_address_or_unknown(said: str):
    """And what it is, it is once more."""
    assert address_of(address_of(said)) == address_of(said)
    assert network_of(said) == network_of(address_of(said))
