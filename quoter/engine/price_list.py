"""The whole price list of a book: every device, what is offered for it, every grade of the main part."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from quoter.book import RateBook
from quoter.engine.arithmetic import arithmetic
from quoter.engine.light_memory import light_copy
from quoter.engine.price import price
from quoter.job import Job, Repair
from quoter.problems import JobRefused
from quoter.quote import Totals


@dataclass(frozen=True, slots=True)
class ListEntry:
    """One repair alone, for a consumer, without findings: its totals, or why it cannot be priced.

    `grade` is None where the procedure is not about a part. `lead_days` is how long the slowest part takes to come.
    `reason` is the kind of refusal, one of REASONS, `refused` says it in words.
    """

    device: str
    procedure: str
    grade: str | None
    totals: Totals | None
    refused: str | None = None
    reason: str | None = None
    lead_days: int | None = None


def price_list(book: RateBook, date: dt.date) -> Iterator[ListEntry]:
    """Every entry in the order of devices.csv and offers.csv, priced on a day; the book itself remembers none of it."""
    book = light_copy(book)
    for device in book.devices:
        for procedure in book.offered[device]:
            for grade in grades_of(device, procedure, book):
                yield list_entry(device, procedure, grade, book, date)


def grades_of(device: str, procedure: str, book: RateBook) -> list[str | None]:
    """The grades of the parts that fit the main slot; [None] where the procedure has no slot or no part fits."""
    slot = book.procedures[procedure].slot
    parts = book.parts_for(device, slot) if slot else ()
    return list(dict.fromkeys(part.grade for part in parts)) or [None]


def entry_job(device: str, procedure: str, grade: str | None, book: RateBook, date: dt.date) -> Job:
    """The job that an entry of the price list stands for."""
    return Job(
        device=device,
        repairs=(Repair(procedure, grade),),
        date=date,
        parts={},
        findings=(),
        customer_kind="consumer",
        urgency="standard",
        discount=None,
        payment="other",
        locale=book.locale,
    )


def list_entry(device: str, procedure: str, grade: str | None, book: RateBook, date: dt.date) -> ListEntry:
    """One entry, priced on a day. Who asks for very many hands in a light copy of the book."""
    try:
        with arithmetic():
            priced = price(entry_job(device, procedure, grade, book, date), book)
    except JobRefused as refused:
        return ListEntry(device, procedure, grade, None, str(refused), refused.code)
    lead_days = max((part.lead_days for part in priced.work.parts), default=0)
    return ListEntry(device, procedure, grade, priced.totals, lead_days=lead_days)
