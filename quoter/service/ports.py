"""What use cases need of the outside, as protocols. `app.py` and `cli.py` hand in what fulfils them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from quoter.books.draft import CellChange
    from quoter.books.effect import IssuedJob
    from quoter.books.raw import RawBook
    from quoter.records.access import Session, StoredKey
    from quoter.records.customers import Erasure, Order, Who
    from quoter.records.enquiries import Enquiry, EnquiryFilter
    from quoter.records.quotes import IssuedQuote, QuoteEvent, QuoteFilter
    from quoter.records.rates import BookVersion, EffectFile, EffectRun, QuoteRange, RecordedChange, StoredDraft
    from quoter.records.replies import Reply
    from quoter.records.webhooks import Announcement, Claim, Delivery, DeliveryFilter, Outcome, Progress, Webhook

Together = Callable[[], AbstractContextManager[object]]
"""What is kept within it is kept at once, or not at all; others wait until it ends."""


class Books(Protocol):
    """Published versions of books, and drafts."""

    def codes(self) -> list[str]:
        """The codes of all books, in the order in which they were first published."""

    def history(self, code: str) -> list[BookVersion]:
        """Every version of a book, the newest first."""

    def counting(self, code: str, now: str) -> BookVersion | None:
        """The version in force at a moment."""

    def version(self, code: str, version: int) -> BookVersion | None:
        """A version without its text."""

    def content(self, code: str, version: int) -> RawBook | None:
        """The text of a version."""

    def publish(self, version: BookVersion, raw: RawBook, *, ends: StoredDraft | None = None) -> BookVersion:
        """Keeps a version under the next number, and ends the draft that it came from."""

    def draft(self, code: str) -> StoredDraft | None:
        """The draft of a book."""

    def open_draft(self, draft: StoredDraft) -> None:
        """Keeps a new draft. Raises Conflict where the book has one."""

    def save_draft(self, draft: StoredDraft, changes: Iterable[CellChange]) -> None:
        """Keeps the next revision of a draft and what changed. Raises Conflict where somebody else was quicker."""

    def discard_draft(self, draft: StoredDraft) -> None:
        """Ends a draft without publishing it. Raises Conflict where it has been changed or ended meanwhile."""

    def changes(self, draft: StoredDraft, after: int = 0) -> list[RecordedChange]:
        """What has been changed in a draft since a revision of it, oldest first."""


class Keys(Protocol):
    """API keys at rest."""

    def add(self, key: StoredKey) -> None:
        """Keeps a new key."""

    def replace(self, new: StoredKey, old_ends_at: str) -> bool:
        """Keeps a key that takes the place of another, which ends then; False where one has done so before."""

    def tie(self, key_id: str, origins: Iterable[str]) -> None:
        """Lets a key be used from these sites, and no others."""

    def has_site(self, origin: str, now: str) -> bool:
        """Whether a form's key that counts at this moment lists a site."""

    def note_use(self, key_id: str, at: str, unless_after: str) -> None:
        """Keeps when a key was used, unless a later use is known. Raises Unavailable at once where others write."""

    def find(self, key_id: str) -> StoredKey | None:
        """The key with this id, revoked and expired ones included."""

    def all(self) -> list[StoredKey]:
        """Every key, oldest first."""

    def revoke(self, key_id: str, at: str) -> bool:
        """Ends a key at once; False where there is no such key in use."""

    def remove(self, key_id: str) -> None:
        """Keeps nothing of a key."""


class Sessions(Protocol):
    """Sign-ins on the pages."""

    def add(self, session: Session) -> None:
        """Keeps a session, and forgets those that are over."""

    def find(self, token_sha256: str) -> Session | None:
        """The session of a token."""

    def end(self, token_sha256: str, at: str) -> None:
        """Lets a session count no longer than to this moment."""


class Quotes(Protocol):
    """Issued quotes."""

    def add(self, quote: IssuedQuote, device_words: str) -> IssuedQuote:
        """Keeps a new quote and gives it its number. It is on disk when this returns."""

    def change(self, changed: IssuedQuote, event: QuoteEvent) -> None:
        """Keeps a quote as it is after an event. Raises ChangedMeanwhile where somebody else was quicker."""

    def get(self, quote_id: str) -> IssuedQuote | None:
        """The newest revision of a quote."""

    def revision(self, quote_id: str, revision: int) -> IssuedQuote | None:
        """A certain revision of a quote."""

    def revisions(self, quote_id: str) -> list[IssuedQuote]:
        """Every revision of a quote, the first one first."""

    def by_link(self, link: str) -> IssuedQuote | None:
        """The newest revision of the quote that a customer's link leads to."""

    def events(self, quote_id: str, after: int = 0) -> list[QuoteEvent]:
        """What has happened to a quote since a version of it, oldest first."""

    def find(self, wanted: QuoteFilter, now: str) -> list[IssuedQuote]:
        """The newest quotes first."""

    def count_issued(self, book: str, wanted: QuoteRange) -> int:
        """How many `issued_jobs` will give."""

    def issued_jobs(self, book: str, wanted: QuoteRange) -> Iterator[IssuedJob]:
        """The jobs of a book's issued quotes with what they came to, the newest first."""


class Replies(Protocol):
    """First answers to requests that may be repeated."""

    def find(self, holder: str, name: str, now: str) -> Reply | None:
        """The reply that a request of this name got, unless it has expired."""

    def keep(self, reply: Reply) -> None:
        """Keeps a reply, and forgets those that have expired. Raises Conflict where there is one of this name."""


class Secrets(Protocol):
    """What the service signs with."""

    def of(self, name: str) -> bytes:
        """The secret of this name, the same for every process and ever after."""


class Enquiries(Protocol):
    """What visitors of the shop's site asked."""

    def add(self, enquiry: Enquiry) -> Enquiry:
        """Keeps a new enquiry and gives it its reference. It is on disk when the transaction ends."""

    def change(self, changed: Enquiry) -> None:
        """Keeps an enquiry as it is now. Raises ChangedMeanwhile where somebody else was quicker."""

    def get(self, enquiry_id: str) -> Enquiry | None:
        """The enquiry with this id."""

    def by_reference(self, reference: str) -> Enquiry | None:
        """The enquiry with this reference."""

    def by_form(self, filled_sha256: str) -> Enquiry | None:
        """The enquiry that a form has made already."""

    def of_quote(self, quote_id: str) -> Enquiry | None:
        """The enquiry that a quote was made of."""

    def find(self, wanted: EnquiryFilter) -> list[Enquiry]:
        """The newest enquiries first."""

    def count(self, standing: str) -> int:
        """How many enquiries stand like this."""

    def nth_from(self, sender: str, number: int) -> str | None:
        """When the last enquiry but so many came from a sender; None where there have not been as many."""

    def nth_through(self, key_id: str, number: int) -> str | None:
        """When the last enquiry but so many came through a key; None where there have not been as many."""

    def forget_senders(self, before: str) -> None:
        """Empties who sent what came before a moment."""


class EffectRuns(Protocol):
    """Measurements of what a draft does."""

    def add(self, run: EffectRun, raw: RawBook) -> None:
        """Keeps a measurement that has been asked for."""

    def get(self, run_id: str) -> EffectRun | None:
        """A measurement as far as it is."""

    def newest(self, code: str) -> EffectRun | None:
        """The measurement of a book that was asked for last."""

    def content(self, run_id: str) -> RawBook:
        """The text that the measurement is about."""

    def claim(self, now: str, silent_since: str) -> EffectRun | None:
        """The next measurement to do. Nobody else gets it."""

    def touch(self, run_id: str, done: int, total: int, now: str) -> bool:
        """Says how far a measurement is. False where it has been cancelled."""

    def end(self, run: EffectRun, result: Mapping[str, Any], files: Iterable[EffectFile]) -> None:
        """Keeps what a measurement came to."""

    def file(self, run_id: str, name: str) -> EffectFile | None:
        """A file of a measurement."""


class CustomerRecords(Protocol):
    """What is held on customers."""

    def of(self, who: Who) -> tuple[list[str], list[str]]:
        """Ids of a customer's quotes and enquiries, the oldest first. Raises NotFound."""

    def enquiry(self, enquiry_id: str) -> Enquiry | None:
        """An enquiry, whole."""

    def erase(self, quotes: Iterable[str], enquiries: Iterable[str], order: Order) -> Erasure:
        """Empties names, numbers and free texts, all at once or not at all."""

    def erase_due(self, until: str, at: str) -> Iterator[int]:
        """Erases what nobody has agreed to and nothing has happened to since a moment, batch by batch."""

    def forget_senders(self, before: str) -> None:
        """Empties who sent the enquiries that came before a moment."""

    def settle(self, *, rebuilt: bool, at_most_bytes: int | None = None) -> bool:
        """Takes what was erased out of the database's files. False where it could not be done now."""


class Expiries(Protocol):
    """Quotes that the clock alone has ended."""

    def any_due(self, now: str) -> bool:
        """Whether a revision has expired undecided that nobody has taken yet."""

    def take(self, now: str, most: int, quote_id: str | None = None) -> list[IssuedQuote]:
        """Such revisions, of all quotes or of one. Each is given out once, whoever asks."""


class Outbox(Protocol):
    """Announcements on their way."""

    def add(self, announcement: Announcement, only: str | None = None) -> list[Delivery]:
        """Keeps it for each webhook that wants its kind and was there when it happened, or for `only` this one."""


class KeptWebhooks(Protocol):
    """Webhooks at rest."""

    def add(self, webhook: Webhook, most: int) -> None:
        """Keeps a new one. Raises Conflict where there are `most` already."""

    def change(self, changed: Webhook) -> None:
        """Keeps one as it is now. Raises ChangedMeanwhile where it is not at the version before any more."""

    def get(self, webhook_id: str) -> Webhook | None:
        """A webhook, ended ones included."""

    def all(self) -> list[Webhook]:
        """Those that have not ended, oldest first."""

    def progress(self, webhook_id: str) -> Progress:
        """How deliveries to it stand."""


class Deliveries(Protocol):
    """Deliveries, each taken by one worker at a time."""

    def get(self, place: int) -> Delivery | None:
        """A delivery as far as it is."""

    def find(self, wanted: DeliveryFilter) -> list[Delivery]:
        """Of a webhook, the newest first."""

    def claim(self, now: str, until: str) -> Claim | None:
        """The next one to attempt. Nobody else gets it before `until`, nor another one to the same webhook."""

    def done(self, claim: Claim, outcome: Outcome, now: str) -> None:
        """It has arrived."""

    def put_off(self, claim: Claim, outcome: Outcome, now: str, next_at: str | None) -> None:
        """It has not arrived, and is tried again at `next_at`; without that it is dead."""

    def pause(self, claim: Claim, outcome: Outcome, now: str, because: str) -> None:
        """It has not arrived, and its webhook is told nothing more for now."""

    def send_again(self, place: int, now: str) -> None:
        """Due at once, as if it had never been attempted."""

    def send_dead_again(self, webhook_id: str, now: str) -> int:
        """The same for every dead one of a webhook; how many there were."""

    def give_up(self, webhook_id: str, now: str, detail: str) -> None:
        """Whatever still waits for a webhook is dead."""

    def forget(self, delivered_before: str, dead_before: str) -> None:
        """Removes what was delivered, or given up, long ago."""
