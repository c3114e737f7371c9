"""Requests that are sent again to a real server: at once, after a restart, after it was killed in the middle."""

import http.client
import json
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

import pytest
from cli.running import BALLYQUARN, MOST_WAITS, PATIENCE_SECONDS, ROOT, environment, served

from quoter.service.access.keys import Keyring
from quoter.service.clock import utc_now
from quoter.store.database import WAIT_SECONDS, Store
from quoter.store.keys import Keys

from .running import BATTERY

KILLED = -9
MOST_MOMENTS = 40


class Told(NamedTuple):
    """Everything of an answer that a client acts on."""

    status: int
    content_type: str | None
    location: str | None
    tag: str | None
    body: bytes


def issue(port: int, key: str, name: str) -> Told:
    """Asks for a quote, again where others had the database for as long as anybody waits for them."""
    for _ in range(MOST_WAITS):
        began = time.monotonic()
        told = _issue(port, key, name)
        if told.status != 503 or time.monotonic() - began < WAIT_SECONDS:
            break  # one that is refused sooner stays refused
    return told


def _issue(port: int, key: str, name: str) -> Told:
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json", "Idempotency-Key": f'"{name}"'}
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE_SECONDS)) as connection:
        connection.request("POST", "/v1/quotes", json.dumps(BATTERY), headers)
        response = connection.getresponse()
        read = response.headers
        return Told(response.status, read["Content-Type"], read["Location"], read["ETag"], response.read())


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """Where the service keeps what it keeps."""
    return tmp_path / "quoter.db"


@pytest.fixture
def key(database: Path) -> str:
    """A key of the desk, which outlives the service."""
    with closing(Store(database)) as store:
        return Keyring(Keys(store), utc_now).new("desk", "desk")[0]


@contextmanager
def service(database: Path) -> Iterator[int]:
    """The port of a service with this database, and nothing else in common with the one before."""
    with served(database, "--book", BALLYQUARN, lines=1, QUOTER_THREADS="16") as running:
        yield running.port


def counted(database: Path) -> tuple[int, int]:
    """Quotes and replies that are kept."""
    with closing(Store(database)) as store:
        rows = (store.row(f"select count(*) as n from {table}") for table in ("quotes", "replies"))
        quotes, replies = (row["n"] for row in rows if row)
        return quotes, replies


def test_of_sixteen_at_once_one_is_done_and_all_are_answered_alike(database: Path, key: str):
    """Whoever comes while the first is still running waits for its answer; also after a restart it is that."""
    together = threading.Barrier(16)

    def attempt(port: int) -> Told:
        together.wait()
        return issue(port, key, "one")

    with service(database) as port, ThreadPoolExecutor(16) as pool:
        answers = set(pool.map(attempt, [port] * 16))
    (answer,) = answers
    assert answer.status == 201
    assert counted(database) == (1, 1)
    with service(database) as port:
        assert issue(port, key, "one") == answer
        assert issue(port, key, "two") != answer
    assert counted(database) == (2, 2)


def test_killed_at_any_moment_it_is_done_once(database: Path, key: str):
    """Both the quote and its answer are there or neither is; who asks again gets exactly one."""
    with service(database):
        pass  # the book is published
    fates = []
    for moment in range(1, MOST_MOMENTS):
        name = f"moment-{moment}"
        command = [sys.executable, "-m", "tests.api.dying", str(database), key, name, str(moment)]
        done = subprocess.run(command, capture_output=True, text=True, env=environment(), cwd=ROOT, timeout=60)
        fates.append(done.returncode)
        assert counted(database) == (0, 0) if done.returncode == KILLED else (1, 1), name
        if done.returncode != KILLED:
            assert done.stdout.strip() == "201", done.stderr
            break
    assert set(fates[:-1]) == {KILLED}
    assert len(fates) > 4
    assert fates[-1] == 0
    with service(database) as port:
        answers = [issue(port, key, f"moment-{moment}") for moment in range(1, len(fates)) for _ in range(2)]
    assert {answer.status for answer in answers} == {201}
    assert counted(database) == (len(fates), len(fates))


@pytest.mark.parametrize("milliseconds", [4, 25])
def test_a_server_that_is_killed_while_it_answers(database: Path, key: str, milliseconds: int):
    """Whatever it had got to: after a restart the request is answered, and there is one quote."""
    arguments = ("--book", BALLYQUARN)
    with served(database, *arguments, lines=1) as running:
        issue(running.port, key, "before")  # so that the next one takes as long as it does
        asking = threading.Thread(target=lambda: _try(running.port, key))
        asking.start()
        time.sleep(milliseconds / 1000)
        running.process.kill()
        asking.join()
        running.process.wait(30)
    quotes, replies = counted(database)
    assert quotes == replies
    with service(database) as port:
        first, again = (issue(port, key, "killed") for _ in range(2))
    assert first == again
    assert first.status == 201
    assert counted(database) == (2, 2)


def _try(port: int, key: str) -> None:
    with suppress(OSError, http.client.HTTPException):
        issue(port, key, "killed")
