<<<<<<< HEAD
"""A load on a running service: `python -m benchmarks.load KEY ADDRESS…` prices one job again and again.

Several addresses are of several processes, which callers take in turn. Callers keep their connection, and ask anew as
soon as they are answered.
"""

import argparse
import http.client
import json
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from urllib.parse import urlsplit

JOB = json.dumps({"device": "kessoway-5", "repairs": [{"procedure": "screen"}, {"procedure": "battery"}]}).encode()


def load(addresses: list[str], key: str, callers: int, seconds: float) -> str:
    """Requests a second and how long they took."""
    took: list[float] = []
    until = time.monotonic() + seconds
    threads = [
        threading.Thread(
            target=lambda at: took.extend(_asked(at, key, until)), args=(addresses[each % len(addresses)],)
        )
        for each in range(callers)
    ]
    began = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    in_all = time.perf_counter() - began
    took.sort()
    half, most = (took[len(took) * share // 100] * 1000 for share in (50, 99))
    return f"{len(took) / in_all:.0f} requests/s, p50 {half:.1f} ms, p99 {most:.1f} ms, {len(took)} answers"


def _asked(address: str, key: str, until: float) -> Iterator[float]:
    headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
    with closing(http.client.HTTPConnection(urlsplit(address).netloc, timeout=60)) as connection:
        while time.monotonic() < until:
            began = time.perf_counter()
            connection.request("POST", "/v1/prices", JOB, headers)
            response = connection.getresponse()
            response.read()
            if response.status != 200:
                raise SystemExit(f"{address} answered {response.status}")
            yield time.perf_counter() - began


def main() -> None:
    """Prints what one load gave."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.load", description="A load on a running service.")
    parser.add_argument("key")
    parser.add_argument("addresses", nargs="+")
    parser.add_argument("--callers", type=int, default=8)
    parser.add_argument("--seconds", type=float, default=10)
    options = parser.parse_args()
    print(load(options.addresses, options.key, options.callers, options.seconds))
=======
"""A client that asks as fast as it can over connections that stay open: `python -m benchmarks.load`, orders on stdin.

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
    command = [sys.executable, "-m", "benchmarks.load"]
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
>>>>>>> 56ab080 (Measure the service against a bare route under the same server)


if __name__ == "__main__":
    main()
