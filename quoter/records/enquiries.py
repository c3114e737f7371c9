"""What visitors of the shop's own site ask for."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from quoter.records.quotes import Contact

STANDINGS = ("new", "quoted", "closed")
"""Of an enquiry: nobody has dealt with it, a quote was made of it, it was put aside."""

CLOSING_REASONS = ("reached", "no-answer", "not-done-here", "junk")
"""Why an enquiry is put aside without a quote."""

ERASED = "erased"
"""Why an enquiry is closed that nobody had dealt with when its contact was erased: there is nobody to answer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Enquiry:
    """A job that a visitor asked about, with the price that they were told and how they can be reached.

    `through` is the id of the key, `origin` the site that the form stood on, `noticed` what they wrote in their own
    words. `filled_sha256` is of the token of the form: one form is one enquiry. `sender` is a hash of the network
    address, kept for a day. `version` counts every change.
    """

    id: str
    reference: str
    received_at: str
    through: str
    origin: str
    locale: str
    book: str
    book_version: int
    book_digest: str
    device_words: str
    job: Mapping[str, Any]
    result: Mapping[str, Any]
    noticed: str = ""
    contact: Contact = Contact()  # noqa: RUF009 - it never changes
    may_be_contacted: bool = False
    filled_sha256: str | None = None
    sender: str = ""
    version: int = 1
    standing: str = "new"
    quote: str | None = None
    closed_because: str | None = None
    erased_at: str | None = None

    def numbered(self, number: int) -> "Enquiry":
        """With its reference: the letter A (for asked), the year and a count."""
        return replace(self, reference=f"A{self.received_at[:4]}-{number:05d}")


@dataclass(frozen=True, slots=True, kw_only=True)
class EnquiryFilter:
    """Which enquiries to find; None means any. `after` is the id that the last page ended with."""

    limit: int
    after: str | None = None
    reference: str | None = None
    standing: str | None = None
    device: str | None = None
    words: str | None = None
    customer: str | None = None
    quote: str | None = None
