"""How long the effect of a change takes: of both price lists by the devices, of issued jobs by the stored quotes."""

import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from benchmarks.clock import progress
from benchmarks.figures import Figure, Section, exponent
from benchmarks.generated_book import BookSize, raw_book
from benchmarks.growth import peak_bytes
from benchmarks.jobs import DATE, two_repairs
from benchmarks.scale import Scale
from quoter.book import Memory, RateBook
from quoter.books.compile import compiled
from quoter.books.effect import jobs_effect, list_effect
from quoter.engine.compose import quote_for
from quoter.job import job_data
from quoter.records.quotes import IssuedQuote
from quoter.records.rates import QuoteRange
from quoter.service.quotes.snapshot import snapshot
from quoter.store.database import open_store
from quoter.store.quotes import Quotes

ROOT = Path(__file__).parents[1]
DEVICES = 20
AT = "2026-03-02T09:30:00.000000Z"


def effect(scale: Scale) -> Section:
    """Each size in a process of its own."""
    lists = {size: _in_a_process("lists", size) for size in scale.compared}
    jobs = {size: _in_a_process("jobs", size) for size in scale.stored}
    figures: list[Figure] = []
    for what, unit, found in (("devices", "both price lists", lists), ("stored quotes", "issued jobs", jobs)):
        for size, (seconds, peak) in found.items():
            figures.append(Figure(f"{size:,} {what}, {unit}", "s", (seconds,)))
            figures.append(Figure(f"{size:,} {what}, memory", "MB", (peak / 1e6,)))
        grown = exponent(found, [seconds for seconds, _ in found.values()])
        figures.append(Figure(f"exponent of time over {what}", "", (grown,), "about 1"))
    return Section(
        "Effect of a change: a dearer bench, which changes every price",
        tuple(figures),
        (
            "12 entries a device, priced by both versions. Stored quotes are read from the database and priced anew.",
            "Memory is the peak of the process, the text of the book included. One run of each.",
        ),
    )


def _in_a_process(what: str, size: int) -> tuple[float, float]:
    progress(f"  {what}, {size:,}")
    command = [sys.executable, "-m", "benchmarks.effect", what, str(size)]
    done = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, check=True)
    seconds, peak = json.loads(done.stdout)
    return seconds, peak


def lists_here(devices: int) -> float:
    """Seconds for both price lists."""
    old = compiled(raw_book(BookSize(devices)))
    new = _dearer(old)
    start = perf_counter()
    list_effect(old, new, DATE)
    return perf_counter() - start


def jobs_here(count: int) -> float:
    """Seconds for so many stored quotes; to store them does not count."""
    book = compiled(raw_book(BookSize(DEVICES)))
    with TemporaryDirectory() as folder:
        store = open_store(Path(folder) / "quoter.db")
        quotes = Quotes(store)
        with store.as_one():
            for quote in _issued(book, count):
                quotes.add(quote, quote.job["device"])
        start = perf_counter()
        jobs_effect(quotes.issued_jobs(book.code, QuoteRange(limit=count)), count, _dearer(book))
        seconds = perf_counter() - start
        store.close()
    return seconds


def _dearer(book: RateBook) -> RateBook:
    """The same with a dearer bench, which changes every price."""
    policy = replace(book.policy, bench_rate=book.policy.bench_rate + 1)
    return replace(book, policy=policy, memory=Memory())


def _issued(book: RateBook, count: int) -> Iterator[IssuedQuote]:
    jobs = [two_repairs(device) for device in book.devices]
    results = [(job_data(job), snapshot(quote_for(job, book), book)) for job in jobs]
    for number in range(count):
        data, result = results[number % len(results)]
        yield IssuedQuote(
            id=f"{number:026}",
            number="",
            revision=1,
            issued_at=AT,
            issued_by="benchmark",
            expires_at=AT,
            book=book.code,
            book_version=1,
            book_digest=book.digest,
            job=data,
            result=result,
        )


if __name__ == "__main__":
    took = {"lists": lists_here, "jobs": jobs_here}[sys.argv[1]](int(sys.argv[2]))
    print(json.dumps((took, peak_bytes())))
