"""What is kept: the records that use cases make and a store holds. Times are UTC text of one width, RFC 3339."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # every command needs the records, few the drafts
    from quoter.books.draft import CellChange, Draft

SCOPES = ("desk", "form", "owner")

DECISIONS = ("accepted", "declined", "withdrawn")
STATES = ("issued", *DECISIONS, "expired")
"""Of a quote. Expired is never kept: the clock says it of one that is still issued."""

REVISION_STATES = (*STATES, "superseded")
"""Of a revision: superseded where there is a newer one."""

WAYS = ("counter", "phone", "message", "link")
"""How a decision reached the shop; by the link only through the customer's own page."""

BY_CUSTOMER = "the customer's page"
"""Who recorded what a customer decided by the link."""

UP_TO = ("price", "ceiling")
"""What an acceptance reaches to: the price of the revision, or its ceiling."""

EVENT_KINDS = ("issued", "revised", *DECISIONS, "contact-changed", "link-replaced")


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredKey:
    """An API key as it is kept: never its secret, only the secret's SHA-256."""

    id: str
    name: str
    scope: str
    sees_economics: bool
    secret_sha256: str
    created_at: str
    expires_at: str | None = None
    revoked_at: str | None = None

    def counts_at(self, now: str) -> bool:
        """Neither revoked nor expired."""
        return self.revoked_at is None and (self.expires_at is None or now < self.expires_at)


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """How a customer is reached, as far as they said it."""

    name: str = ""
    phone: str = ""
    email: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What was decided about a revision: by whom, when and how they said so, and who wrote it down when.

    `contact` is the number or address at which they said so, `extra` what they agreed to pay beyond what they had
    agreed to before, `up_to` whether they agreed to the price alone or to all that the ceiling allows.
    """

    decision: str
    revision: int
    name: str
    at: str = ""
    how: str = "counter"
    contact: str = ""
    extra: Decimal | None = None
    up_to: str = "price"
    note: str = ""
    recorded_by: str = ""
    recorded_at: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """What the customer has agreed to so far: a revision with its amounts, and how far a later price may go.

    `of` says whether `limit` is gross or net. It may be reached, unless `from_limit`: then reaching it is too much.
    """

    revision: int
    gross: Decimal
    net: Decimal
    limit: Decimal
    of: str = "gross"
    from_limit: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedQuote:
    """A revision of a quote: the job, the version of the book, and the whole result, as plain data.

    `expires_at` is the first moment at which it no longer holds. A later book never changes any of it. What is of the
    whole quote stands with each of its revisions: `version`, which counts every change, `contact`, `link` and
    `agreement`. `standing` is the state that is kept; what the clock makes of it says `state_at`.
    """

    id: str
    number: str
    revision: int
    issued_at: str
    issued_by: str
    expires_at: str
    book: str
    book_version: int
    book_digest: str
    job: Mapping[str, Any]
    result: Mapping[str, Any]
    version: int = 1
    contact: Contact = Contact()
    link: str = ""
    reason: str = ""
    told: tuple[str, ...] = ()
    standing: str = "issued"
    decision: Decision | None = None
    agreement: Agreement | None = None

    def numbered(self, number: int) -> "IssuedQuote":
        """With its number: the year and a count."""
        return replace(self, number=f"{self.issued_at[:4]}-{number:05d}")

    def is_over_at(self, now: str) -> bool:
        """Whether its last day has passed, whatever has been decided."""
        return now >= self.expires_at

    def state_at(self, now: str) -> str:
        """What it stands at, or expired by the clock while nothing has been decided."""
        return "expired" if self.standing == "issued" and self.is_over_at(now) else self.standing


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteEvent:
    """Something that happened to a quote, kept for good. `version` is the one that the quote has had since.

    `data` tells the rest of the story. What could be erased one day, such as names, is not kept with the event: it is
    filled in from where it is kept, for as long as it is.
    """

    quote: str
    version: int
    kind: str
    revision: int
    at: str
    by: str
    data: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class BookVersion:
    """A published version of a rate book: who published it, when and why, and from which moment it counts.

    `changes` counts what it added, removed, changed and moved against the version before. `returns_to` is the earlier
    version that it says again, where it is one.
    """

    code: str
    version: int
    title: str
    digest: str
    published_at: str
    published_by: str
    reason: str
    counts_from: str
    changes: Mapping[str, int] = field(default_factory=dict)
    returns_to: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredDraft:
    """The one draft of a book. `revision` counts its saves; who saves says which one they started from."""

    code: str
    revision: int
    based_on: int
    opened_at: str
    opened_by: str
    changed_at: str
    changed_by: str
    draft: "Draft"


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedChange:
    """A change of a draft as it is kept for good: who, when, which cell, old and new."""

    code: str
    based_on: int
    revision: int
    at: str
    by: str
    change: "CellChange"

    def __str__(self) -> str:
        """As a person would tell it."""
        place = " ".join(filter(None, (self.change.table, self.change.key, self.change.column)))
        old, new = self.change.old, self.change.new
        return f"{self.by}: {place}: {'nothing' if old is None else old!r} → {'nothing' if new is None else new!r}"


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteFilter:
    """Which quotes to find; None means any. `after` is the id that the last page ended with."""

    limit: int
    after: str | None = None
    number: str | None = None
    book: str | None = None
    device: str | None = None
    words: str | None = None
    customer: str | None = None
    state: str | None = None
    since: str | None = None
    until: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """A sign-in on the pages: the hash of its cookie, whose key it stands for, a token against forged requests."""

    token_sha256: str
    key_id: str
    csrf: str
    created_at: str
    expires_at: str


@dataclass(frozen=True, slots=True)
class QuoteRange:
    """Which issued quotes of a book: at most so many of the newest, issued from one moment to before another."""

    limit: int
    since: str | None = None
    until: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectRun:
    """A measurement of what a draft does, in the background: what it was asked for, how far it is, what it found.

    `state` is waiting, running, done, failed or cancelled. `touched_at` is when it last showed a sign of life: one that
    has been silent for a while is begun again.
    """

    id: str
    code: str
    old_version: int
    revision: int
    wanted: QuoteRange
    state: str
    done: int
    total: int
    asked_at: str
    asked_by: str
    touched_at: str
    detail: str = ""
    result: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class EffectFile:
    """A table or a picture that a measurement came to."""

    name: str
    content_type: str
    content: str
