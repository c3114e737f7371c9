"""Every reason to say no.

    Problem
    |-- Refused            one or more Refusals, each at its field
    |   |-- JobRefused     a job that cannot be priced
    |   |-- QuoteRefused   a quote, revision or decision that needs more to be said, or less
    |   |-- EnquiryRefused a form that was not filled in as it must be
    |   |-- EditRefused    edits of a draft that make no sense
    |   |-- PublicationRefused
    |   |-- CalculationRefused
    |   `-- AddressRefused an address that webhooks must not have
    |-- Conflict           somebody else was quicker, or it is too early or too late for this
    |   |-- ChangedMeanwhile  it is not at the version that the caller has seen
    |   `-- ReplyErased       what a repeated request made has been erased
    |-- NameReused         a request that may be repeated has the name of another one
    |-- CurrenciesDiffer   prices in two currencies have no difference
    |-- TooManyRequests    more of one kind than the service takes; later again
    |-- TooLarge           a book that a file cannot hold
    |-- BookFlawed         a rate book that must not be priced with: every Flaw at once
    |-- NotFound           nothing has this code, number or id
    |-- NotAllowed         the key may not do this
    |-- Unreadable         a file or a body that is not what it should be
    `-- Unavailable        the database cannot be used just now
        `-- Damaged        what is in its file is not whole, or no database

The engine knows reasons, not HTTP statuses; the API maps them in one place.
"""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Refusal:
    """One reason at one field: `pointer` is a JSON pointer into the job, `allowed` what would be right."""

    reason: str
    pointer: str
    detail: str
    allowed: tuple[str, ...] = ()
    caution: str | None = None


@dataclass(frozen=True, slots=True)
class Flaw:
    """A fault of a rate book, at a cell that a person can find.

    `row` is the line as a spreadsheet numbers it (the header is 1) or None for the whole table.
    `key` names the row in the owner's words. In `book.toml` and tax files `column` is the dotted key.
    """

    table: str
    column: str
    message: str
    row: int | None = None
    key: str = ""
    value: str = ""
    suggestion: str = ""

    def __str__(self) -> str:
        place = self.table + (f", row {self.row}" if self.row else "") + (f", {self.column}" if self.column else "")
        value = f": {self.value!r}" if self.value else ""
        suggestion = f" ({self.suggestion})" if self.suggestion else ""
        return f"{place}{value}: {self.message}{suggestion}"


class Problem(Exception):
    """What a caller is told instead of an answer; `code` and `title` never vary within a class."""

    code = "problem"
    title = "The request cannot be carried out"


@dataclass(eq=False)
class Refused(Problem):
    """Something that was asked for and is not done. All refusals that could be found are here, not just the first."""

    refusals: tuple[Refusal, ...]

    def __str__(self) -> str:
        return "; ".join(refusal.detail.rstrip(".") for refusal in self.refusals)


class JobRefused(Refused):
    """A job that cannot be priced."""

    title = "The job cannot be priced"

    @property
    def code(self) -> str:  # type: ignore[override]
        """The reason, where there is only one kind of it."""
        reasons = {refusal.reason for refusal in self.refusals}
        return reasons.pop() if len(reasons) == 1 else "job-refused"


class QuoteRefused(Refused):
    """A quote, a revision or a decision that needs more to be said, or that makes no sense for what there is."""

    title = "The quote cannot be kept like this"

    @property
    def code(self) -> str:  # type: ignore[override]
        """The reason, where there is only one kind of it."""
        reasons = {refusal.reason for refusal in self.refusals}
        return reasons.pop() if len(reasons) == 1 else "quote-refused"


@dataclass(eq=False)
class EnquiryRefused(Refused):
    """A form that was not filled in as it must be; `wait_seconds` where the same will be taken in a while."""

    wait_seconds: int = 0
    title = "The enquiry cannot be taken like this"

    __str__ = Refused.__str__

    @property
    def code(self) -> str:  # type: ignore[override]
        """The reason, where there is only one kind of it."""
        reasons = {refusal.reason for refusal in self.refusals}
        return reasons.pop() if len(reasons) == 1 else "enquiry-refused"


class EditRefused(Refused):
    """Edits of a draft that make no sense; none of those sent together is made."""

    code = "edit-refused"
    title = "The edits make no sense, and none was made"


class PublicationRefused(Refused):
    """A publication without a reason, or one that would reach back."""

    code = "publication-refused"
    title = "The version is not published like this"


class CalculationRefused(Refused):
    """Numbers from which there is nothing to work out. All refusals are here, each at its input."""

    code = "calculation-refused"
    title = "Nothing can be worked out from these numbers"


class AddressRefused(Refused):
    """An address to which nothing is sent: it cannot be understood, leads nowhere, or into a closed network."""

    code = "address-refused"
    title = "The address cannot be told anything"


@dataclass(eq=False)
class Conflict(Problem):
    """Somebody else was quicker, or the thing is not in a state for it; `changes` say what has happened meanwhile."""

    detail: str
    changes: tuple[str, ...] = ()
    code = "conflict"
    title = "This does not fit what has happened meanwhile"

    def __str__(self) -> str:
        return self.detail


class ChangedMeanwhile(Conflict):
    """Something is not at the version that the caller has seen; nothing was overwritten."""

    code = "changed-meanwhile"
    title = "This has changed since you saw it, and nothing was overwritten"


class ReplyErased(Conflict):
    """A request that may be repeated has been done, and what it made has been erased since; it was not done again."""

    code = "idempotency-key-erased"
    title = "This was done once, and what it made has been erased"


@dataclass(eq=False)
class NameReused(Problem):
    """A request that may be repeated was given the name of another one; it was not done."""

    name: str
    code = "idempotency-key-reused"
    title = "Another request has this Idempotency-Key"

    def __str__(self) -> str:
        return (
            f"another call, or one with another body, was sent with the Idempotency-Key {self.name!r}; make a new one"
        )


class CurrenciesDiffer(Problem):
    """Prices in two currencies have no difference."""

    code = "currencies-differ"
    title = "The two versions are not in one currency"


@dataclass(eq=False)
class TooManyRequests(Problem):
    """More of one kind than the service takes; the same will be taken in `wait_seconds`."""

    detail: str
    wait_seconds: int
    code = "too-many-requests"
    title = "Too many in a short time"

    def __str__(self) -> str:
        return self.detail


@dataclass(eq=False)
class TooLarge(Problem):
    """A book that a file of this kind cannot hold."""

    detail: str
    code = "too-large"
    title = "The book is too large for this kind of file"

    def __str__(self) -> str:
        return self.detail


@dataclass(eq=False)
class BookFlawed(Problem):
    """A rate book with faults; none of it is used."""

    flaws: tuple[Flaw, ...]
    code = "book-flawed"
    title = "The rate book has faults"

    def __str__(self) -> str:
        return "\n".join(map(str, self.flaws))


@dataclass(eq=False)
class NotFound(Problem):
    """Nothing has this code, number or id; `where` points at the parameter that names it, if one does."""

    what: str
    name: str
    allowed: tuple[str, ...] = ()
    where: str = ""
    code = "not-found"
    title = "There is no such thing"

    def __str__(self) -> str:
        return f"there is no {self.what} {self.name!r}"


@dataclass(eq=False)
class NotAllowed(Problem):
    """The caller's key may not do this; `refusals` point at what would have needed another key."""

    detail: str
    refusals: tuple[Refusal, ...] = field(default=())
    code = "not-allowed"
    title = "This key may not do that"

    def __str__(self) -> str:
        return self.detail


@dataclass(eq=False)
class Unreadable(Problem):
    """A file or a body that is not what it should be; `where` says which and, if known, at what place."""

    where: str
    detail: str
    code = "unreadable"
    title = "The document cannot be read"

    def __str__(self) -> str:
        return f"{self.where}: {self.detail}"


@dataclass(eq=False)
class Unavailable(Problem):
    """The database cannot be used just now: `where` and `detail` are for whoever runs the service."""

    where: str
    detail: str
    code = "unavailable"
    title = "The service cannot do this just now"

    def __str__(self) -> str:
        return f"{self.where}: {self.detail}"


class Damaged(Unavailable):
    """The file is there and can be read, and what it holds is not whole: waiting does not help."""


REASONS = {
    "unknown-code": "A code that the rate book does not have",
    "not-offered": "The shop does not offer this procedure for this device",
    "given-twice": "Something that may occur once is named twice",
    "part-does-not-fit": "The part does not fit the device or the slot",
    "grade-not-available": "No part of this grade fits the device",
    "part-required": "A step needs a part and there is none, nor a way to do without",
    "stopped-by-finding": "The device must not be worked on as it is",
    "contradiction": "Two wishes of the job exclude each other",
    "out-of-range": "A number outside what makes sense",
    "needs-owner": "Only the owner's key may issue this",
    "no-tax-rate": "The tax profile has no rate for the date",
    "steps-in-a-circle": "Together, the findings make steps wait for each other",
    "invalid-value": "A value that is missing, of the wrong kind or not one of those allowed",
    "notice-required": "The customer must be told something before the quote is issued",
    "job-refused": "Several things are wrong with the job",
    "consent-required": "The customer must agree to the higher price first",
    "nothing-changed": "The revision would change nothing",
    "quote-refused": "Several things are wrong with what the quote shall become",
    "looks-automatic": "A field that must stay blank was filled in",
    "too-early": "The form was sent sooner than anybody can fill it in",
    "form-expired": "The form was open for too long",
    "form-unknown": "The form was not begun here, or with another key",
    "form-used": "The form has made another enquiry already",
    "enquiry-refused": "Several things are wrong with the enquiry",
}
"""Every reason of a refusal with its title. The API documents a page for each."""
