"""Bytes to a service and what comes back, without a client that would put them right; and what the service costs."""

import http.client
import json
import re
import socket
import struct
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Any, NamedTuple

from cli.running import BALLYQUARN, Served, served

BATTERY = {"device": "kessoway-5", "repairs": [{"procedure": "battery"}]}
PATIENCE_SECONDS = 60.0

INTERNALS = re.compile(
    rb"traceback|waitress|werkzeug|flask|sqlite|marshmallow|orjson|site-packages|\.py\b|0x[0-9a-f]{8}|File \"|/tmp/",
    re.IGNORECASE,
)
"""Of the program or the machine, in an answer."""


class Answer(NamedTuple):
    """What came back; `is_last` where the connection was then closed."""

    status: int
    headers: http.client.HTTPMessage
    body: bytes
    is_last: bool

    @property
    def document(self) -> Any:
        """Its JSON."""
        return json.loads(self.body)


class Running(NamedTuple):
    """A service in a process of its own, and a key of the front desk."""

    served: Served
    desk: str

    @property
    def port(self) -> int:
        """Where it listens."""
        return self.served.port

    def connect(self) -> socket.socket:
        """Somebody who says nothing yet."""
        return socket.create_connection(("127.0.0.1", self.port), timeout=PATIENCE_SECONDS)

    def tell(self, content: bytes) -> Answer | None:
        """The answer to these bytes, or None where the connection is closed without one."""
        with closing(self.connect()) as connection:
            with suppress(ConnectionError):  # it may be refused before its end
                connection.sendall(content)
            return answer(connection)

    def request(self, first: str, *headers: bytes, body: bytes = b"") -> bytes:
        """One as the front desk would send it, with further headers."""
        lines = [f"{first} HTTP/1.1".encode(), b"Host: 127.0.0.1", f"Authorization: Bearer {self.desk}".encode()]
        return b"\r\n".join([*lines, *headers, b"", b""]) + body

    def posted(self, body: bytes, *headers: bytes) -> bytes:
        """A job to be priced, in JSON or not."""
        given = headers or (b"Content-Type: application/json",)
        return self.request("POST /v1/prices", *given, f"Content-Length: {len(body)}".encode(), body=body)

    def check_goes_on(self) -> None:
        """It is well, and names a price."""
        assert self.served.ask("/healthz") == (200, {"status": "ok"})
        status, price = self.served.ask("/v1/prices", self.desk, BATTERY)
        assert (status, price["currency"]) == (200, "EUR")

    def warm_up(self) -> None:
        """Has every thread of it open what it will need."""
        with ThreadPoolExecutor(16) as pool:
            list(pool.map(lambda _: self.check_goes_on(), range(160)))

    def used(self) -> "Used":
        """What it has of the machine now."""
        known = Path("/proc", str(self.served.process.pid))
        (resident,) = re.findall(r"VmRSS:\s+(\d+) kB", (known / "status").read_text())
        return Used(int(resident) / 1024, len(list((known / "fd").iterdir())), len(list((known / "task").iterdir())))

    def settled(self) -> "Used":
        """The same, as soon as nothing more is opened or closed."""
        used = self.used()
        for _ in range(100):
            time.sleep(0.1)
            last, used = used, self.used()
            if last.files == used.files:
                break
        return used


class Used(NamedTuple):
    """Memory in MiB, open files, threads."""

    resident_mib: float
    files: int
    threads: int


@contextmanager
def running(folder: Path, *options: object, before: Sequence[str] = (), **settings: str) -> Iterator[Running]:
    """A demo, with what it logs in a file beside its database; `before` are words in front of the command."""
    log = folder / "log"
    arguments = ("--demo", "--book", BALLYQUARN, *options)
    with served(folder / "quoter.db", *arguments, lines=6, log=log, before=before, **settings) as service:
        yield Running(service, dict(line.split() for line in service.greeting[2:5])["desk"])


def answer(connection: socket.socket) -> Answer | None:
    """What comes next on a connection, or None where it is closed instead. Fails where neither happens."""
    try:
        with closing(http.client.HTTPResponse(connection)) as response:
            response.begin()
            body = response.read()
            return Answer(response.status, response.headers, body, response.will_close and _is_closed(connection))
    except (ConnectionError, http.client.RemoteDisconnected):
        return None


def _is_closed(connection: socket.socket) -> bool:
    try:
        return connection.recv(1) == b""
    except ConnectionError:
        return True


def reset(connection: socket.socket) -> None:
    """Gone without a word: RST instead of FIN."""
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    connection.close()


def check_careful(told: Answer | None) -> None:
    """No fault of the service, and nothing of its inside; what refuses is a problem (RFC 9457)."""
    if told is None:
        return
    assert 200 <= told.status < 500, told
    assert not INTERNALS.search(told.body), told.body
    assert "Server" not in told.headers
    if told.status >= 400 and told.headers["Content-Type"] != "text/html; charset=utf-8":  # pages are for people
        assert told.headers["Content-Type"] == "application/problem+json", told
        assert told.document["status"] == told.status


def wait_until(holds: Callable[[], bool], what: str, seconds: float = PATIENCE_SECONDS) -> None:
    """Fails where it does not come to that."""
    until = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < until, what
        time.sleep(0.05)
