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


if __name__ == "__main__":
    main()
