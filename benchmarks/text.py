"""Text: a quote in one locale against the pricing of it, and amounts against Babel's own formatting."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from babel.numbers import format_currency

from benchmarks.clock import Subject, interleaved
from benchmarks.figures import Section, in_unit, ratio
from benchmarks.generated_book import BookSize, raw_book
from benchmarks.jobs import two_repairs
from benchmarks.scale import Scale
from quoter.books.compile import compiled
from quoter.engine.compose import quote_for
from quoter.job import job_data
from quoter.service.quotes.snapshot import snapshot
from quoter.words.shown import TextOf
from quoter.words.wording import wording_for

DEVICES = 20
LOCALE = "en-IE"

PRICING, TEXT, OURS, BABELS = "quote", "its text", "its amounts as text", "the same amounts by Babel"


def text(scale: Scale) -> Section:
    """The quotes of twenty devices in turn, so that what formatting remembers is not all there is."""
    book = compiled(raw_book(BookSize(DEVICES)))
    jobs = [two_repairs(device) for device in book.devices]
    results = [(snapshot(quote_for(job, book), book), job_data(job)) for job in jobs]
    wording = wording_for(LOCALE)
    formats = wording.formats
    written = [[Decimal(amount) for amount in _amounts(result)] for result, _ in results]
    amounts = [amount for each in written for amount in each]
    code, digits = book.currency.code, book.currency.digits
    subjects = {
        PRICING: Subject(lambda: [quote_for(job, book) for job in jobs], len(jobs)),
        TEXT: Subject(lambda: [TextOf(result, job, wording).quote() for result, job in results], len(jobs)),
        OURS: Subject(lambda: [formats.money(amount, code, digits) for amount in amounts], len(jobs)),
        BABELS: Subject(
            lambda: [format_currency(amount, code, locale=formats.locale) for amount in amounts], len(jobs)
        ),
    }
    took = interleaved(subjects, scale.rounds, scale.block_seconds)
    return Section(
        "Text: the same quote in one locale",
        (
            *(in_unit(name, took[name], "µs") for name in (PRICING, TEXT, OURS, BABELS)),
            ratio("text ÷ quote", took[TEXT], took[PRICING], "at most 1"),
            ratio("amounts by Babel ÷ ours", took[BABELS], took[OURS]),
        ),
        (f"{len(results[0][0]['lines'])} lines and {len(written[0])} amounts in {LOCALE}.",),
    )


def _amounts(result: dict[str, Any]) -> Iterator[str]:
    """Every amount of a quote that has the currency's decimals; unit prices have more."""
    yield from (line["net"] for line in result["lines"])
    yield from result["totals"].values()
    for row in result["tax"]:
        yield from (row["taxable"], row["tax"])
    for outcome in (*result["contingencies"], result["ceiling"], *result["alternatives"]):
        yield from (outcome["gross"], outcome["difference"])
