"""Two services on one database: what one keeps the other knows, and nothing is done twice or not at all."""

import json
import sqlite3
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from background.receivers import Receiver, receiving, status

from .running import BALLYQUARN, BATTERY, PATIENCE_SECONDS, Served, quoter, served

NETWORKS = {"QUOTER_WEBHOOK_NETWORKS": "127.0.0.0/8"}
EVENTS = ["quote.issued", "quote.revised", "quote.decided", "quote.expired"]
QUOTES, EXPIRING = 16, 4
REVISION = {"reason": "express", "job": {"urgency": "express"}}
DECISION = {"decision": "declined", "revision": 2, "name": "A. Example", "how": "counter"}


@contextmanager
def two_services(database: Path) -> Iterator[tuple[Served, Served]]:
    """Started at the same moment on a database that neither has made yet."""
    options = ("--book", BALLYQUARN)
    with served(database, *options, **NETWORKS) as first, served(database, *options, **NETWORKS) as second:
        yield first, second


def lived(services: tuple[Served, Served], key: str, number: int) -> list[tuple[int, Any]]:
    """The answers of a quote's life, each step asked of the other service."""
    here, there = services if number % 2 else services[::-1]
    issued = here.ask_until_free("/v1/quotes", key, BATTERY)
    place = f"/v1/quotes/{issued[1]['id']}"
    both = [(here, "revisions", REVISION), (there, "revisions", REVISION)]
    with ThreadPoolExecutor(2) as pool:
        asked = [
            pool.submit(at.ask_until_free, f"{place}/{what}", key, body, **{"If-Match": '"1"'})
            for at, what, body in both
        ]
        revised = [each.result() for each in asked]
    assert sorted(found for found, _ in revised) == [201, 412]
    return [issued, *revised, there.ask_until_free(f"{place}/decisions", key, DECISION, **{"If-Match": '"2"'})]


def expire(database: Path, numbers: list[str]) -> None:
    """As if their time had passed."""
    with closing(sqlite3.connect(database, timeout=PATIENCE_SECONDS)) as connection, connection:
        for number in numbers:
            connection.execute("update quotes set expires_at = issued_at where number = ?", [number])
            connection.execute(
                "update revisions set expires_at = issued_at where quote = (select id from quotes where number = ?)",
                [number],
            )


def told(receiver: Receiver) -> Counter[str]:
    """How many announcements of each kind have come in about each quote, however often each of them."""
    bodies = {each.id: json.loads(each.body) for each in receiver.got}
    return Counter(f"{body['type']} {body['data']['number']}" for body in bodies.values())


def attempts(database: Path) -> Counter[str]:
    """How often each announcement may have come in: more than once where an answer took too long."""
    with closing(sqlite3.connect(database)) as connection:
        rows = connection.execute("select announcement, attempts from deliveries").fetchall()
    return Counter({announcement: max(1, made) for announcement, made in rows})


def test_two_services_share_a_database(tmp_path: Path):
    """Numbers have no gaps, one of two who change a quote wins, no 5xx; each thing is announced once, also expiry."""
    database = tmp_path / "quoter.db"
    with receiving(status(204)) as receiver, two_services(database) as services, ThreadPoolExecutor(8) as pool:
        desk, owner = (
            quoter("key", "new", "--scope", scope, "--name", "x", "--database", database).stdout.strip()
            for scope in ("desk", "owner")
        )
        hook = {"address": receiver.address, "events": EVENTS}
        assert services[0].ask("/v1/webhooks", owner, hook)[0] == 201
        lives = list(pool.map(lambda number: lived(services, desk, number), range(QUOTES)))
        assert Counter(found for life in lives for found, _ in life) == {201: QUOTES * 3, 412: QUOTES}
        last = list(
            pool.map(lambda each: services[each % 2].ask_until_free("/v1/quotes", desk, BATTERY), range(EXPIRING))
        )
        numbers = sorted(quote["number"] for _, quote in [life[0] for life in lives] + last)
        assert [int(number[5:]) for number in numbers] == list(range(1, QUOTES + EXPIRING + 1))
        expired = [quote["number"] for _, quote in last]
        expire(database, expired)
        receiver.wait_for_different(QUOTES * 3 + EXPIRING * 2, seconds=120)
        assert [service.stop() for service in services] == [0, 0]
    kinds = dict.fromkeys(numbers, EVENTS[:3]) | {number: [EVENTS[0], EVENTS[3]] for number in expired}
    assert told(receiver) == Counter(f"{kind} {number}" for number, those in kinds.items() for kind in those)
    assert Counter(receiver.ids) <= attempts(database)
