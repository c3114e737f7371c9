"""Use cases of enquiries: a visitor asks, the desk finds it, makes a quote of it or puts it aside."""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from typing import Any

from quoter.job import Job, job_from
from quoter.problems import (
    ChangedMeanwhile,
    Conflict,
    EnquiryRefused,
    JobRefused,
    NotFound,
    Refusal,
    TooManyRequests,
)
from quoter.records.access import StoredKey
from quoter.records.enquiries import Enquiry, EnquiryFilter
from quoter.records.quotes import Contact, IssuedQuote
from quoter.service.clock import Clock, stamp
from quoter.service.enquiries.asking import Asked, refusals_of
from quoter.service.enquiries.form_tokens import SENDERS, FormToken, FormTokens, filled_sha256
from quoter.service.enquiries.senders import sender_of
from quoter.service.ids import time_ordered_id
from quoter.service.ports import Enquiries, Secrets
from quoter.service.quotes.quoting import Quoting, device_words
from quoter.service.rates.shelf import Published

HOUR, DAY = dt.timedelta(hours=1), dt.timedelta(days=1)

Announce = Callable[[str, str, Mapping[str, Any]], object]
"""Tells other programs: a kind, the path of what it is about, and a body; within the transaction that it belongs to."""


def nobody(kind: str, about: str, body: Mapping[str, Any]) -> None:
    """Nobody wants to be told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EnquiryLimits:
    """How many enquiries may come through forms: in an hour from one network address, in a day through one key."""

    hourly_from_address: int = 10
    daily_through_key: int = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Enquiring:
    """Keeps what visitors ask, with the price that they were told, and what the desk makes of it.

    What changes an enquiry takes it as the caller has `seen` it, and raises ChangedMeanwhile where that is not what it
    is any more. Then nothing has been kept. `together` makes one transaction of what several stores keep.
    """

    quoting: Quoting
    enquiries: Enquiries
    secrets: Secrets
    together: Callable[[], AbstractContextManager[object]]
    now: Clock
    limits: EnquiryLimits = EnquiryLimits()
    announce: Announce = nobody

    def begin(self, key: StoredKey) -> FormToken:
        """A token for one filling-in of a form; nothing is kept of it."""
        return self._tokens().new(key.id)

    def make(self, asked: Asked, key: StoredKey) -> Enquiry:
        """Prices a job and keeps the enquiry, once for each token: the same form again gets what it has made.

        Raises EnquiryRefused, TooManyRequests or JobRefused, whose pointers begin with /job.
        """
        asked, from_form = asked.tidied(), key.scope == "form"
        wrong = refusals_of(asked, from_form=from_form)
        if not wrong and asked.token:
            self._tokens().check_made_for(asked.token, key.id)
        enquiry = self._priced(asked, key, wrong)
        with self.together():
            made = self._made_already(enquiry)
            if made is not None:
                return made
            if asked.token:
                self._tokens().check_time(asked.token)
            self._check_limits(enquiry, from_form=from_form)
            self.enquiries.forget_senders(self._ago(DAY))
            kept = self.enquiries.add(enquiry)
            self.announce("enquiry.received", f"/v1/enquiries/{kept.id}", _told_of(kept))
        return kept

    def get(self, enquiry_id: str) -> Enquiry:
        """An enquiry. Raises NotFound."""
        found = self.enquiries.get(enquiry_id)
        if found is None:
            raise NotFound("enquiry", enquiry_id)
        return found

    def by_reference(self, reference: str) -> Enquiry | None:
        """The enquiry with this reference."""
        return self.enquiries.by_reference(reference)

    def of_quote(self, quote_id: str) -> Enquiry | None:
        """The enquiry that a quote was made of."""
        return self.enquiries.of_quote(quote_id)

    def find(self, wanted: EnquiryFilter) -> list[Enquiry]:
        """The newest enquiries first."""
        return self.enquiries.find(wanted)

    def waiting(self) -> int:
        """How many enquiries nobody has dealt with."""
        return self.enquiries.count("new")

    def job(self, enquiry: Enquiry) -> Job:
        """What an enquiry asked, for today."""
        published = self._rates(enquiry)
        return replace(job_from(enquiry.job), date=self.quoting.today(published.book))

    def quote(self, seen: Enquiry, key: StoredKey, *, told: Iterable[str] = ()) -> IssuedQuote:
        """Issues the quote of an enquiry, priced anew today with the rates in force, for who asked.

        Raises Conflict where there is one already, and what `Quoting.issue` raises.
        """
        with self.together():
            return self._issued(seen, self.job(seen), self._rates(seen), key, contact=seen.contact, told=told)

    def issue_for(
        self,
        enquiry_id: str,
        job: Job,
        published: Published,
        key: StoredKey,
        *,
        contact: Contact,
        told: Iterable[str] = (),
    ) -> IssuedQuote:
        """Issues a quote of what the desk has made of an enquiry. Raises NotFound, and what `quote` raises."""
        with self.together():
            return self._issued(self.get(enquiry_id), job, published, key, contact=contact, told=told)

    def close(self, seen: Enquiry, because: str | None) -> Enquiry:
        """Puts an enquiry aside for a reason, or takes it up again with none.

        Raises Conflict for one with a quote, and for one that is taken up again though nobody is left to answer.
        """
        if seen.standing == "quoted":
            raise Conflict(f"enquiry {seen.reference} has a quote, which can be withdrawn instead")
        if seen.closed_because == because:
            return seen
        if seen.erased_at is not None and because is None:
            raise Conflict(f"enquiry {seen.reference} was erased: nobody is left to answer")
        standing = "new" if because is None else "closed"
        after = replace(seen, version=seen.version + 1, standing=standing, closed_because=because)
        self.enquiries.change(after)
        return after

    def _issued(
        self,
        seen: Enquiry,
        job: Job,
        published: Published,
        key: StoredKey,
        *,
        contact: Contact,
        told: Iterable[str],
    ) -> IssuedQuote:
        """A quote and its enquiry, linked; within a transaction, so that nobody is between looking and keeping."""
        if self.get(seen.id).version != seen.version:
            raise ChangedMeanwhile(f"enquiry {seen.reference} is not what you have seen: it was changed meanwhile")
        if seen.quote is not None:
            raise Conflict(f"enquiry {seen.reference} has quote {self.quoting.get(seen.quote).number} already")
        quote = self.quoting.issue(job, published, key, contact=contact, told=told)
        after = replace(seen, version=seen.version + 1, standing="quoted", quote=quote.id, closed_because=None)
        self.enquiries.change(after)
        return quote

    def _priced(self, asked: Asked, key: StoredKey, wrong: tuple[Refusal, ...]) -> Enquiry:
        """The enquiry as it would be kept now. Raises JobRefused with what else is wrong, or EnquiryRefused."""
        book = asked.published.book
        try:
            result, job = self.quoting.price(asked.job, asked.published)
        except JobRefused as refused:
            raise JobRefused((*wrong, *within_job(refused.refusals))) from None
        if wrong:
            raise EnquiryRefused(wrong)
        moment = self.now()
        return Enquiry(
            id=time_ordered_id(moment),
            reference="",
            received_at=stamp(moment),
            through=key.id,
            origin=asked.origin,
            locale=asked.job.locale,
            book=book.code,
            book_version=asked.published.version,
            book_digest=book.digest,
            device_words=device_words(asked.job.device, book),
            job=job,
            result=result,
            noticed=asked.noticed,
            contact=asked.contact,
            may_be_contacted=asked.may_be_contacted,
            filled_sha256=filled_sha256(asked.token) if asked.token else None,
            sender=sender_of(asked.address, self.secrets.of(SENDERS)) if key.scope == "form" else "",
        )

    def _made_already(self, enquiry: Enquiry) -> Enquiry | None:
        """What this form has made before. Raises EnquiryRefused where that was something else."""
        made = self.enquiries.by_form(enquiry.filled_sha256) if enquiry.filled_sha256 else None
        if made is not None and _said(made) != _said(enquiry):
            detail = f"this form has made enquiry {made.reference}, which says something else; begin another form"
            raise EnquiryRefused((Refusal("form-used", "/token", detail),))
        return made

    def _check_limits(self, enquiry: Enquiry, *, from_form: bool) -> None:
        if not from_form:
            return
        hourly, daily = self.limits.hourly_from_address, self.limits.daily_through_key
        if enquiry.sender:
            self._check_limit(self.enquiries.nth_from(enquiry.sender, hourly), HOUR, f"{hourly} enquiries in an hour")
        self._check_limit(self.enquiries.nth_through(enquiry.through, daily), DAY, f"{daily} enquiries in a day")

    def _check_limit(self, nth: str | None, window: dt.timedelta, most: str) -> None:
        if nth is None or nth <= self._ago(window):
            return
        left = dt.datetime.fromisoformat(nth) + window - self.now()
        raise TooManyRequests(f"{most} are the most; please call the shop, or try again later", seconds_of(left))

    def _ago(self, time: dt.timedelta) -> str:
        return stamp(self.now() - time)

    def _rates(self, enquiry: Enquiry) -> Published:
        return self.quoting.shelf.named(enquiry.book)

    def _tokens(self) -> FormTokens:
        return FormTokens(self.secrets, self.now)


def within_job(refusals: Iterable[Refusal]) -> tuple[Refusal, ...]:
    """Refusals of a job, where the job is a member of what was sent."""
    return tuple(replace(refusal, pointer=f"/job{refusal.pointer}") for refusal in refusals)


def seconds_of(time: dt.timedelta) -> int:
    """Whole seconds, rather too many than too few."""
    return -(-time // dt.timedelta(seconds=1))


def _said(enquiry: Enquiry) -> tuple[object, ...]:
    """What tells one filling-in from another, whenever it was sent."""
    job = {name: value for name, value in enquiry.job.items() if name != "date"}
    return (enquiry.book, job, enquiry.noticed, enquiry.contact, enquiry.may_be_contacted)


def _told_of(enquiry: Enquiry) -> Mapping[str, Any]:
    """What other programs are told: nothing of who asked, nor of what they wrote."""
    return {
        "enquiry": enquiry.id,
        "reference": enquiry.reference,
        "device": enquiry.job["device"],
        "currency": enquiry.result["currency"],
        "gross": enquiry.result["totals"]["gross"],
        "received_at": enquiry.received_at,
    }
