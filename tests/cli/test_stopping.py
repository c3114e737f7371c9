"""Told to stop, the service finishes what it is at: requests, deliveries, measurements; and takes nothing more on."""

import http.client
import json
import signal
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from background.receivers import receiving, status

from quoter.serving import SECONDS_TO_FINISH

from .running import BALLYQUARN, BATTERY, Served, served

if not hasattr(signal, "SIGTERM"):
    pytest.skip("signals as POSIX has them", allow_module_level=True)

DEMO = ("--demo", "--book", BALLYQUARN)
MANY = [BATTERY] * 80
"""Jobs that keep a thread of the service at work for a while."""


def keys(service: Served) -> dict[str, str]:
    """By scope."""
    return dict(line.split() for line in service.greeting[2:5])


def ended(service: Served) -> int:
    """The status it ends with. Fails where it tripped over itself."""
    _, said = service.process.communicate(timeout=60)
    assert "Traceback" not in said
    return service.process.returncode


def asked_while_busy(service: Served, path: str, pool: ThreadPoolExecutor) -> tuple[Any, Any]:
    """A long job that is worked on, and another request that has come in and waits behind it."""
    long = pool.submit(service.ask, "/v1/prices", keys(service)["desk"], MANY)
    time.sleep(0.3)  # it has been read and is worked on
    waiting = pool.submit(service.ask, path)
    time.sleep(0.2)  # it has come in
    assert not long.done()
    return long, waiting


@pytest.mark.parametrize(
    "signals",
    [(signal.SIGTERM,), (signal.SIGINT,), (signal.SIGTERM, signal.SIGTERM), (signal.SIGINT, signal.SIGTERM)],
    ids=lambda signals: "-".join(each.name for each in signals),
)
def test_what_has_come_in_is_answered(tmp_path: Path, signals: tuple[signal.Signals, ...]):
    """What is worked on and what waits, however often it is told; the one that asks whether it is ready gets 503."""
    with served(tmp_path / "quoter.db", *DEMO, "--threads", 1, lines=6) as service, ThreadPoolExecutor(2) as pool:
        long, waiting = asked_while_busy(service, "/readyz", pool)
        for each in signals:
            service.process.send_signal(each)
            time.sleep(0.1)
        assert ended(service) == 0
        found, prices = long.result()
        assert (found, len(prices)) == (200, len(MANY))
        found, problem = waiting.result()
        assert (found, problem["type"]) == (503, "/problems/unavailable")
        assert "told to stop" in problem["detail"]
        with pytest.raises(ConnectionRefusedError):
            service.ask("/healthz")


def test_a_second_interruption_ends_it_at_once(tmp_path: Path):
    """Status 130, nobody is waited for; what was answered before is kept."""
    with served(tmp_path / "quoter.db", *DEMO, "--threads", 1, lines=6) as service, ThreadPoolExecutor(2) as pool:
        quote = service.ask("/v1/quotes", keys(service)["desk"], BATTERY)[1]
        long, _ = asked_while_busy(service, "/healthz", pool)
        service.process.send_signal(signal.SIGINT)
        time.sleep(0.1)
        service.process.send_signal(signal.SIGINT)
        assert ended(service) == 130
        with pytest.raises((http.client.HTTPException, OSError)):
            long.result()
    with served(tmp_path / "quoter.db", *DEMO, lines=6) as service:
        assert service.ask(f"/v1/quotes?number={quote['number']}", keys(service)["desk"])[1]["quotes"] != []


def test_idle_connections_do_not_hold_it_up(tmp_path: Path):
    """Nobody asks anything on them."""
    with (
        served(tmp_path / "quoter.db", *DEMO, lines=6) as service,
        closing(http.client.HTTPConnection("127.0.0.1", service.port, timeout=30)) as connection,
    ):
        connection.request("GET", "/healthz")
        assert json.loads(connection.getresponse().read()) == {"status": "ok"}
        began = time.monotonic()
        assert service.stop() == 0
        assert time.monotonic() - began < SECONDS_TO_FINISH


def test_what_goes_on_behind_is_finished_or_begun_again(tmp_path: Path):
    """A delivery to somebody slow is ended and not made again; the next start completes the measurement of a draft."""
    networks = {"QUOTER_WEBHOOK_NETWORKS": "127.0.0.0/8"}
    slow = thoughtful(2.0)
    with receiving(slow, status(204)) as receiver:
        with served(tmp_path / "quoter.db", *DEMO, lines=6, **networks) as service:
            owner = keys(service)["owner"]
            hook = {"address": receiver.address, "events": ["quote.issued"]}
            assert service.ask("/v1/webhooks", owner, hook)[0] == 201
            assert service.ask("/v1/quotes", owner, BATTERY)[0] == 201
            receiver.wait_for(1)
            assert service.ask("/v1/books/ballyquarn/draft", owner, {})[0] == 201
            found, effect = service.ask("/v1/books/ballyquarn/draft/effects", owner, {})
            assert found == 202
            service.process.send_signal(signal.SIGTERM)
            assert ended(service) == 0
        with served(tmp_path / "quoter.db", *DEMO, lines=6, **networks) as service:
            assert done_at_last(service, "/v1/books/ballyquarn/draft/effects/newest")["id"] == effect["id"]
            delivered = service.ask("/v1/quotes", keys(service)["owner"], BATTERY)[0]
            assert delivered == 201
            receiver.wait_for(2)
    assert len(receiver.ids) == len(set(receiver.ids)) == 2


def thoughtful(seconds: float) -> Any:
    """A receiver that thinks about it."""

    def answer(request: Any) -> None:
        time.sleep(seconds)
        status(204)(request)

    return answer


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
