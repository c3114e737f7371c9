"""What is kept: the records that use cases make and a store holds. Times are UTC text of one width, RFC 3339."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

SCOPES = ("desk", "form", "owner")
STATES = ("issued", "expired")


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
class IssuedQuote:
    """A revision of a quote: the job, the version of the book, and the whole result, as plain data.

    `expires_at` is the first moment at which it no longer holds. A later book never changes any of it.
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

    def numbered(self, number: int) -> "IssuedQuote":
        """With its number: the year and a count."""
        return replace(self, number=f"{self.issued_at[:4]}-{number:05d}")

    def state_at(self, now: str) -> str:
        """Issued, or expired by the clock."""
        return "issued" if now < self.expires_at else "expired"


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteFilter:
    """Which quotes to find; None means any. `after` is the id that the last page ended with."""

    limit: int
    after: str | None = None
    number: str | None = None
    book: str | None = None
    device: str | None = None
    words: str | None = None
    state: str | None = None
    since: str | None = None
    until: str | None = None
