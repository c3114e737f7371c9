"""How time and memory of a price list grow with the book. Each size has a process of its own: nothing is warm."""

import json
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from statistics import linear_regression
from time import perf_counter

from benchmarks.clock import progress
from benchmarks.figures import Figure, Section, exponent, in_unit
from benchmarks.generated_book import BookSize, raw_book
from benchmarks.price_list import priced
from benchmarks.scale import Scale
from quoter.books.compile import compiled

ROOT = Path(__file__).parents[1]

Measured = dict[str, float]


def growth(scale: Scale) -> Section:
    """The sizes take turns, so that a slow moment of the machine bends no curve."""
    sizes, rounds = scale.growth, range(scale.long_rounds)
    found = [[_in_a_process(size, number, scale) for size in sizes] for number in rounds]
    seconds = [[each["seconds"] for each in measured] for measured in found]
    memory = [[each["bytes"] for each in measured] for measured in found]
    slopes = (1000 * linear_regression(sizes, each).slope for each in memory)
    return Section(
        f"Growth: price lists of {sizes[0]:,} to {sizes[-1]:,} devices, compiled and listed",
        (
            *(
                in_unit(f"{size:,} devices, an entry", (each / BookSize(size).entries for each in column), "µs")
                for size, column in zip(sizes, zip(*seconds, strict=True), strict=True)
            ),
            Figure("exponent of time", "", tuple(exponent(sizes, each) for each in seconds), "about 1"),
            *(
                _megabytes(f"{size:,} devices, memory", column)
                for size, column in zip(sizes, zip(*memory, strict=True), strict=True)
            ),
            _megabytes("memory for every 1,000 devices more", slopes),
        ),
        (
            "The exponent is b in seconds = a × devices^b.",
            "Memory is the peak of the process, text and compiled book included; nothing of the list is kept.",
        ),
    )


def _megabytes(name: str, sizes: Iterable[float]) -> Figure:
    return Figure(name, "MB", tuple(size / 1e6 for size in sizes))


def _in_a_process(devices: int, number: int, scale: Scale) -> Measured:
    progress(f"  {devices:,} devices, {number + 1} of {scale.long_rounds}")
    command = [sys.executable, "-m", "benchmarks.growth", str(devices)]
    done = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, check=True)
    measured: Measured = json.loads(done.stdout)
    return measured


def measured_here(devices: int) -> Measured:
    """Seconds to compile and list a book, and the most bytes that this process had by then."""
    raw = raw_book(BookSize(devices))
    start = perf_counter()
    priced(compiled(raw))
    return {"seconds": perf_counter() - start, "bytes": peak_bytes()}


def peak_bytes() -> int:
    """Of this process alone. Linux writes it down; what `resource` says there may be the parent's."""
    status = Path("/proc/self/status")
    if status.exists():
        lines = status.read_text(encoding="utf-8").splitlines()
        return next(int(line.split()[1]) * 1024 for line in lines if line.startswith("VmHWM:"))
    import resource  # there is none on Windows, where the other sections still run

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


if __name__ == "__main__":
    print(json.dumps(measured_here(int(sys.argv[1]))))
