"""Thousands of connections on which nothing is asked: whoever asks is answered as if they were not there.

2,000, or as many as CONNECTIONS says: `make endure` takes 10,000.
"""

import http.client
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from quoter.wire.files import MOST_RESERVED

from .raw import BATTERY, Running, running, wait_until

if sys.platform != "linux":
    pytest.skip("what a process uses is read in /proc", allow_module_level=True)

import resource

MANY = int(os.environ.get("CONNECTIONS", "2000"))
ASKED = 60
MOST_TIMES_SLOWER = 4.0
MOST_KEPT_MIB = 24.0
"""Of memory, when they are gone: what the C library keeps of many small pieces."""
MOST_KIB_EACH = 24.0


def seconds_to_answer(service: Running) -> float:
    """The median of asking how it is and for a price, each on a connection of its own."""
    taken = []
    for _ in range(ASKED):
        began = time.perf_counter()
        assert service.served.ask("/healthz")[0] == 200
        assert service.served.ask("/v1/prices", service.desk, BATTERY)[0] == 200
        taken.append(time.perf_counter() - began)
    return statistics.median(taken)


@contextmanager
def held(service: Running, many: int) -> Iterator[None]:
    """So many connections by another process, which ends with the test."""
    command = [sys.executable, str(Path(__file__).with_name("holder.py")), str(service.port), str(many)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdout is not None
        try:
            assert holder.stdout.readline() == "open\n"
            yield
        finally:
            holder.kill()


@pytest.mark.skipif(
    resource.getrlimit(resource.RLIMIT_NOFILE)[1] < MANY + MOST_RESERVED,
    reason=f"this machine lets a process open too few files for {MANY} connections",
)
def test_idle_connections_cost_nobody_time(tmp_path: Path):
    """Prices take no multiple of the time; memory and files are as before when they are gone."""
    with running(tmp_path) as service:
        service.warm_up()
        alone, before = seconds_to_answer(service), service.settled()
        began = time.perf_counter()
        with held(service, MANY):
            opened_seconds = time.perf_counter() - began
            wait_until(lambda: service.used().files >= before.files + MANY, "not all are taken on")
            among_many, during = seconds_to_answer(service), service.used()
        wait_until(lambda: service.used().files <= before.files, "connections that are gone are kept")
        after, alone_again = service.used(), seconds_to_answer(service)
        print(
            f"\n{MANY} connections, opened in {opened_seconds:.1f} s: two answers take {alone * 1000:.1f} ms alone, "
            f"{among_many * 1000:.1f} ms among them, {alone_again * 1000:.1f} ms afterwards; "
            f"{before} before, {during} with them, {after} after"
        )
        assert among_many < MOST_TIMES_SLOWER * max(alone, alone_again)  # other programs may be at work, too
        assert during.threads == before.threads == after.threads
        assert (during.resident_mib - before.resident_mib) * 1024 < MOST_KIB_EACH * MANY
        assert after.resident_mib - before.resident_mib < MOST_KEPT_MIB
        assert service.served.stop() == 0


def test_where_there_is_no_room_the_idle_make_some(tmp_path: Path):
    """Twenty at a time: of those who ask nothing the longest idle goes; whoever is about to ask something stays."""
    with running(tmp_path, "--connections", 20) as service:
        connections = [service.connect() for _ in range(20)]
        asking = connections[0]
        request = service.posted(b"{}")
        asking.sendall(request[:40])
        began = time.perf_counter()
        service.check_goes_on()
        assert time.perf_counter() - began < 30  # who waits for the idle to be given up waits that long
        asking.sendall(request[40:])
        with closing(http.client.HTTPResponse(asking)) as response:
            response.begin()
            assert response.status == 422
        for connection in connections:
            connection.close()
        assert service.served.stop() == 0


def test_more_connections_than_files_are_not_promised(tmp_path: Path):
    """It says what it takes instead, when it starts, and goes on when more come."""
    with running(tmp_path, before=["sh", "-c", 'ulimit -n 200; exec "$@"', "sh"]) as service:
        with held(service, 400):
            service.check_goes_on()
        said = (tmp_path / "log").read_text()
        assert "12000 connections: it takes 150 at a time" in said
        assert "Traceback" not in said
        assert service.served.stop() == 0
