"""The settings of the service: each with its name, default and help, read once at the start."""

import ipaddress
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Settings:
    """How the service runs. Each is set by QUOTER_ and its name in capitals, or by an option of `quoter serve`."""

    database: Path = field(
        default=Path("var/quoter.db"),
        metadata={"help": "the SQLite file that keeps quotes, keys and book versions"},
    )
    books: tuple[Path, ...] = field(
        default=(),
        metadata={
            "help": "folders of rate books, separated by colons (on Windows by semicolons); the first counts where "
            "none is named"
        },
    )
    host: str = field(default="127.0.0.1", metadata={"help": "the address to listen on"})
    port: int = field(default=8080, metadata={"help": "the port to listen on; 0 takes one that is free"})
    threads: int = field(default=8, metadata={"help": "how many requests are worked on at a time"})
    public_address: str = field(
        default="",
        metadata={
            "help": "where customers reach the service, such as https://quotes.example.org; the address of the request "
            "if absent"
        },
    )
    enquiries_per_hour: int = field(
        default=10, metadata={"help": "how many enquiries are taken in an hour from one network address"}
    )
    enquiries_per_day: int = field(
        default=200, metadata={"help": "how many enquiries are taken in a day through one key of a form"}
    )
    webhook_networks: tuple[ipaddress.IPv4Network | ipaddress.IPv6Network, ...] = field(
        default=(),
        metadata={
            "help": "networks that webhooks may lead into although they are not of the open internet, separated by "
            "blanks, such as 127.0.0.0/8 192.168.0.0/16; within them http will do"
        },
    )
    max_body_bytes: int = field(default=2_000_000, metadata={"help": "the largest request body, in bytes"})
    form_requests_a_minute: int = field(
        default=60, metadata={"help": "how often a visitor (a network address) may ask through the web form, a minute"}
    )
    form_key_requests_a_minute: int = field(
        default=600, metadata={"help": "how often all visitors together may ask with one form's key, a minute"}
    )
    wrong_keys_a_minute: int = field(
        default=10, metadata={"help": "how many wrong keys a network address may try, a minute"}
    )
    trusted_proxy: str = field(
        default="",
        metadata={
            "help": "the address of the proxy in front, whose X-Forwarded-For, -Proto and -Host are believed; * where "
            "the service is reached only through one; none if absent"
        },
    )
    keep_contact_days: int = field(
        default=180,
        metadata={
            "help": "how long names, numbers and free texts of enquiries and of quotes that nobody agreed to are kept, "
            "in days; 0 keeps them until somebody asks"
        },
    )


WHOLE = {
    "port": range(65_536),
    "threads": range(1, 1_001),
    "enquiries_per_hour": range(1, 100_001),
    "enquiries_per_day": range(1, 1_000_001),
    "max_body_bytes": range(1, 64_000_001),
    "form_requests_a_minute": range(1, 1_000_001),
    "form_key_requests_a_minute": range(1, 1_000_001),
    "wrong_keys_a_minute": range(1, 1_000_001),
    "keep_contact_days": range(36_501),
}
"""Settings that are whole numbers, and what they may be."""

_ADDRESS = re.compile(r"https?://[^\s/?#@]+(/[^\s?#]*)?", re.ASCII | re.IGNORECASE)

ANY_PROXY = "*"
"""Whoever connects is the proxy."""

LONGEST = 12
"""Digits of a number that is worth converting."""


class WrongSettings(Exception):
    """Every setting that is wrong, with what would be right."""


def variable(name: str) -> str:
    """The environment variable of a setting."""
    return f"QUOTER_{name.upper()}"


def settings_from(environment: Mapping[str, str]) -> Settings:
    """The settings in an environment. Raises WrongSettings naming all that are wrong at once."""
    given = {
        setting.name: environment[variable(setting.name)]
        for setting in fields(Settings)
        if environment.get(variable(setting.name))
    }
    wrong = [*_wrong_address(given.get("public_address")), *_wrong_proxy(given.get("trusted_proxy"))]
    wrong += _wrong_networks(given.get("webhook_networks", ""))
    wrong += [
        f"{variable(name)}={given[name]!r}: not a whole number from {allowed.start} to {allowed.stop - 1}"
        for name, allowed in WHOLE.items()
        if name in given and not _is_whole(given[name], allowed)
    ]
    if wrong:
        raise WrongSettings("\n".join(wrong))
    values: dict[str, object] = {name: _value(name, text) for name, text in given.items()}
    return Settings(**values)  # type: ignore[arg-type]


def _wrong_address(address: str | None) -> list[str]:
    if address is None or _ADDRESS.fullmatch(address):
        return []
    return [f"{variable('public_address')}={address!r}: not an address such as https://quotes.example.org"]


def _wrong_proxy(address: str | None) -> list[str]:
    if address is None or address == ANY_PROXY:
        return []
    try:
        ipaddress.ip_address(address)
    except ValueError:
        return [f"{variable('trusted_proxy')}={address!r}: not a network address such as 127.0.0.1, nor {ANY_PROXY}"]
    return []


def _wrong_networks(networks: str) -> list[str]:
    return [
        f"{variable('webhook_networks')}: {each!r} is not a network such as 192.168.0.0/16"
        for each in networks.split()
        if not _is_network(each)
    ]


def _is_network(text: str) -> bool:
    try:
        ipaddress.ip_network(text)
    except ValueError:
        return False
    return True


def _is_whole(text: str, allowed: range) -> bool:
    return text.isdecimal() and len(text) <= LONGEST and int(text) in allowed


def _value(name: str, text: str) -> object:
    if name in WHOLE:
        return int(text)
    if name == "books":
        return tuple(Path(folder) for folder in text.split(os.pathsep) if folder)
    if name == "trusted_proxy" and text != ANY_PROXY:
        return str(ipaddress.ip_address(text))
    if name == "webhook_networks":
        return tuple(map(ipaddress.ip_network, text.split()))
    return Path(text) if name == "database" else text.rstrip("/")
