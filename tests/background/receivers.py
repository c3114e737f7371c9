"""Receivers of announcements for tests: real servers on this machine that answer as they are told to."""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

Answering = Callable[[BaseHTTPRequestHandler], None]
LOOKS_EVERY_SECONDS = 0.02


@dataclass(frozen=True)
class Received:
    """What came in."""

    headers: dict[str, str]
    body: bytes
    at: float = field(default_factory=time.monotonic)

    @property
    def id(self) -> str:
        """Which announcement it is."""
        return self.headers["webhook-id"]


class Receiver:
    """Answers one request after the other as listed, the last way from then on; 204 unless told otherwise."""

    def __init__(self, *answers: Answering) -> None:
        self.answers = list(answers) or [status(204)]
        self.got: list[Received] = []
        self.most_at_a_time = 0
        self._under_way: set[BaseHTTPRequestHandler] = set()
        self._lock = threading.Lock()
        self.server = ThreadingHTTPServer(("127.0.0.1", 0), self._handler())
        self.server.daemon_threads = True

    @property
    def port(self) -> int:
        """Where it listens."""
        return int(self.server.server_address[1])

    @property
    def address(self) -> str:
        """Where it is told."""
        return f"http://127.0.0.1:{self.port}/told"

    @property
    def ids(self) -> list[str]:
        """What has come in, in its order."""
        return [each.id for each in self.got]

    def _handler(self) -> type[BaseHTTPRequestHandler]:
        receiver = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                receiver.receive(self)

            def do_GET(self) -> None:
                receiver.receive(self)

            def flush_headers(self) -> None:
                receiver.is_answering(self)
                super().flush_headers()

            def log_message(self, *_: Any) -> None:
                pass

        return Handler

    def receive(self, request: BaseHTTPRequestHandler) -> None:
        """One request."""
        body = request.rfile.read(int(request.headers.get("Content-Length", 0)))
        with self._lock:
            self.got.append(Received({name.lower(): value for name, value in request.headers.items()}, body))
            answer = self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]
            self._under_way.add(request)
            self.most_at_a_time = max(self.most_at_a_time, len(self._under_way))
        try:
            answer(request)
        except OSError:
            pass  # who asked has gone
        finally:
            self.is_answering(request)

    def is_answering(self, request: BaseHTTPRequestHandler) -> None:
        """From here on nobody need wait for it: who is told that may send the next before this thread goes on."""
        with self._lock:
            self._under_way.discard(request)

    def wait_for(self, count: int, seconds: float = 60) -> None:
        """Until so many have come in."""
        self._wait_for(lambda: len(self.got), count, seconds)

    def wait_for_different(self, count: int, seconds: float = 60) -> None:
        """Until so many have come in, where one that comes again is none."""
        self._wait_for(lambda: len(set(self.ids)), count, seconds)

    @staticmethod
    def _wait_for(come_in: Callable[[], int], count: int, seconds: float) -> None:
        """Counts how often it looks and not the time: while the machine stands still, nothing can come in."""
        for _ in range(int(seconds / LOOKS_EVERY_SECONDS)):
            if come_in() >= count:
                return
            time.sleep(LOOKS_EVERY_SECONDS)
        raise AssertionError(f"{come_in()} of {count} have come in")


@contextmanager
def receiving(*answers: Answering) -> Iterator[Receiver]:
    """A receiver for as long as it is needed."""
    receiver = Receiver(*answers)
    threading.Thread(target=receiver.server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    try:
        yield receiver
    finally:
        receiver.server.shutdown()
        receiver.server.server_close()


def status(code: int, **headers: str) -> Answering:
    """A plain answer; headers are named with _ for -."""

    def answer(request: BaseHTTPRequestHandler) -> None:
        request.send_response(code)
        for name, value in headers.items():
            request.send_header(name.replace("_", "-"), value)
        request.send_header("Content-Length", "0")
        request.end_headers()

    return answer


def thoughtful(seconds: float, code: int = 204) -> Answering:
    """Thinks about it before it answers."""

    def answer(request: BaseHTTPRequestHandler) -> None:
        time.sleep(seconds)
        status(code)(request)

    return answer


def hanging(seconds: float) -> Answering:
    """Takes everything in and says nothing."""
    return lambda request: time.sleep(seconds)


def dripping(start: bytes, drop: bytes, seconds: float = 0.05) -> Answering:
    """Begins, and goes on for a minute, a little at a time: never quiet for long."""

    def answer(request: BaseHTTPRequestHandler) -> None:
        request.wfile.write(start)
        for _ in range(int(60 / seconds)):
            request.wfile.write(drop)
            request.wfile.flush()
            time.sleep(seconds)

    return answer


def flooding(start: bytes, megabytes: int, sent: list[int]) -> Answering:
    """Says far more than anybody wants to know; `sent` says how much of it could be got rid of."""

    def answer(request: BaseHTTPRequestHandler) -> None:
        request.wfile.write(start)
        for _ in range(megabytes * 16):
            request.wfile.write(b"x" * 65536)
            sent.append(65536)

    return answer
