"""The service under load: prices and durable quotes against a bare route that returns as many bytes.

The bare route has the same server with the same settings and gets the same requests, so a ratio is what all that is
ours costs. The figures of one round are taken in turn.
"""

import datetime as dt
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.client import Load, loaded, request_bytes
from benchmarks.clock import progress
from benchmarks.figures import Figure, Section, in_unit, ratio
from benchmarks.generated_book import BookSize, write_book
from benchmarks.scale import Scale
from benchmarks.served import new_key, posted, running, service
from quoter.service.quotes.priced import MOST_PRICED

DEVICES = 20

PRICES, QUOTES = "/v1/prices", "/v1/quotes"
NEW_PRICES, NEW_QUOTES = f"{PRICES} of new jobs", f"{QUOTES} of new jobs"
BARE, TRIVIAL = "bare route", "trivial responder"

AIMS = dict.fromkeys((PRICES, NEW_PRICES), "40 % of the bare route") | dict.fromkeys(
    (QUOTES, NEW_QUOTES), "25 % of the bare route"
)
DAYS = 2 * MOST_PRICED // DEVICES
"""On how many days each job is asked for, so that in turn they are more than the service keeps at hand."""

P99_AT = 16
"""Connections at which the slowest are looked at."""


@dataclass(frozen=True, slots=True)
class _Asked:
    """Where a subject answers, and what it is asked in turn."""

    port: int
    requests: tuple[bytes, ...]


def served(scale: Scale) -> Section:
    """Jobs of two repairs and two findings on twenty devices in turn, by a key of the desk."""
    with TemporaryDirectory() as place:
        found = dict(_measured(Path(place), scale))
    figures: list[Figure] = []
    for connections in scale.connections:
        figures += _figures(connections, found)
    return Section(
        "Service: a job of two repairs and two findings, over connections that stay open",
        tuple(figures),
        (
            "The bare route is Flask under the server of `quoter serve`: it reads the request, returns the same bytes.",
            "The trivial responder parses nothing: at its rate the client itself is the limit.",
            "New jobs are ones that the service has forgotten; the others are among those that it priced last.",
            "Quotes are on disk before the answer leaves. Percentages are of one round each.",
            f"Refused, of all requests: {sum(load.refused for loads in found.values() for load in loads)}.",
        ),
    )


Loads = Mapping[tuple[str, int], tuple[Load, ...]]
"""By subject and connections: one a round."""


REPAIRS = ({"procedure": "screen", "grade": "compatible"}, {"procedure": "battery", "grade": "genuine"})
FINDINGS = ("swollen-cell", "cracked-back")


def job_bodies(devices: int = DEVICES, repairs: Sequence[Mapping[str, str]] = REPAIRS) -> list[bytes]:
    """Requests for jobs on devices of the generated book."""
    jobs = ({"device": f"device-{each:05}", "repairs": repairs, "findings": FINDINGS} for each in range(devices))
    return [json.dumps(job).encode() for job in jobs]


def new_job_bodies(devices: int = DEVICES, days: int = DAYS) -> list[bytes]:
    """The same jobs, each for one day after the other: whenever one comes again, it has been forgotten."""
    first = dt.datetime.now(dt.UTC).date() + dt.timedelta(days=1)
    dates = [(first + dt.timedelta(days=day)).isoformat() for day in range(days)]
    return [json.dumps(json.loads(body) | {"date": date}).encode() for date in dates for body in job_bodies(devices)]


def _measured(folder: Path, scale: Scale) -> Iterator[tuple[tuple[str, int], tuple[Load, ...]]]:
    book, database = write_book(BookSize(DEVICES), folder / "book"), folder / "quoter.db"
    bodies, answer = job_bodies(), folder / "answer.json"
    log = folder / "responders.log"
    with service(book, database) as ours:
        key = new_key(database)
        answer.write_bytes(posted(ours.port, PRICES, bodies[0], key))
        with (
            running(["benchmarks.responders", "bare", str(answer)], log) as bare,
            running(["benchmarks.responders", "trivial", str(answer)], log) as trivial,
        ):
            ports = {TRIVIAL: trivial.port, BARE: bare.port} | dict.fromkeys(AIMS, ours.port)
            new = new_job_bodies()
            asked = {
                name: _Asked(port, _requests(name, new if name in (NEW_PRICES, NEW_QUOTES) else bodies, key))
                for name, port in ports.items()
            }
            yield from _in_turn(asked, scale)


def _requests(name: str, bodies: Sequence[bytes], key: str) -> tuple[bytes, ...]:
    return tuple(request_bytes(_path(name), body, (_bearer(key),)) for body in bodies)


def _path(name: str) -> str:
    return name.partition(" ")[0] if name.startswith("/") else "/"


def _bearer(key: str) -> str:
    return f"Authorization: Bearer {key}"


def _in_turn(asked: Mapping[str, _Asked], scale: Scale) -> Iterator[tuple[tuple[str, int], tuple[Load, ...]]]:
    for each in asked.values():  # the first requests of a process are slower
        loaded(each.port, each.requests, 1, scale.load_seconds / 4)
    for connections in scale.connections:
        found: dict[str, list[Load]] = {name: [] for name in asked}
        for number in range(1, scale.long_rounds + 1):
            progress(f"  {connections} connections, {number} of {scale.long_rounds}")
            for name, each in asked.items():
                found[name].append(loaded(each.port, each.requests, connections, scale.load_seconds))
        yield from (((name, connections), tuple(loads)) for name, loads in found.items())


def _figures(connections: int, found: Loads) -> Iterator[Figure]:
    at = f"{connections} connection{'s' if connections > 1 else ''}"
    bare = found[BARE, connections]
    for name in (BARE, *AIMS):
        loads = found[name, connections]
        yield Figure(f"{at}: {name}", "req/s", tuple(load.per_second for load in loads))
        yield in_unit(f"{at}: {name}, median", (load.median for load in loads), "ms")
        yield in_unit(f"{at}: {name}, 99th percentile", (load.p99 for load in loads), "ms")
        if name != BARE:
            share = tuple(100 * load.per_second / yard.per_second for load, yard in zip(loads, bare, strict=True))
            yield Figure(f"{at}: {name} of the bare route's rate", "%", share, AIMS[name])
            aim = "under 10" if connections == P99_AT else ""
            tail = (load.p99 for load in loads)
            yield ratio(f"{at}: {name}, 99th percentile ÷ median", tail, (load.median for load in loads), aim)
    ours = (load.per_second for load in found[TRIVIAL, connections])
    yield ratio(f"{at}: {TRIVIAL} ÷ {BARE}", ours, (load.per_second for load in bare), "far above 1")
