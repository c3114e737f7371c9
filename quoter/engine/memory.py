"""Remembers, inside the immutable book, what a rule has worked out from the book alone."""

from collections.abc import Callable
from functools import wraps
from typing import TypeVar, TypeVarTuple

from quoter.book import RateBook

Result = TypeVar("Result")
Key = TypeVarTuple("Key")

SHELF_LIMIT = 100_000
"""Entries a rule may keep for a book; past it, the shelf is emptied and fills again."""


def remembered(rule: Callable[[RateBook, *Key], Result]) -> Callable[[RateBook, *Key], Result]:
    """A pure rule of (book, key …) that is worked out once for each key. Refusals are not kept."""

    @wraps(rule)
    def recalled(book: RateBook, *key: *Key) -> Result:
        try:
            return book.memory.shelves[rule][key]  # type: ignore[no-any-return]
        except KeyError:
            pass
        found = rule(book, *key)
        shelf = book.memory.shelves.setdefault(rule, {})
        if len(shelf) >= SHELF_LIMIT:
            shelf.clear()
        shelf[key] = found
        return found

    return recalled
