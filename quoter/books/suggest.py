"""What a misspelt word was probably meant to be."""

from collections.abc import Iterable
from difflib import get_close_matches

COMPARISONS = 20_000
"""Words that one list is compared with, all in all: a second's work. A longer list knows only other cases of a word."""

_LONGEST = 64


class Suggestions:
    """The known words of one list, and the patience to search them: the first misspelt words find an answer."""

    def __init__(self, known: Iterable[str | None]) -> None:
        self._known = sorted({word for word in known if word})
        self._by_folded = {word.casefold(): word for word in reversed(self._known)}
        self._found: dict[str, str] = {}
        self._left = COMPARISONS

    def nearest(self, word: str) -> str:
        """The known word that is most like this one, or nothing."""
        if word not in self._found:
            self._found[word] = self._by_folded.get(word.casefold()) or self._searched(word)
        return self._found[word]

    def perhaps(self, word: str, otherwise: str = "") -> str:
        """The nearest word as a suggestion."""
        nearest = self.nearest(word)
        return f"perhaps {nearest}" if nearest else otherwise

    def _searched(self, word: str) -> str:
        if len(word) > _LONGEST or len(self._known) > self._left:
            return ""
        self._left -= len(self._known)
        return next(iter(get_close_matches(word, self._known, n=1)), "")


def closest(word: str, known: Iterable[str | None]) -> str:
    """The known word that a misspelt one was probably meant to be, as a suggestion."""
    return Suggestions(known).perhaps(word)
