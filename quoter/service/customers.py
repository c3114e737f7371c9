"""Use cases about what is held on a customer: all of it for them to read, and erased when they or the time ask."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace

from quoter.records.customers import Erasure, Held, HeldQuote, Order, Who
from quoter.records.quotes import IssuedQuote
from quoter.service.clock import Clock, stamp
from quoter.service.ports import CustomerRecords, Quotes

LARGEST_REBUILT = 256_000_000
"""Bytes of a database that is rebuilt by the way, in some seconds in which others read but wait to write."""


@dataclass(frozen=True, slots=True)
class Customers:
    """Finds what is held on somebody, and erases names, numbers and free texts. Figures and events always stay."""

    records: CustomerRecords
    quotes: Quotes
    now: Clock

    def held(self, who: Who) -> Held:
        """All that is kept about a customer. Raises NotFound where a quote or enquiry is named that there is not."""
        quotes, enquiries = self.records.of(who)
        found = [HeldQuote(tuple(self.quotes.revisions(each)), tuple(self.quotes.events(each))) for each in quotes]
        asked = [enquiry for each in enquiries if (enquiry := self.records.enquiry(each)) is not None]
        return Held(who, tuple(found), tuple(asked))

    def erase(self, who: Who, by: str, *, accepted: bool = False) -> Erasure:
        """Erases at once, and says what. What somebody has agreed to is proof of a contract: kept unless `accepted`.

        Once more does nothing more. Raises NotFound as `held` does.
        """
        quotes, enquiries = self.records.of(who)
        order = Order(at=stamp(self.now()), by=by, because="asked", accepted=accepted)
        done = self.records.erase(quotes, enquiries, order)
        return replace(done, is_out_of_file=self.records.settle(rebuilt=True))

    def erase_due(self, keep_days: int) -> Iterator[int]:
        """Erases what has been kept for so many days, batch by batch; who drives it may stop between two."""
        moment = self.now()
        yield from self.records.erase_due(stamp(moment - dt.timedelta(days=keep_days)), stamp(moment))

    def forget_senders(self) -> None:
        """Empties the hashes of network addresses a day after, though no other enquiry may have come since."""
        self.records.forget_senders(stamp(self.now() - dt.timedelta(days=1)))

    def settle(self, *, is_new: bool) -> bool:
        """Takes what was erased out of the database's files; where nothing is new, what could not be taken before."""
        return self.records.settle(rebuilt=is_new, at_most_bytes=LARGEST_REBUILT)


def is_agreed(quote: IssuedQuote) -> bool:
    """Whether a quote is the proof of a contract: accepted, or with an agreement that still counts."""
    return quote.standing == "accepted" or quote.agreement is not None
