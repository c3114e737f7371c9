"""Use cases of the front desk and the form: name a price, issue a quote, find it, revise it, decide on it."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, replace
from decimal import Decimal

from quoter.book import RateBook
from quoter.job import Job
from quoter.problems import JobRefused, NotAllowed, NotFound, QuoteRefused, Refusal
from quoter.records.access import StoredKey
from quoter.records.quotes import BY_CUSTOMER, Contact, Decision, IssuedQuote, QuoteEvent, QuoteFilter
from quoter.service.clock import Clock, end_of, stamp, today
from quoter.service.ids import new_link, time_ordered_id
from quoter.service.ports import Quotes
from quoter.service.quotes.deciding import check_by_link, decided
from quoter.service.quotes.notices import notices_of, untold
from quoter.service.quotes.policy import beyond_the_desk
from quoter.service.quotes.priced import PricedJob, PricedJobs
from quoter.service.quotes.revising import check_revision, revised, revision_event
from quoter.service.quotes.side_by_side import side_by_side
from quoter.service.quotes.snapshot import Data
from quoter.service.rates.shelf import Published, Shelf


@dataclass(frozen=True, slots=True)
class Quoting:
    """Prices jobs from the books in force and keeps what is issued and what becomes of it.

    What changes a quote takes it as the caller has `seen` it, and raises ChangedMeanwhile where that is not what it
    is any more. Then nothing has been kept.
    """

    shelf: Shelf
    quotes: Quotes
    now: Clock
    jobs: PricedJobs = field(default_factory=PricedJobs)

    def today(self, book: RateBook) -> dt.date:
        """Which day it is for the shop of a book."""
        return today(self.now(), book.shop.timezone)

    def price(self, job: Job, published: Published) -> tuple[Data, Data]:
        """The quote of a job and the job, as plain data; nothing is kept. Raises JobRefused."""
        priced = self.jobs.get(job, published)
        return priced.result, priced.job

    def issue(
        self,
        job: Job,
        published: Published,
        key: StoredKey,
        *,
        contact: Contact = Contact(),  # noqa: B008 - it never changes
        told: Iterable[str] = (),
    ) -> IssuedQuote:
        """Prices a job and keeps the quote, on disk when this returns.

        Raises JobRefused, NotAllowed, or QuoteRefused where the customer has not been told what they must be.
        """
        book = published.book
        _refuse_past(job.date, self.today(book))
        priced = self.jobs.get(job, published)
        _refuse_beyond_scope(priced, book, key)
        issued = replace(
            self._issued(priced, published, key.name), contact=contact.tidied(), told=tuple(told), link=new_link()
        )
        missing = untold(notices_of(issued.result), issued.told)
        if missing:
            raise QuoteRefused(missing)
        return self.quotes.add(issued, device_words(job.device, book))

    def get(self, quote_id: str) -> IssuedQuote:
        """The newest revision of a quote. Raises NotFound."""
        quote = self.quotes.get(quote_id)
        if quote is None:
            raise NotFound("quote", quote_id)
        return quote

    def revision(self, quote_id: str, number: int, where: str = "/revision") -> IssuedQuote:
        """A certain revision of a quote. Raises NotFound, which points at what named it."""
        found = self.quotes.revision(quote_id, number)
        if found is None:
            newest = self.get(quote_id).revision
            raise NotFound("revision", str(number), tuple(str(each + 1) for each in range(newest)), where)
        return found

    def revisions(self, quote_id: str) -> list[IssuedQuote]:
        """Every revision of a quote, the first one first. Raises NotFound."""
        found = self.quotes.revisions(quote_id)
        if not found:
            raise NotFound("quote", quote_id)
        return found

    def history(self, quote_id: str, after: int = 0) -> list[QuoteEvent]:
        """What has happened to a quote since a version of it, oldest first."""
        return self.quotes.events(quote_id, after)

    def comparison(self, quote_id: str, old: int, new: int) -> Data:
        """Two revisions of a quote beside each other. Raises NotFound."""
        return side_by_side(self.revision(quote_id, old), self.revision(quote_id, new))

    def by_link(self, token: str) -> IssuedQuote | None:
        """The newest revision of the quote that a customer's link leads to."""
        return self.quotes.by_link(token)

    def find(self, wanted: QuoteFilter) -> list[IssuedQuote]:
        """The newest quotes first."""
        return self.quotes.find(wanted, stamp(self.now()))

    def rates_of(self, quote: IssuedQuote, which: str) -> Published:
        """The version of the book that a quote was priced from ("pinned"), or the one that counts now ("current")."""
        if which == "current":
            return self.shelf.named(quote.book)
        return Published(self.shelf.version(quote.book, quote.book_version), quote.book_version)

    def preview(
        self, seen: IssuedQuote, job: Job, published: Published, by: str, *, reason: str = "", told: Iterable[str] = ()
    ) -> IssuedQuote:
        """The revision that a job would be; nothing is kept. Raises JobRefused, CurrenciesDiffer or Conflict."""
        return self._revised(seen, self.jobs.get(job, published), published, by, reason, told)

    def revise(
        self, seen: IssuedQuote, job: Job, published: Published, key: StoredKey, *, reason: str, told: Iterable[str]
    ) -> IssuedQuote:
        """Keeps a new revision. Raises what `preview` does, NotAllowed as at issue, QuoteRefused, ChangedMeanwhile."""
        priced = self.jobs.get(job, published)
        _refuse_beyond_scope(priced, published.book, key)
        new = self._revised(seen, priced, published, key.name, reason, told)
        check_revision(seen, new)
        self.quotes.change(new, revision_event(seen, new))
        return new

    def decide(self, seen: IssuedQuote, decision: Decision, by: str) -> IssuedQuote:
        """Keeps what somebody decided about the newest revision, as the shop records it.

        Raises Conflict where that cannot be decided any more or not yet, QuoteRefused, ChangedMeanwhile.
        """
        now = stamp(self.now())
        made = replace(decision, name=decision.name.strip(), at=decision.at or now, recorded_by=by, recorded_at=now)
        after, event = decided(seen, made)
        self.quotes.change(after, event)
        return after

    def decide_by_link(
        self,
        token: str,
        revision: int,
        decision: str,
        name: str,
        *,
        extra: Decimal | None = None,
        up_to: str = "price",
        note: str = "",
    ) -> IssuedQuote:
        """Keeps what a customer decided on their own page; `extra` is what the page has shown them.

        Raises NotFound, and what `decide` raises; also Conflict for anything about a quote that is over.
        """
        seen = self.by_link(token)
        if seen is None:
            raise NotFound("quote", token)
        check_by_link(seen, decision, stamp(self.now()))
        made = Decision(
            decision=decision,
            revision=revision,
            name=name,
            how="link",
            contact=seen.contact.phone or seen.contact.email,
            extra=extra,
            up_to=up_to,
            note=note,
        )
        return self.decide(seen, made, BY_CUSTOMER)

    def change_contact(self, seen: IssuedQuote, contact: Contact, by: str) -> IssuedQuote:
        """Keeps another contact; the event says which members changed, not from what to what."""
        tidy = contact.tidied()
        old, new = asdict(seen.contact), asdict(tidy)
        changed = [member for member in new if old[member] != new[member]]
        if not changed:
            return seen
        return self._changed(replace(seen, contact=tidy), "contact-changed", by, {"fields": changed})

    def replace_link(self, seen: IssuedQuote, by: str) -> IssuedQuote:
        """Gives a quote another link; the old one leads nowhere from now on."""
        return self._changed(replace(seen, link=new_link()), "link-replaced", by, {})

    def _changed(self, changed: IssuedQuote, kind: str, by: str, data: Data) -> IssuedQuote:
        after = replace(changed, version=changed.version + 1)
        event = QuoteEvent(
            quote=after.id,
            version=after.version,
            kind=kind,
            revision=after.revision,
            at=stamp(self.now()),
            by=by,
            data=data,
        )
        self.quotes.change(after, event)
        return after

    def _revised(
        self, seen: IssuedQuote, priced: PricedJob, published: Published, by: str, reason: str, told: Iterable[str]
    ) -> IssuedQuote:
        issued = replace(self._issued(priced, published, by), reason=reason.strip(), told=tuple(told))
        agreed = self.revision(seen.id, seen.agreement.revision) if seen.agreement else None
        return revised(seen, issued, agreed)

    def _issued(self, priced: PricedJob, published: Published, by: str) -> IssuedQuote:
        """A quote as it would be issued now."""
        book, moment = published.book, self.now()
        return IssuedQuote(
            id=time_ordered_id(moment),
            number="",
            revision=1,
            issued_at=stamp(moment),
            issued_by=by,
            expires_at=stamp(end_of(priced.quote.valid_until, book.shop.timezone)),
            book=book.code,
            book_version=published.version,
            book_digest=book.digest,
            job=priced.job,
            result=priced.result,
        )


def _refuse_past(date: dt.date, today: dt.date) -> None:
    if date < today:
        detail = f"a quote cannot be issued for {date}, which is over; today is {today}"
        raise JobRefused((Refusal("out-of-range", "/date", detail, (today.isoformat(),)),))


def device_words(code: str, book: RateBook) -> str:
    """What a device can be found by."""
    device = book.devices[code]
    return f"{device.maker} {device.model} {device.code}".casefold()


def _refuse_beyond_scope(priced: PricedJob, book: RateBook, key: StoredKey) -> None:
    refusals = () if key.scope == "owner" else beyond_the_desk(priced.quote, book)
    if refusals:
        raise NotAllowed("; ".join(refusal.detail for refusal in refusals), refusals)
