"""What a job came to, as plain data, and beside it what has been made of that."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

Made = TypeVar("Made")


class Result(dict[str, Any]):
    """A result that nobody changes, so that what is costly to make of it is made once, and forgotten with it."""

    __slots__ = ("_made",)

    def __init__(self, members: Mapping[str, Any]) -> None:
        super().__init__(members)
        self._made: dict[str, Any] = {}

    def made(self, what: str, make: Callable[[], Made]) -> Made:
        """What `make` gives. Two who ask at once may both make it; it comes out the same."""
        if what not in self._made:
            self._made[what] = make()
        found: Made = self._made[what]
        return found


def made_of(result: Mapping[str, Any], what: str, make: Callable[[], Made]) -> Made:
    """What is made of a result, kept with it where it can keep something; one that was read from disk cannot."""
    return result.made(what, make) if isinstance(result, Result) else make()
