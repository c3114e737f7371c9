"""What use cases need of the outside, as protocols. `app.py` and `cli.py` hand in what fulfils them."""

from typing import Protocol

from quoter.books.raw import RawBook
from quoter.records import IssuedQuote, QuoteFilter, StoredKey


class BookVersions(Protocol):
    """Published versions of books."""

    def publish(self, code: str, digest: str, raw: RawBook, at: str) -> int:
        """Keeps the book and gives its version: what says the same has the same number, anything else the next."""

    def read(self, code: str, version: int) -> RawBook | None:
        """The text of a version."""


class Keys(Protocol):
    """API keys at rest."""

    def add(self, key: StoredKey) -> None:
        """Keeps a new key."""

    def find(self, key_id: str) -> StoredKey | None:
        """The key with this id, revoked and expired ones included."""

    def all(self) -> list[StoredKey]:
        """Every key, oldest first."""

    def revoke(self, key_id: str, at: str) -> bool:
        """Ends a key at once; False where there is no such key in use."""


class Quotes(Protocol):
    """Issued quotes."""

    def add(self, quote: IssuedQuote, device_words: str) -> IssuedQuote:
        """Keeps a new quote and gives it its number. It is on disk when this returns."""

    def get(self, quote_id: str) -> IssuedQuote | None:
        """The newest revision of a quote."""

    def find(self, wanted: QuoteFilter, now: str) -> list[IssuedQuote]:
        """The newest quotes first."""
