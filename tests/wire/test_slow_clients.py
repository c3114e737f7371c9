"""Whoever is slow, goes away half-way or never reads: others are answered meanwhile, and nothing of it stays."""

import socket
import statistics
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from .hostile import JOB, JSON
from .raw import BATTERY, Running, reset, running, wait_until

if sys.platform != "linux":
    pytest.skip("what a process uses is read in /proc", allow_module_level=True)

MANY = 300
SECONDS = 3
MOST_TIMES_SLOWER = 5.0
MOST_MORE_MIB = 32.0
"""Of memory, after the same has happened once already."""


def seconds_to_answer(service: Running) -> float:
    """What most of a few stay above: other work of the machine makes some slower, nothing makes them quicker."""
    taken = []
    for _ in range(20):
        began = time.perf_counter()
        assert service.served.ask("/v1/prices", service.desk, BATTERY)[0] == 200
        taken.append(time.perf_counter() - began)
    return statistics.quantiles(taken, n=4)[0]


def sending_slowly(service: Running) -> list[socket.socket]:
    """A byte a second: in the first line, in the headers, in the body."""
    request = service.posted(JOB)
    connections = [service.connect() for _ in range(MANY)]
    begun = [3, 60, len(request) - 20]
    for number, connection in enumerate(connections):
        connection.sendall(request[: begun[number % 3]])
    for second in range(SECONDS):
        for number, connection in enumerate(connections):
            at = begun[number % 3] + second
            connection.sendall(request[at : at + 1])
        time.sleep(1)
    return connections


def half_a_body(service: Running) -> list[socket.socket]:
    """As much as no longer is kept in memory, of twice as much."""
    head = service.request("POST /v1/prices", JSON, b"Content-Length: 400000")
    connections = [service.connect() for _ in range(MANY)]
    for connection in connections:
        connection.sendall(head + b" " * 200_000)
    return connections


def never_reading(service: Running) -> list[socket.socket]:
    """The whole price list, again and again, by more than there are threads."""
    connections = []
    for _ in range(24):
        connection = socket.socket()
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4_096)
        connection.connect(("127.0.0.1", service.port))
        connection.sendall(service.request("GET /v1/price-list") * 20)
        connections.append(connection)
    for connection in connections:  # each has begun to be answered
        connection.settimeout(60)
        assert connection.recv(12) == b"HTTP/1.1 200"
    return connections


@pytest.mark.parametrize("trouble", [sending_slowly, half_a_body, never_reading], ids=lambda each: each.__name__)
def test_others_are_answered_and_nothing_stays(tmp_path: Path, trouble: Callable[[Running], list[socket.socket]]):
    """While they are there and when they are gone, with FIN or RST: threads, files and memory are as before."""
    with running(tmp_path) as service:
        service.warm_up()
        for connection in trouble(service):
            reset(connection)
        wait_until(lambda: service.used().files < MANY, "connections that are gone are kept")
        alone, before = seconds_to_answer(service), service.settled()
        for leave in (reset, socket.socket.close):
            connections = trouble(service)
            meanwhile = seconds_to_answer(service)
            for connection in connections:
                leave(connection)
            wait_until(lambda: service.used().files <= before.files, "files of those who are gone stay open")
            after = service.settled()
            alone = max(alone, seconds_to_answer(service))  # other programs may be at work, too
            print(f"alone {alone:.4f}, meanwhile {meanwhile:.4f}; {before} before, {after} after")
            assert meanwhile < MOST_TIMES_SLOWER * alone
            assert after.threads == before.threads
            assert after.resident_mib - before.resident_mib < MOST_MORE_MIB
        with ThreadPoolExecutor(16) as pool:
            list(pool.map(lambda _: service.check_goes_on(), range(16)))
        assert service.served.stop() == 0
    assert "Traceback" not in (tmp_path / "log").read_text()
