"""The command line as anybody runs it: a process with its own streams."""

import http.client
import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest

from quoter.cli.main import main
from quoter.store.database import WAIT_SECONDS

ROOT = Path(__file__).parents[2]
RATES = ROOT / "rates"
BALLYQUARN = RATES / "ballyquarn"
BATTERY = {"device": "kessoway-5", "repairs": [{"procedure": "battery", "grade": "genuine"}]}

PATIENCE_SECONDS = 120.0
"""For what comes at once, unless the machine stands still."""
MOST_WAITS = 5


def environment(**settings: str) -> dict[str, str]:
    """This one without settings of the service, but for those."""
    inherited = {name: value for name, value in os.environ.items() if not name.startswith("QUOTER_")}
    return inherited | {"PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error"} | settings


def command(*arguments: object) -> list[str]:
    """`quoter` with arguments."""
    return [sys.executable, "-m", "quoter.cli", *map(str, arguments)]


def quoter(*arguments: object, given: bytes = b"", **settings: str) -> subprocess.CompletedProcess[str]:
    """What it prints and how it ends."""
    done = subprocess.run(
        command(*arguments), input=given, capture_output=True, env=environment(**settings), timeout=PATIENCE_SECONDS
    )
    return subprocess.CompletedProcess(done.args, done.returncode, done.stdout.decode(), done.stderr.decode())


def refused(done: subprocess.CompletedProcess[str], status: int) -> list[str]:
    """The lines of an error. Fails where it is a stack trace or something was printed as if it were an answer."""
    assert done.returncode == status, done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    return done.stderr.splitlines()


def usage_of_wrong(capsys: pytest.CaptureFixture[str], *arguments: object) -> list[str]:
    """What is said to arguments that make no command, in this process: nothing has been started by then."""
    with pytest.raises(SystemExit) as ended:
        main([str(argument) for argument in arguments])
    said = capsys.readouterr()
    assert (ended.value.code, said.out) == (2, "")
    return said.err.splitlines()


class Served:
    """A service that runs in a process of its own."""

    def __init__(self, process: subprocess.Popen[str], greeting: list[str]) -> None:
        self.process, self.greeting = process, greeting
        address = re.search(r"http://127\.0\.0\.1:(\d+)", greeting[0])
        assert address, greeting
        self.port = int(address[1])

    def ask(self, path: str, key: str = "", document: Any = None, **more: str) -> tuple[int, Any]:
        """Status and body."""
        content = None if document is None else json.dumps(document)
        headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"} | more
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE_SECONDS)) as connection:
            connection.request("GET" if document is None else "POST", path, content, headers)
            response = connection.getresponse()
            return response.status, json.loads(response.read())

    def ask_until_free(self, path: str, key: str = "", document: Any = None, **more: str) -> tuple[int, Any]:
        """The same, asked again where others had the database for as long as anybody waits for them.

        That happens where the machine stands still in the middle of their writing. Refused sooner, it stays refused.
        """
        for _ in range(MOST_WAITS):
            began = time.monotonic()
            told = self.ask(path, key, document, **more)
            if told[0] != 503 or time.monotonic() - began < WAIT_SECONDS:
                break
        return told

    def stop(self) -> int:
        """Its status after SIGTERM. Fails where it had to complain about itself."""
        self.process.send_signal(signal.SIGTERM)
        _, complaints = self.process.communicate(timeout=PATIENCE_SECONDS)
        assert "Traceback" not in (complaints or "")
        return self.process.returncode


@contextmanager
def served(
    database: Path,
    *options: object,
    lines: int = 2,
    log: Path | None = None,
    before: Sequence[str] = (),
    **settings: str,
) -> Iterator[Served]:
    """A service on a free port, ended at the latest with the test; `lines` is how many its greeting has.

    What it logs goes into a file where one is named: nobody reads the pipe, which takes only so much. `before` are
    words in front of the command.
    """
    arguments = [*before, *command("serve", "--port", 0, "--database", database, *options)]
    with (
        Path(log or os.devnull).open("wb") as written,
        subprocess.Popen(
            arguments,
            stdout=subprocess.PIPE,
            stderr=written if log else subprocess.PIPE,
            text=True,
            env=environment(**settings),
        ) as process,
    ):
        assert process.stdout is not None
        try:
            yield Served(process, [process.stdout.readline() for _ in range(lines)])
        finally:
            process.kill()
