"""The engine on a job of two repairs and two findings: the bare price, and the quote with everything beside it."""

from collections.abc import Callable
from itertools import cycle

from benchmarks.bare import BareJob, bare_price
from benchmarks.bare_job import bare_job
from benchmarks.clock import Call, Subject, interleaved
from benchmarks.counted import operations_of
from benchmarks.figures import Section, in_unit, ratio
from benchmarks.generated_book import BookSize, raw_book
from benchmarks.jobs import two_repairs
from benchmarks.scale import Scale
from quoter.book import RateBook
from quoter.books.compile import compiled
from quoter.engine.compose import price_of, quote_for
from quoter.job import Job
from quoter.quote import Quote

DEVICES = 20

PRICE, QUOTE, BARE = "price", "quote", "the same price as bare arithmetic"
COLD = ", nothing remembered"


def engine(scale: Scale) -> Section:
    """Warm, the jobs of twenty devices in turn; cold, each of them with the book's memory emptied before."""
    raw = raw_book(BookSize(DEVICES))
    book, forgetful = compiled(raw), compiled(raw)
    jobs = [two_repairs(device) for device in book.devices]
    bare = [bare_job(job, book) for job in jobs]
    for job, numbers in zip(jobs, bare, strict=True):
        _must_agree(job, numbers, book)
    subjects = {
        BARE: Subject(lambda: [bare_price(numbers) for numbers in bare], len(bare)),
        PRICE: Subject(lambda: [price_of(job, book) for job in jobs], len(jobs)),
        QUOTE: Subject(lambda: [quote_for(job, book) for job in jobs], len(jobs)),
        PRICE + COLD: Subject(_next_of(jobs, price_of, forgetful), before=forgetful.memory.shelves.clear),
        QUOTE + COLD: Subject(_next_of(jobs, quote_for, forgetful), before=forgetful.memory.shelves.clear),
    }
    took = interleaved(subjects, scale.rounds, scale.block_seconds)
    return Section(
        "Engine: one job of two repairs and two findings",
        (
            in_unit(PRICE, took[PRICE], "µs"),
            in_unit(PRICE + COLD, took[PRICE + COLD], "µs"),
            in_unit(QUOTE, took[QUOTE], "µs", "at most 1 ms"),
            in_unit(QUOTE + COLD, took[QUOTE + COLD], "µs"),
            in_unit(BARE, took[BARE], "µs"),
            ratio("price ÷ bare arithmetic", took[PRICE], took[BARE]),
            ratio(f"price{COLD} ÷ bare arithmetic", took[PRICE + COLD], took[BARE]),
            ratio("quote ÷ price", took[QUOTE], took[PRICE]),
            ratio(f"quote{COLD} ÷ price{COLD}", took[QUOTE + COLD], took[PRICE + COLD]),
        ),
        (_about(quote_for(jobs[0], book)), _count(bare[0])),
    )


def _next_of(jobs: list[Job], rule: Callable[[Job, RateBook], object], book: RateBook) -> Call:
    turn = cycle(jobs)
    return lambda: rule(next(turn), book)


def _must_agree(job: Job, numbers: BareJob, book: RateBook) -> None:
    """A yardstick that comes to another price measures something else."""
    totals = price_of(job, book).totals
    if bare_price(numbers) != (totals.net, totals.tax, totals.gross):
        raise RuntimeError(f"{job.device}: {bare_price(numbers)} is not {totals}")


def _about(quote: Quote) -> str:
    prices = 2 + len(quote.contingencies) + len(quote.alternatives)
    return (
        f"The quote has {len(quote.lines)} lines, {len(quote.contingencies)} contingencies with a ceiling and "
        f"{len(quote.alternatives)} alternatives: {prices} prices."
    )


def _count(numbers: BareJob) -> str:
    tally = operations_of(numbers)
    each = ", ".join(f"{words} {count}" for words, count in tally.most_common())
    return f"Bare arithmetic on the same numbers is {tally.total()} decimal operations ({each})."
