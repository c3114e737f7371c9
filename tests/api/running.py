"""A service for a test: a database and a clock of its own, and callers who look closely at every answer."""

import datetime as dt
import ipaddress
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import orjson
from flask import Flask
from werkzeug.test import TestResponse

from quoter.app import create_app
from quoter.config import Settings
from quoter.service.access.keys import Keyring
from quoter.store.database import WAIT_SECONDS, Store
from quoter.store.keys import Keys

from .described import check_described

RATES = Path(__file__).parents[2] / "rates"
SITE = "https://shop.example"
"""Where the form of the tests stands."""

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)

BATTERY = {"device": "kessoway-5", "repairs": [{"procedure": "battery", "grade": "genuine"}]}
SCREEN = {"device": "dunnec-21", "repairs": [{"procedure": "screen"}]}


OFTEN = Settings(form_requests_a_minute=1_000_000, form_key_requests_a_minute=1_000_000, wrong_keys_a_minute=1_000_000)
"""Asking is not limited, since the clock stands still; what is about limits says which."""


def on_the_internet(name: str, port: int) -> list[str]:
    """An address for every name but those that must not have one (RFC 6761, section 6.4), since tests ask nobody."""
    try:
        return [str(ipaddress.ip_address(name))]
    except ValueError:
        return [] if name.endswith(".invalid") else ["203.0.114.7"]


class SetClock:
    """Stands where it is set."""

    def __init__(self, now: dt.datetime = NOW) -> None:
        self.now = now

    def __call__(self) -> dt.datetime:
        """The moment."""
        return self.now

    def ticks(self) -> int:
        """The same as nanoseconds."""
        return round(self.now.timestamp() * 1_000_000) * 1000

    def forward(self, **difference: float) -> None:
        """Later by so many days, hours, …"""
        self.now += dt.timedelta(**difference)


class Reply(NamedTuple):
    """What came back; `body` is the JSON document, or None where it is none; of a file `content`."""

    status: int
    headers: Mapping[str, str]
    text: str
    body: Any
    content: bytes = b""


def seen(reply: Reply) -> tuple[int, str, list[tuple[str, str]]]:
    """All that tells an answer from another, but for the name that each request has."""
    return reply.status, reply.text, sorted(each for each in reply.headers.items() if each[0] != "X-Request-Id")


class Caller:
    """Somebody with a key (or none), on a page of `origin` if any.

    Fails at any answer that the description of the API does not allow.
    """

    def __init__(self, app: Flask, key: str | None, origin: str | None = None) -> None:
        self._app, self._client, self.key, self.origin = app, app.test_client(), key, origin

    def get(self, path: str, **headers: str) -> Reply:
        """The answer to GET."""
        return self.send("GET", path, **headers)

    def post(self, path: str, document: Any, **headers: str) -> Reply:
        """The answer to a JSON document."""
        return self.send("POST", path, orjson.dumps(document), **headers)

    def send(self, method: str, path: str, content: bytes | None = None, **headers: str) -> Reply:
        """The answer to anything. Headers are named with _ for -."""
        given = {name.replace("_", "-"): value for name, value in headers.items()}
        if self.key is not None:
            given.setdefault("Authorization", f"Bearer {self.key}")
        if self.origin is not None:
            given.setdefault("Origin", self.origin)
        if content is not None:
            given.setdefault("Content-Type", "application/json")
        with self._client.open(path, method=method, data=content, headers=given) as response:
            reply = _reply(response)
        if method != "HEAD":
            check_described(self._app, method, path, reply)
        return reply


class Service:
    """The app over a real database file, with keys for all scopes."""

    def __init__(self, folder: Path, settings: Settings, wait_seconds: float) -> None:
        self.clock = clock = SetClock()
        self.store = Store(folder / "quoter.db", wait_seconds=wait_seconds)
        self.app = create_app(settings, store=self.store, now=clock, ticks=clock.ticks, resolve=on_the_internet)
        self.keyring = Keyring(Keys(self.store), clock)

    def caller(self, scope: str | None, *, economics: bool = False) -> Caller:
        """Somebody with a new key of the scope, on the form's page if it is one; without scope, without key."""
        key = None if scope is None else self.new_key(scope, economics=economics)
        return Caller(self.app, key, SITE if scope == "form" else None)

    def new_key(self, scope: str, *, economics: bool = False) -> str:
        """A key as its holder presents it."""
        origins = [SITE] if scope == "form" else []
        return self.keyring.new(f"{scope} key", scope, sees_economics=economics, origins=origins)[0]

    def kept(self) -> tuple[int, ...]:
        """How much is kept of quotes: nothing of it may move when a request is refused."""
        counters = [int(row["value"]) for row in self.store.rows("select value from counters order by name")]
        return (self._count("quotes"), self._count("revisions"), *counters)

    def _count(self, table: str) -> int:
        (row,) = self.store.rows(f"select count(*) as n from {table}")
        return int(row["n"])


@contextmanager
def a_service(
    folder: Path, *books: Path, wait_seconds: float = WAIT_SECONDS, settings: Settings = OFTEN
) -> Iterator[Service]:
    """A service that prices from these books (the demo's if none is named), ended with the test."""
    named = replace(settings, books=books or (RATES / "ballyquarn", RATES / "peddrick-mills"))
    service = Service(folder, named, wait_seconds)
    try:
        yield service
    finally:
        service.store.close()


def _reply(response: TestResponse) -> Reply:
    content = response.get_data()
    is_json = (response.mimetype or "").endswith("json") and content
    body = orjson.loads(content) if is_json else None
    return Reply(response.status_code, response.headers, content.decode(errors="replace"), body, content)
