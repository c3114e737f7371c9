"""Use cases of the front desk and the form: name a price, issue a quote, find it again."""

import datetime as dt
from dataclasses import dataclass

from quoter.book import RateBook
from quoter.engine.compose import quote_for
from quoter.job import Job, job_data
from quoter.problems import JobRefused, NotAllowed, NotFound, Refusal
from quoter.quote import Quote
from quoter.records import IssuedQuote, QuoteFilter, StoredKey
from quoter.service.clock import Clock, end_of, stamp, today
from quoter.service.ids import time_ordered_id
from quoter.service.policy import beyond_the_desk
from quoter.service.ports import Quotes
from quoter.service.shelf import Published, Shelf
from quoter.service.snapshot import Data, snapshot


@dataclass(frozen=True, slots=True)
class Quoting:
    """Prices jobs from the books in force and keeps what is issued."""

    shelf: Shelf
    quotes: Quotes
    now: Clock

    def today(self, book: RateBook) -> dt.date:
        """Which day it is for the shop of a book."""
        return today(self.now(), book.shop.timezone)

    def price(self, job: Job, published: Published) -> tuple[Data, Data]:
        """The quote of a job and the job, as plain data; nothing is kept. Raises JobRefused."""
        return snapshot(quote_for(job, published.book), published.book), job_data(job)

    def issue(self, job: Job, published: Published, key: StoredKey) -> IssuedQuote:
        """Prices a job and keeps the quote, on disk when this returns. Raises JobRefused or NotAllowed."""
        book, moment = published.book, self.now()
        _refuse_past(job.date, self.today(book))
        quote = quote_for(job, book)
        _refuse_beyond_scope(quote, book, key)
        issued = IssuedQuote(
            id=time_ordered_id(moment),
            number="",
            revision=1,
            issued_at=stamp(moment),
            issued_by=key.name,
            expires_at=stamp(end_of(quote.valid_until, book.shop.timezone)),
            book=book.code,
            book_version=published.version,
            book_digest=book.digest,
            job=job_data(job),
            result=snapshot(quote, book),
        )
        return self.quotes.add(issued, device_words(job.device, book))

    def get(self, quote_id: str) -> IssuedQuote:
        """The newest revision of a quote. Raises NotFound."""
        quote = self.quotes.get(quote_id)
        if quote is None:
            raise NotFound("quote", quote_id)
        return quote

    def find(self, wanted: QuoteFilter) -> list[IssuedQuote]:
        """The newest quotes first."""
        return self.quotes.find(wanted, stamp(self.now()))


def _refuse_past(date: dt.date, today: dt.date) -> None:
    if date < today:
        detail = f"a quote cannot be issued for {date}, which is over; today is {today}"
        raise JobRefused((Refusal("out-of-range", "/date", detail, (today.isoformat(),)),))


def device_words(code: str, book: RateBook) -> str:
    """What a device can be found by."""
    device = book.devices[code]
    return f"{device.maker} {device.model} {device.code}".casefold()


def _refuse_beyond_scope(quote: Quote, book: RateBook, key: StoredKey) -> None:
    refusals = () if key.scope == "owner" else beyond_the_desk(quote, book)
    if refusals:
        raise NotAllowed("; ".join(refusal.detail for refusal in refusals), refusals)
