"""The rate books that prices are named from: at each moment the version that counts then."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from quoter.book import RateBook
from quoter.books.compile import compiled
from quoter.books.load import read_folder
from quoter.books.packed import packed, unpacked
from quoter.books.raw import RawBook
from quoter.engine.light_memory import forget_much
from quoter.problems import BookFlawed, Flaw, NotFound
from quoter.records.rates import BookVersion
from quoter.service.clock import Clock, stamp
from quoter.service.ports import Books

MOST_COMPILED = 8
"""Compiled versions that are kept at hand; the oldest is forgotten first."""

MOST_REMEMBERED = 4_000
"""Findings of rules that each of them keeps, some 14 MB. A job of two repairs on another device adds about 20."""


@dataclass(frozen=True, slots=True)
class Published:
    """A compiled book with its version."""

    book: RateBook
    version: int


@dataclass(slots=True)
class Shelf:
    """The books by code. `first` is the one that counts where none is named."""

    books: Books
    now: Clock
    first: str | None = None
    _compiled: dict[tuple[str, int, str], RateBook] = field(default_factory=dict)

    def named(self, code: str | None) -> Published:
        """The version that counts now of the book with this code, or of the first."""
        code = code or self.first or next(iter(self.books.codes()), "")
        counting = self.books.counting(code, stamp(self.now()))
        if counting is None:
            raise NotFound("rate book", code, tuple(self.books.codes()), where="/book")
        return Published(self._book(counting), counting.version)

    def version(self, code: str, version: int) -> RateBook:
        """A version, whether it counts or not. Raises NotFound."""
        found = self.books.version(code, version)
        if found is None:
            raise NotFound(f"version of {code}", str(version))
        return self._book(found)

    def _book(self, version: BookVersion) -> RateBook:
        """Known by its digest too: once an older database was put back, a number may stand for another text."""
        known = (version.code, version.version, version.digest)
        book = self._compiled.get(known)
        if book is None:
            book = unpacked(packed(compiled(self._text(version))))
            self._keep(version, book)
        forget_much(book, MOST_REMEMBERED)
        return book

    def _text(self, version: BookVersion) -> RawBook:
        raw = self.books.content(version.code, version.version)
        if raw is None:
            raise NotFound(f"version of {version.code}", str(version.version))
        return raw

    def _keep(self, version: BookVersion, book: RateBook) -> None:
        while len(self._compiled) >= MOST_COMPILED:
            self._compiled.pop(next(iter(self._compiled)), None)
        self._compiled[version.code, version.version, version.digest] = book

    def seed(self, folders: Iterable[Path]) -> list[str]:
        """Publishes the books of these folders that have no version yet; without a code, the first folder's counts.

        Raises BookFlawed at the first that has faults. Returns the codes of books whose folder says something else
        than the newest version: a folder is only the beginning of a book, so it is left at that.
        """
        differing: list[str] = []
        seen: set[str] = set()
        for folder in folders:
            newest, digest, content = self._seeded(folder, seen)
            self.first = self.first or newest.code
            if newest.digest == digest:
                self._keep(newest, unpacked(content))
            else:
                differing.append(newest.code)
        return differing

    def _seeded(self, folder: Path, seen: set[str]) -> tuple[BookVersion, str, bytes]:
        """The newest version of the book in a folder, published if there was none; the folder's digest and book."""
        raw = read_folder(folder)
        book = compiled(raw)
        _refuse_second(book.code, seen)
        history = self.books.history(book.code) or [self.books.publish(self._first_version(book), raw)]
        return history[0], book.digest, packed(book)

    def _first_version(self, book: RateBook) -> BookVersion:
        at = stamp(self.now())
        return BookVersion(
            code=book.code,
            version=1,
            title=book.title,
            digest=book.digest,
            published_at=at,
            published_by="the start of the service",
            reason="first version, from its folder",
            counts_from=at,
        )


def _refuse_second(code: str, seen: set[str]) -> None:
    if code in seen:
        right = "a code of its own for every book that is served"
        raise BookFlawed((Flaw("book.toml", "code", "another book has it", value=code, suggestion=right),))
    seen.add(code)
