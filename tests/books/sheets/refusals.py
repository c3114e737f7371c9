"""What all refused files have in common."""

from collections.abc import Callable

from books.conftest import the_one
from quoter.books.check import flaws
from quoter.books.raw import WHOLE_BOOK, RawBook

Content = bytes | Callable[[], bytes]
"""A file; large ones are made when they are wanted."""


def made(content: Content) -> bytes:
    """The bytes of a file."""
    return content if isinstance(content, bytes) else content()


def assert_refused(raw: RawBook, message: str, suggestion: str) -> None:
    """Nothing was read, and the check adds nothing to the one flaw."""
    flaw = the_one(flaws(raw))
    assert (flaw.table, flaw.column) == (WHOLE_BOOK, "")
    assert message in flaw.message
    assert suggestion in flaw.suggestion
    assert not raw.settings
    assert not raw.tables
