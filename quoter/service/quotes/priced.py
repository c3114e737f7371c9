"""Jobs as they were priced last: who has seen a price asks for it again, and then for the quote."""

from dataclasses import dataclass
from functools import partial

import orjson

from quoter.engine.compose import quote_for
from quoter.job import Job, job_data
from quoter.quote import Quote
from quoter.records.results import Result
from quoter.service.made_once import MadeOnce
from quoter.service.quotes.snapshot import Data, snapshot
from quoter.service.rates.shelf import Published

MOST_PRICED = 64
"""Jobs that are kept at hand; each takes some 80 kB with the documents made of it."""


@dataclass(frozen=True, slots=True, eq=False)
class PricedJob:
    """A job's quote, and both as plain data that nobody changes."""

    quote: Quote
    job: Data
    result: Result


class PricedJobs:
    """The same job by the same version of a book is priced once, for as long as it is among those asked for last."""

    def __init__(self, most: int = MOST_PRICED) -> None:
        self._kept: MadeOnce[PricedJob] = MadeOnce(most)

    def get(self, job: Job, published: Published) -> PricedJob:
        """Priced now if need be. Raises JobRefused."""
        data, book = job_data(job), published.book
        price = partial(_priced, job, data, published)
        if job.discount and job.discount.reason:  # it may name somebody, and what is erased must not stay here
            return price()
        return self._kept.get((book.code, published.version, book.digest, orjson.dumps(data)), price)


def _priced(job: Job, data: Data, published: Published) -> PricedJob:
    quote = quote_for(job, published.book)
    return PricedJob(quote, data, Result(snapshot(quote, published.book)))
