"""Behind a proxy: whose word counts for who asks, by the server that is shipped."""

import http.client
import json
from contextlib import closing
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

from .running import BALLYQUARN, Served, served

ONE_TRY = {"QUOTER_WRONG_KEYS_A_MINUTE": "1"}
WRONG = "quoter_000000000000_x"


def started(tmp_path: Path, **settings: str) -> Any:
    """A demo that lets one wrong key a minute pass from each address."""
    return served(tmp_path / "quoter.db", "--demo", "--book", BALLYQUARN, lines=6, **ONE_TRY, **settings)


def guess(service: Served, address: str) -> int:
    """The answer to a wrong key, said to come from an address."""
    return service.ask("/v1/devices", WRONG, **{"X-Forwarded-For": address})[0]


def cookie(service: Served, **headers: str) -> str:
    """What signing in sets."""
    body = urlencode({"key": service.greeting[2].split()[1]})
    sent = {"Content-Type": "application/x-www-form-urlencoded", "Sec-Fetch-Site": "same-origin"} | headers
    with closing(http.client.HTTPConnection("127.0.0.1", service.port, timeout=120)) as connection:
        connection.request("POST", "/sign-in", body, sent)
        response = connection.getresponse()
        assert response.status == 303
        return response.headers["Set-Cookie"]


@pytest.mark.parametrize("proxy", ["", "192.0.2.1"])
def test_what_anybody_says_of_themselves_is_not_believed(tmp_path: Path, proxy: str):
    """A forged address makes no other caller of them, nor a forged scheme a safe one; also with a proxy elsewhere."""
    with started(tmp_path, QUOTER_TRUSTED_PROXY=proxy) as service:
        assert "Secure" not in cookie(service, **{"X-Forwarded-Proto": "https"})
        assert own_link(service) == f"http://127.0.0.1:{service.port}"
        assert [guess(service, f"198.51.100.{number}") for number in range(3)] == [401, 429, 429]


@pytest.mark.parametrize("proxy", ["127.0.0.1", "*"])
def test_what_the_proxy_says_of_who_asks_is_believed(tmp_path: Path, proxy: str):
    """Each address behind it is limited on its own, and HTTPS makes the cookie Secure (RFC 6265 section 5.2.5)."""
    with started(tmp_path, QUOTER_TRUSTED_PROXY=proxy) as service:
        assert [guess(service, address) for address in ("198.51.100.1", "198.51.100.2", "198.51.100.1")] == [
            401,
            401,
            429,
        ]
        assert [guess(service, address) for address in ("2001:db8::1", "2001:db8::2", "2001:db8:0:1::1")] == [
            401,
            429,
            401,
        ]
        # A proxy adds the address that it sees at the end; what stands before it is the caller's own word.
        assert guess(service, "203.0.113.9, 198.51.100.1") == 429
        assert "Secure" in cookie(service, **{"X-Forwarded-Proto": "https"})
        assert "Secure" not in cookie(service, **{"X-Forwarded-Proto": "http"})
        assert own_link(service) == "https://quotes.example"


@pytest.mark.parametrize(
    "one",
    [
        ("::ffff:9.1.7.9", "9.1.7.9", "9.1.7.9:4711", "[::ffff:9.1.7.9]:80", "::ffff:901:709"),
        ("2001:db8::2", "[2001:db8::2]", "[2001:db8::2]:4711", '"[2001:db8::3]:9"'),
        ("unknown", "unknown-7", "_hidden", "192.0.2.07", "", ":1"),
    ],
    ids=["IPv4", "IPv6", "nobody knows"],
)
def test_who_asks_is_one_however_the_proxy_writes_it(tmp_path: Path, one: tuple[str, ...]):
    """With the port (RFC 7239 section 6), or as IPv6 (RFC 4291 section 2.5.5.2); and all without an address are one."""
    with started(tmp_path, QUOTER_TRUSTED_PROXY="127.0.0.1") as service:
        assert [guess(service, address) for address in one] == [401] + [429] * (len(one) - 1)
        assert [guess(service, other) for other in ("::ffff:9.1.7.8", "9.1.7.7:1", "[2001:db8:0:1::2]:1")] == [401] * 3


def own_link(service: Served) -> str:
    """By which address the service knows itself, where the request says quotes.example over HTTPS."""
    desk = service.greeting[3].split()[1]
    job = {"device": "kessoway-5", "repairs": [{"procedure": "battery"}]}
    headers = {"X-Forwarded-Proto": "https", "X-Forwarded-Host": "quotes.example"}
    status, quote = service.ask("/v1/quotes", desk, job, **headers)
    assert status == 201, json.dumps(quote)
    link: str = quote["link"]
    return link.partition("/q/")[0]
