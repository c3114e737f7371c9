"""The service and what it is compared with, each started as a process of its own and ended again."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.request import Request, urlopen

ROOT = Path(__file__).parents[1]


@dataclass(frozen=True, slots=True)
class Running:
    """A process that answers at a port of this machine."""

    port: int
    process_id: int

    @property
    def resident_bytes(self) -> float:
        """Of memory; Linux alone tells it simply, elsewhere not a number."""
        status = Path(f"/proc/{self.process_id}/status")
        if not status.exists():
            return float("nan")
        lines = status.read_text(encoding="utf-8").splitlines()
        return next(int(line.split()[1]) * 1024 for line in lines if line.startswith("VmRSS:"))


@contextmanager
def running(arguments: list[str], log: Path) -> Iterator[Running]:
    """Starts `python -m …`, and goes on when it has said where it is."""
    environment = os.environ | {"PYTHONUNBUFFERED": "1"}
    with log.open("ab") as written:
        process = subprocess.Popen(
            [sys.executable, "-m", *arguments], cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=written
        )
    try:
        assert process.stdout is not None
        said = process.stdout.readline().decode()
        place = re.search(r"http://[^:/\s]+:(\d+)", said)
        if place is None:
            raise RuntimeError(f"{arguments} did not start: {said}; see {log}")
        yield Running(int(place[1]), process.pid)
    finally:
        process.terminate()
        process.communicate()


@contextmanager
def service(book: Path, database: Path) -> Iterator[Running]:
    """`quoter serve` with its usual settings."""
    arguments = ["quoter.cli", "serve", "--port", "0", "--book", str(book), "--database", str(database)]
    with running(arguments, database.with_suffix(".log")) as found:
        yield found


def new_key(database: Path, scope: str = "desk") -> str:
    """A key of the service as it is presented."""
    command = ["-m", "quoter.cli", "key", "new", "--scope", scope, "--name", "benchmark", "--database", str(database)]
    done = subprocess.run([sys.executable, *command], cwd=ROOT, capture_output=True, text=True, check=True)
    return next(word for word in done.stdout.split() if word.startswith("quoter_"))


def posted(port: int, path: str, body: bytes, key: str) -> bytes:
    """The answer to one request."""
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
    with urlopen(Request(f"http://127.0.0.1:{port}{path}", body, headers)) as reply:
        return bytes(reply.read())
