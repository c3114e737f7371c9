"""Told to stop, the service finishes what it is at: requests, deliveries, measurements; and takes nothing more on."""

import http.client
import json
import signal
import socket
import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from background.receivers import receiving, status

from quoter.serving import SECONDS_TO_FINISH

from .running import BALLYQUARN, BATTERY, PATIENCE_SECONDS, Served, served

if not hasattr(signal, "SIGTERM"):
    pytest.skip("signals as POSIX has them", allow_module_level=True)

DEMO = ("--demo", "--book", BALLYQUARN)


def keys(service: Served) -> dict[str, str]:
    """By scope."""
    return dict(line.split() for line in service.greeting[2:5])


def ended(service: Served) -> int:
    """The status it ends with. Fails where it tripped over itself."""
    _, said = service.process.communicate(timeout=PATIENCE_SECONDS)
    assert "Traceback" not in said
    return service.process.returncode


@contextmanager
def held_up(database: Path) -> Iterator[None]:
    """Whoever wants to write into the file waits until this is over."""
    with closing(sqlite3.connect(database, isolation_level=None)) as other:
        other.execute("begin immediate")
        yield


@contextmanager
def at_work(service: Served) -> Iterator[socket.socket]:
    """Where a quote has been asked for and nothing else will be read first: all but the body is there already.

    Whoever asks from now on waits behind it, where the service has one thread and the file is held up.
    """
    content = json.dumps(BATTERY).encode()
    head = (
        f"POST /v1/quotes HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer {keys(service)['desk']}\r\n"
        f"Content-Type: application/json\r\nContent-Length: {len(content)}\r\nExpect: 100-continue\r\n\r\n"
    )
    with socket.create_connection(("127.0.0.1", service.port), timeout=PATIENCE_SECONDS) as connection:
        connection.sendall(head.encode())
        told = b""
        while not told.endswith(b"100 Continue\r\n\r\n"):  # RFC 9110, 10.1.1: go on
            told += connection.recv(100)
        connection.sendall(content)
        yield connection


@contextmanager
def asked(service: Served, path: str) -> Iterator[http.client.HTTPConnection]:
    """Where a request is, whole, and its answer will be."""
    with closing(http.client.HTTPConnection("127.0.0.1", service.port, timeout=PATIENCE_SECONDS)) as connection:
        connection.request("GET", path)
        yield connection


def answer(connection: socket.socket) -> tuple[int, Any]:
    """Status and body."""
    with closing(http.client.HTTPResponse(connection)) as response:
        response.begin()
        return response.status, json.loads(response.read())


def wait_until_closed(service: Served) -> None:
    """Until it takes nobody on any more, which is how one sees from outside that it has heard."""
    until = time.monotonic() + PATIENCE_SECONDS
    while time.monotonic() < until:
        try:
            socket.create_connection(("127.0.0.1", service.port), timeout=PATIENCE_SECONDS).close()
        except OSError:
            return
        time.sleep(0.01)
    raise AssertionError("it goes on listening")


@pytest.mark.parametrize(
    "signals",
    [(signal.SIGTERM,), (signal.SIGINT,), (signal.SIGTERM, signal.SIGTERM), (signal.SIGINT, signal.SIGTERM)],
    ids=lambda signals: "-".join(each.name for each in signals),
)
def test_what_has_come_in_is_answered(tmp_path: Path, signals: tuple[signal.Signals, ...]):
    """What is worked on and what waits, however often it is told; the one that asks whether it is ready gets 503."""
    database = tmp_path / "quoter.db"
    with served(database, *DEMO, "--threads", 1, lines=6) as service, ExitStack() as asking:
        with held_up(database):
            quote = asking.enter_context(at_work(service))
            waiting = asking.enter_context(asked(service, "/readyz"))
            for each in signals:
                service.process.send_signal(each)
                wait_until_closed(service)
        assert ended(service) == 0
        assert answer(quote)[0] == 201
        response = waiting.getresponse()
        problem = json.loads(response.read())
        assert (response.status, problem["type"]) == (503, "/problems/unavailable")
        assert "told to stop" in problem["detail"]
        with pytest.raises(ConnectionRefusedError):
            service.ask("/healthz")


def test_a_second_interruption_ends_it_at_once(tmp_path: Path):
    """Status 130, nobody is waited for; what was answered before is kept."""
    database = tmp_path / "quoter.db"
    with served(database, *DEMO, "--threads", 1, lines=6) as service:
        quote = service.ask("/v1/quotes", keys(service)["desk"], BATTERY)[1]
        with held_up(database), at_work(service) as unfinished:
            service.process.send_signal(signal.SIGINT)
            wait_until_closed(service)
            service.process.send_signal(signal.SIGINT)
            assert ended(service) == 130
            with pytest.raises((http.client.HTTPException, OSError)):
                answer(unfinished)
    with served(database, *DEMO, lines=6) as service:
        assert service.ask(f"/v1/quotes?number={quote['number']}", keys(service)["desk"])[1]["quotes"] != []


def test_idle_connections_do_not_hold_it_up(tmp_path: Path):
    """Nobody asks anything on them."""
    with (
        served(tmp_path / "quoter.db", *DEMO, lines=6) as service,
        closing(http.client.HTTPConnection("127.0.0.1", service.port, timeout=PATIENCE_SECONDS)) as connection,
    ):
        connection.request("GET", "/healthz")
        assert json.loads(connection.getresponse().read()) == {"status": "ok"}
        began = time.monotonic()
        assert service.stop() == 0
        assert time.monotonic() - began < SECONDS_TO_FINISH


def test_what_goes_on_behind_is_finished_or_begun_again(tmp_path: Path):
    """A delivery to somebody slow is ended and not made again; the next start completes the measurement of a draft."""
    networks = {"QUOTER_WEBHOOK_NETWORKS": "127.0.0.0/8"}
    told_to_stop = threading.Event()

    def slow(request: Any) -> None:
        told_to_stop.wait(5)  # an attempt that takes ten seconds would have failed
        status(204)(request)

    with receiving(slow, status(204)) as receiver:
        with served(tmp_path / "quoter.db", *DEMO, lines=6, **networks) as service:
            owner = keys(service)["owner"]
            hook = {"address": receiver.address, "events": ["quote.issued"]}
            assert service.ask("/v1/webhooks", owner, hook)[0] == 201
            assert service.ask("/v1/books/ballyquarn/draft", owner, {})[0] == 201
            assert service.ask("/v1/quotes", owner, BATTERY)[0] == 201
            receiver.wait_for(1)
            found, effect = service.ask("/v1/books/ballyquarn/draft/effects", owner, {})
            assert found == 202
            service.process.send_signal(signal.SIGTERM)
            wait_until_closed(service)
            told_to_stop.set()
            assert ended(service) == 0
        with served(tmp_path / "quoter.db", *DEMO, lines=6, **networks) as service:
            assert done_at_last(service, "/v1/books/ballyquarn/draft/effects/newest")["id"] == effect["id"]
            delivered = service.ask("/v1/quotes", keys(service)["owner"], BATTERY)[0]
            assert delivered == 201
            receiver.wait_for(2)
    assert len(receiver.ids) == len(set(receiver.ids)) == 2


def done_at_last(service: Served, path: str) -> Any:
    """A measurement, once it is no longer worked on."""
    until = time.monotonic() + 60
    while time.monotonic() < until:
        found, effect = service.ask(path, keys(service)["owner"])
        assert found == 200, effect
        if effect["state"] == "done":
            return effect
        time.sleep(0.3)
    raise AssertionError("it is not done")
