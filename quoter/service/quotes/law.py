"""What the law of the shop's place wants a customer to be told about a job. Pure."""

from collections.abc import Iterator

from quoter.book import Part, RateBook
from quoter.law import LawNotice
from quoter.quote import Quote

NOT_NEW = ("refurbished", "used")


def notices_for(quote: Quote, book: RateBook) -> tuple[LawNotice, ...]:
    """The notices of the book's law profile that are about this job, in the profile's order."""
    concerns = set(_concerns(quote, book))
    return tuple(notice for notice in (book.law.notices if book.law else ()) if notice.when in concerns)


def _concerns(quote: Quote, book: RateBook) -> Iterator[str]:
    """The kinds of job, as notices name them, that this one is."""
    parts = fitted(quote, book)
    yield "always"
    if any(repair.procedure in book.policy.diagnosis_procedures for repair in quote.job.repairs):
        yield "diagnosis"
    if parts:
        yield "parts"
    if any(part.condition in NOT_NEW for part in parts):
        yield "used_parts"


def fitted(quote: Quote, book: RateBook) -> tuple[Part, ...]:
    """The parts that the quote sells."""
    return tuple(book.parts[line.charge.ref] for line in quote.lines if line.charge.kind == "part")
