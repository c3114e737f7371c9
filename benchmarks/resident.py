"""Memory of the running service: as it has started with a book, and once it has priced jobs on every device of it."""

from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.client import loaded, request_bytes
from benchmarks.clock import progress
from benchmarks.figures import Figure, Section
from benchmarks.generated_book import BookSize, write_book
from benchmarks.scale import Scale
from benchmarks.served import new_key, service
from benchmarks.service import PRICES, job_bodies

ASKED_AT_ONCE = 16
AIMED_AT = 5_000

REPAIRS = [{"procedure": "screen"}, {"procedure": "battery"}]


def resident(scale: Scale) -> Section:
    """Each size has a database and a process of its own."""
    figures: list[Figure] = []
    for devices in scale.resident:
        progress(f"  {devices:,} devices")
        with TemporaryDirectory() as place:
            figures += _figures(devices, Path(place), scale)
    return Section(
        "Memory of the service: resident, with 4 procedures and 4 to 5 parts for each device",
        tuple(figures),
        (f"Asked means: {ASKED_AT_ONCE} connections for {scale.resident_seconds} s, devices in turn.",),
    )


def _figures(devices: int, folder: Path, scale: Scale) -> list[Figure]:
    database, size = folder / "quoter.db", BookSize(devices, procedures=4, grades=1, only_offered=True)
    aim = "under 150" if devices == AIMED_AT else ""
    with service(write_book(size, folder / "book"), database) as ours:
        first = ours.resident_bytes
        bearer = f"Authorization: Bearer {new_key(database)}"
        requests = [request_bytes(PRICES, body, (bearer,)) for body in job_bodies(devices, REPAIRS)]
        load = loaded(ours.port, requests, ASKED_AT_ONCE, scale.resident_seconds)
        asked = ours.resident_bytes
    with service(folder / "book" / "generated", database) as again:
        second = again.resident_bytes
    asked_for = load.per_second * scale.resident_seconds
    return [
        Figure(f"{devices:,} devices, started, the book published first", "MB", (first / 1e6,), aim),
        Figure(f"{devices:,} devices, after about {asked_for:,.0f} prices", "MB", (asked / 1e6,), aim),
        Figure(f"{devices:,} devices, started again", "MB", (second / 1e6,), aim),
    ]
