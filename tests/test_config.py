"""Settings: each with a default and a help, read once from what is given."""

import os
from dataclasses import fields, replace
from ipaddress import ip_network
from pathlib import Path

import pytest

from quoter.config import Settings, WrongSettings, settings_from, variable

GIVEN = {
    "database": ("/srv/q.db", Path("/srv/q.db")),
    "books": (os.pathsep.join(("a", "", "b c")), (Path("a"), Path("b c"))),
    "host": ("0.0.0.0", "0.0.0.0"),
    "port": ("0", 0),
    "threads": ("3", 3),
    "enquiries_per_hour": ("4", 4),
    "enquiries_per_day": ("50", 50),
    "max_body_bytes": ("1", 1),
    "form_requests_a_minute": ("30", 30),
    "form_key_requests_a_minute": ("300", 300),
    "wrong_keys_a_minute": ("3", 3),
    "trusted_proxy": ("2001:DB8:0::1", "2001:db8::1"),
    "keep_contact_days": ("0", 0),
    "webhook_networks": ("127.0.0.0/8  fd00::/8", (ip_network("127.0.0.0/8"), ip_network("fd00::/8"))),
    "public_address": ("https://quotes.example.org/shop/", "https://quotes.example.org/shop"),
}


def test_without_environment_the_defaults_count():
    """Also where a variable is empty, or is none of ours."""
    assert settings_from({}) == Settings()
    assert settings_from({"QUOTER_PORT": "", "PORT": "9", "QUOTER_KEY": "x"}) == Settings()


@pytest.mark.parametrize("setting", fields(Settings), ids=lambda setting: setting.name)
def test_every_setting_has_a_help_and_is_read_from_the_environment(setting: object):
    """By its name in capitals."""
    text, value = GIVEN[setting.name]
    assert setting.metadata["help"]
    assert settings_from({f"QUOTER_{setting.name.upper()}": text}) == replace(Settings(), **{setting.name: value})
    assert variable(setting.name) == f"QUOTER_{setting.name.upper()}"


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("port", "65536"),
        ("port", "-1"),
        ("port", "http"),
        ("port", "8080 "),
        ("threads", "0"),
        ("threads", "1001"),
        ("threads", "1.5"),
        ("keep_contact_days", "-1"),
        ("keep_contact_days", "36501"),
        ("max_body_bytes", "0"),
        ("max_body_bytes", "64000001"),
        ("max_body_bytes", "9" * 5000),
        ("max_body_bytes", "²"),
    ],
)
def test_a_number_that_is_none_is_refused(name: str, text: str):
    """With the variable, what it says and what would be right."""
    with pytest.raises(WrongSettings, match=f"^{variable(name)}=.*not a whole number from "):
        settings_from({variable(name): text})


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        ("port", "0", "65535"),
        ("threads", "1", "1000"),
        ("max_body_bytes", "1", "64000000"),
        ("keep_contact_days", "0", "36500"),
    ],
)
def test_the_ends_of_a_range_belong_to_it(name: str, least: str, most: str):
    """Both sides of both boundaries: the others are refused above."""
    assert [getattr(settings_from({variable(name): text}), name) for text in (least, most)] == [int(least), int(most)]


@pytest.mark.parametrize("text", ["quotes.example.org", "ftp://example.org", "https://", "https://a b", "https://a?b"])
def test_an_address_that_is_none_is_refused(text: str):
    """Customers would be sent nowhere."""
    with pytest.raises(WrongSettings, match=r"^QUOTER_PUBLIC_ADDRESS=.*not an address such as"):
        settings_from({variable("public_address"): text})


@pytest.mark.parametrize("text", ["*", "127.0.0.1"])
def test_a_proxy_is_an_address_or_whoever_connects(text: str):
    """As the server compares it."""
    assert settings_from({variable("trusted_proxy"): text}).trusted_proxy == text


@pytest.mark.parametrize("text", ["localhost", "127.0.0.1:80", "10.0.0.0/8", "**", " "])
def test_a_proxy_that_is_no_address_is_refused(text: str):
    """It would never be believed."""
    with pytest.raises(WrongSettings, match=r"^QUOTER_TRUSTED_PROXY=.*not a network address such as"):
        settings_from({variable("trusted_proxy"): text})


@pytest.mark.parametrize("text", ["10.0.0.1/8", "localhost", "10.0.0.0/8,127.0.0.0/8", "::/129"])
def test_a_network_that_is_none_is_refused(text: str):
    """A slip must not open more than was meant."""
    with pytest.raises(WrongSettings, match=r"^QUOTER_WEBHOOK_NETWORKS: .*is not a network such as"):
        settings_from({variable("webhook_networks"): text})
