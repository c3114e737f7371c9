"""The service as a process that can be killed, started again on the same file, and asked."""

import http.client
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from functools import partial
from multiprocessing import get_context
from multiprocessing.process import BaseProcess
from pathlib import Path

import orjson

from quoter.cli.main import main
from quoter.service.access.keys import Keyring
from quoter.service.clock import utc_now
from quoter.store.database import WAIT_SECONDS, Store
from quoter.store.keys import Keys

from .wishes import Caller, Told, Wish

ROOT = Path(__file__).parents[2]
BOOK = ROOT / "rates" / "ballyquarn"
SITE = "https://shop.example"

WITHOUT_LIMITS = {
    "QUOTER_ENQUIRIES_PER_HOUR": "100000",
    "QUOTER_ENQUIRIES_PER_DAY": "1000000",
    "QUOTER_FORM_REQUESTS_A_MINUTE": "1000000",
    "QUOTER_FORM_KEY_REQUESTS_A_MINUTE": "1000000",
    "QUOTER_WEBHOOK_NETWORKS": "127.0.0.0/8",
}
"""So many visitors from one address are rare; a webhook of this machine gives the background something to write."""

PATIENCE_SECONDS = 60.0
MOST_WAITS = 5

FORKED = get_context("forkserver")
FORKED.set_forkserver_preload(["quoter.serving", "quoter.cli.main"])


class Unanswered(Exception):
    """The connection ended before the whole answer was here."""


class Process:
    """`quoter serve` on a free port, with its output in a file: a pipe that nobody reads would fill up."""

    def __init__(
        self, database: Path, *before: str, book: Path | None = None, has_imported: bool = False, **settings: str
    ) -> None:
        """`book` is what rates begin from; `before` are words in front of the command, such as a tracer's.

        One that `has_imported` is forked from a process that has imported the program and done nothing else: all that
        is saved is that second.
        """
        self.output = Path(tempfile.mkdtemp()) / "output"
        arguments = ["serve", "--port", "0", "--database", str(database), *(("--book", str(book)) if book else ())]
        inherited = {name: value for name, value in os.environ.items() if not name.startswith("QUOTER_")}
        surroundings = inherited | {"PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error"} | WITHOUT_LIMITS | settings
        if has_imported:
            process = FORKED.Process(target=serve, args=(arguments, surroundings, self.output), daemon=True)
            process.start()
            self.pid, self._wait = process.pid or 0, partial(_join, process)
        else:
            with self.output.open("w") as output:
                command = [*before, sys.executable, "-m", "quoter.cli", *arguments]
                started = subprocess.Popen(
                    command, stdout=output, stderr=output, env=surroundings, start_new_session=True
                )
            self.pid, self._wait = started.pid, partial(started.wait, 0)
        self._signal = os.kill if has_imported else os.killpg  # a tracer in front leaves what it traced
        self.port, self.status = 0, None

    def listening(self) -> "Process":
        """Itself, as soon as it listens. Fails where it ends instead."""
        until = time.monotonic() + PATIENCE_SECONDS
        while not (address := re.search(r"http://127\.0\.0\.1:(\d+)", self.said())):
            assert not self.has_ended(), self.said()
            assert time.monotonic() < until, self.said()
            time.sleep(0.01)
        self.port = int(address[1])
        return self

    def has_ended(self) -> bool:
        """Whether it runs no more."""
        if self.status is None:
            with suppress(subprocess.TimeoutExpired):
                self.status = self._wait()
        return self.status is not None

    def ask(self, wish: Wish) -> Told:
        """The whole answer. Raises Unanswered where there is none."""
        content = None if wish.body is None else orjson.dumps(wish.body)
        try:
            with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE_SECONDS)) as connection:
                connection.request(wish.method, wish.path, content, wish.headers())
                response = connection.getresponse()
                return Told(response.status, response.headers, response.read())
        except (OSError, http.client.HTTPException) as error:
            raise Unanswered from error

    def ask_until_free(self, wish: Wish) -> Told:
        """The same, asked again where others had the database for as long as anybody waits for them.

        That happens where the machine stands still in the middle of their writing. Refused sooner, it stays refused.
        """
        for _ in range(MOST_WAITS):
            began = time.monotonic()
            told = self.ask(wish)
            if told.status != 503 or time.monotonic() - began < WAIT_SECONDS:
                break
        return told

    def get(self, caller: Caller, path: str) -> Told:
        """The answer to GET."""
        return self.ask(Wish(mark="", kind="read", caller=caller, path=path, method="GET"))

    def kill(self) -> None:
        """At once, as by `kill -9`."""
        self._end(signal.SIGKILL)

    def stop(self) -> int:
        """As one stops a service; its status."""
        return self._end(signal.SIGTERM)

    def _end(self, by: signal.Signals) -> int:
        if not self.has_ended():
            self._signal(self.pid, by)
        return self.ended()

    def ended(self) -> int:
        """Its status, when it has come to its end."""
        until = time.monotonic() + PATIENCE_SECONDS
        while not self.has_ended():
            assert time.monotonic() < until, "it does not end"
            time.sleep(0.005)
        return self.status or 0

    def said(self) -> str:
        """All of its output so far."""
        return self.output.read_text() if self.output.exists() else ""

    def close(self) -> None:
        """Killed if it still runs."""
        self.kill()
        shutil.rmtree(self.output.parent)


def serve(arguments: list[str], surroundings: dict[str, str], output: Path) -> None:
    """Becomes `quoter serve` in a process that has been forked for it."""
    os.environ.clear()
    os.environ.update(surroundings)
    opened = os.open(output, os.O_WRONLY | os.O_CREAT)
    for stream in (1, 2):
        os.dup2(opened, stream)
    sys.exit(main(arguments))


def _join(process: BaseProcess) -> int | None:
    process.join(0)
    return process.exitcode


@contextmanager
def serving(database: Path, *before: str, **settings: str) -> Iterator[Process]:
    """A service that listens, killed at the latest with the test."""
    process = Process(database, *before, book=BOOK, **settings)
    try:
        yield process.listening()
    finally:
        process.close()


def callers(database: Path) -> dict[str, Caller]:
    """Somebody of each scope, with keys that outlive every service; a desk that sees all that is kept."""
    with closing(Store(database)) as store:
        ring = Keyring(Keys(store), utc_now)
        return {
            "desk": Caller(ring.new("desk", "desk", sees_economics=True)[0]),
            "owner": Caller(ring.new("owner", "owner")[0]),
            "form": Caller(ring.new("form", "form", origins=[SITE])[0], SITE),
        }


def wait_until(process: Process, path: str, status: int, seconds: float = 20.0) -> Told:
    """The answer to GET once it has this status. Fails where it does not come to that."""
    until = time.monotonic() + seconds
    while (told := process.get(Caller(""), path)).status != status:
        assert time.monotonic() < until, told
        time.sleep(0.1)
    return told
