"""A client that asks as fast as it can over connections that stay open: `python -m benchmarks.client`, orders on stdin.

One thread and one selector, requests written beforehand, of answers only the status and the length read: it must not
be what is measured. `service.py` tries it on a responder that does nothing.
"""

import json
import selectors
import socket
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import cycle
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter

ROOT = Path(__file__).parents[1]
END_OF_HEAD = b"\r\n\r\n"
LENGTH = b"content-length:"
LARGEST_READ = 1 << 18
FEWEST = 2
"""Answers: of fewer there is no percentile."""


@dataclass(frozen=True, slots=True)
class Load:
    """What a load came to; latencies in seconds."""

    per_second: float
    median: float
    p99: float
    refused: int


def request_bytes(path: str, body: bytes, headers: Sequence[str] = ()) -> bytes:
    """A POST of JSON as it goes over the wire."""
    lines = [f"POST {path} HTTP/1.1", "Host: localhost", "Content-Type: application/json", *headers]
    return "\r\n".join([*lines, f"Content-Length: {len(body)}", "", ""]).encode() + body


def loaded(port: int, requests: Sequence[bytes], connections: int, seconds: float) -> Load:
    """Sends the requests in turn for so long, in a process of its own."""
    orders = {"port": port, "connections": connections, "seconds": seconds}
    written = json.dumps(orders | {"requests": [each.decode("latin-1") for each in requests]})
    command = [sys.executable, "-m", "benchmarks.client"]
    done = subprocess.run(command, cwd=ROOT, input=written.encode(), stdout=subprocess.PIPE, check=True)
    return Load(**json.loads(done.stdout))


class _Connection:
    """One caller: sends, waits for the whole answer, sends the next."""

    def __init__(self, port: int) -> None:
        self.socket = socket.create_connection(("127.0.0.1", port))
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.read, self.asked_at = b"", 0.0

    def ask(self, request: bytes) -> None:
        """Requests are small enough for the socket's buffer."""
        self.read, self.asked_at = b"", perf_counter()
        self.socket.sendall(request)

    def has_answer(self) -> bool:
        """Takes what has come; whether that is all of it."""
        taken = self.socket.recv(LARGEST_READ)
        if not taken:
            raise ConnectionError("the server closed a connection")
        self.read += taken
        end = self.read.find(END_OF_HEAD)
        if end < 0:
            return False
        head = self.read[:end].lower()
        place = head.find(LENGTH)
        length = int(head[place + len(LENGTH) :].split(b"\r\n", 1)[0]) if place >= 0 else 0
        return len(self.read) >= end + len(END_OF_HEAD) + length

    @property
    def is_refused(self) -> bool:
        """Whether the answer is no success."""
        return not self.read.startswith(b"HTTP/1.1 2")


def loaded_here(port: int, requests: Sequence[bytes], connections: int, seconds: float) -> Load:
    """Sends the requests in turn for so long. What is under way at the end still counts."""
    waiting, turn = selectors.DefaultSelector(), cycle(requests)
    latencies: list[float] = []
    refused = 0
    callers = [_Connection(port) for _ in range(connections)]
    for caller in callers:
        waiting.register(caller.socket, selectors.EVENT_READ, caller)
    start = perf_counter()
    for caller in callers:
        caller.ask(next(turn))
    under_way = connections
    while under_way:
        for key, _ in waiting.select():
            caller = key.data
            if not caller.has_answer():
                continue
            now = perf_counter()
            latencies.append(now - caller.asked_at)
            refused += caller.is_refused
            if now - start < seconds or len(latencies) < FEWEST:
                caller.ask(next(turn))
            else:
                under_way -= 1
    took = perf_counter() - start
    return Load(len(latencies) / took, median(latencies), quantiles(latencies, n=100)[98], refused)


def main() -> None:
    """Reads the orders, does them, writes what came of it."""
    orders = json.loads(sys.stdin.read())
    requests = [each.encode("latin-1") for each in orders.pop("requests")]
    load = loaded_here(requests=requests, **orders)
    print(json.dumps({name: getattr(load, name) for name in Load.__slots__}))


if __name__ == "__main__":
    main()
