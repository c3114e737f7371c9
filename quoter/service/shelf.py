"""The rate books that prices are named from."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from quoter.book import RateBook
from quoter.books.compile import compiled
from quoter.books.load import read_folder
from quoter.problems import BookFlawed, Flaw, NotFound
from quoter.service.clock import Clock, stamp
from quoter.service.ports import BookVersions


@dataclass(frozen=True, slots=True)
class Published:
    """A book in force, with its version."""

    book: RateBook
    version: int


@dataclass(slots=True)
class Shelf:
    """The books in force by code. The first is the one that counts where none is named."""

    books: dict[str, Published] = field(default_factory=dict)

    def named(self, code: str | None) -> Published:
        """The book with this code, or the first."""
        if code is None and self.books:
            return next(iter(self.books.values()))
        if code not in self.books:
            raise NotFound("rate book", str(code), tuple(self.books), where="/book")
        return self.books[code]

    def publish_folders(self, folders: Iterable[Path], versions: BookVersions, now: Clock) -> None:
        """Reads, checks and keeps the books of these folders. Raises BookFlawed at the first that has faults."""
        for folder in folders:
            raw = read_folder(folder)
            book = compiled(raw)
            if book.code in self.books:
                right = "a code of its own for every book that is served"
                raise BookFlawed((Flaw("book.toml", "code", "another book has it", value=book.code, suggestion=right),))
            version = versions.publish(book.code, book.digest, raw, stamp(now()))
            self.books[book.code] = Published(book, version)
