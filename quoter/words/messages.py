"""Messages as text: the template in the reader's language, with its places filled."""

from dataclasses import dataclass
from typing import Protocol

from quoter.messages import Message
from quoter.words.formats import Formats


class Catalogue(Protocol):
    """Translations: what an English template is in the language of a BCP 47 tag."""

    def translated(self, template: str, tag: str) -> str:
        """The template in that language, or as it is where there is no translation."""


class English:
    """The catalogue of a program that has not been translated."""

    def translated(self, template: str, tag: str) -> str:
        """The template as it was written."""
        return template


_ENGLISH = English()


def rendered(message: Message, formats: Formats, catalogue: Catalogue = _ENGLISH) -> str:
    """The message in the language of `formats`. What fills a place is text and stays so, braces and all.

    LookupError names a place that nothing fills, TypeError one that is filled with something else than text.
    """
    return catalogue.translated(message.text, formats.tag).format_map(_Places(message))


@dataclass(frozen=True, slots=True)
class _Places:
    message: Message

    def __getitem__(self, name: str) -> str:
        """The text for one place of the template."""
        if name not in self.message.parameters:
            raise LookupError(f"nothing fills {{{name}}} in {self.message.text!r}")
        value = self.message.parameters[name]
        if not isinstance(value, str):
            raise TypeError(f"{{{name}}} in {self.message.text!r} wants text, not {value!r}")
        return value
