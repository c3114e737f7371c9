"""The full price list of a large book, from the text of its tables to the last entry."""

from functools import partial

from benchmarks.clock import Subject, interleaved
from benchmarks.figures import Section, in_unit, per_second, ratio
from benchmarks.generated_book import BookSize, raw_book
from benchmarks.jobs import DATE
from benchmarks.scale import Scale
from quoter.book import RateBook
from quoter.books.compile import compiled
from quoter.engine.price_list import price_list as entries_of

COMPILE, LIST, BOTH = "check and compile", "list", "check, compile and list"


def price_list(scale: Scale) -> Section:
    """A price list remembers nothing of the one before, so that each is a first one."""
    size = BookSize(scale.devices)
    raw = raw_book(size)
    book = compiled(raw)
    subjects = {
        COMPILE: Subject(lambda: compiled(raw)),
        LIST: Subject(partial(priced, book)),
        BOTH: Subject(lambda: priced(compiled(raw))),
    }
    took = interleaved(subjects, scale.long_rounds)
    entries = size.entries
    return Section(
        f"Price list: {size.devices:,} devices × {size.procedures} procedures × {size.grades} grades",
        (
            *(in_unit(name, took[name], "s") for name in (COMPILE, LIST, BOTH)),
            per_second(LIST, entries, took[LIST], "entries"),
            per_second(BOTH, entries, took[BOTH], "entries", "above 15,000"),
            ratio("compile ÷ list", took[COMPILE], took[LIST]),
        ),
        (f"{priced(book):,} entries.",),
    )


def priced(book: RateBook) -> int:
    """Goes through the whole price list and keeps none of it; how many entries have a price."""
    return sum(entry.totals is not None for entry in entries_of(book, DATE))
