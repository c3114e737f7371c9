"""Quotes, their revisions, and what becomes of them."""

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

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

EVENT_KINDS = ("issued", "revised", *DECISIONS, "contact-changed", "link-replaced", "contact-erased")

BY_TIME = "the time limit"
"""Who erased what nobody asked to be erased."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """How a customer is reached, as far as they said it."""

    name: str = ""
    phone: str = ""
    email: str = ""

    def tidied(self) -> "Contact":
        """Without blanks around, and with the digits of the phone number as ASCII, however they were typed."""
        return Contact(name=self.name.strip(), phone=ascii_digits(self.phone.strip()), email=self.email.strip())


TURNING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""Signs that make what follows look like something else; no name has one (Unicode Standard Annex 9, section 2)."""


def ascii_digits(text: str) -> str:
    """A text with the decimal digits of every script as 0 to 9."""
    return "".join(str(unicodedata.decimal(sign, sign)) for sign in text)


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
    whole quote stands with each of its revisions: `version`, which counts every change, `contact`, `link`, `agreement`,
    and `erased_at`, when contact, names and what was written freely were last erased. `standing` is the state that is
    kept; what the clock makes of it says `state_at`.
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
    erased_at: str | None = None

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
