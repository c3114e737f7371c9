"""How one reader is spoken to: sentences in their language, figures in the formats of their locale."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import lru_cache
from gettext import NullTranslations

from quoter.messages import Message
from quoter.words.catalogues import language_of, translations
from quoter.words.formats import Formats, formats_for

Glossary = Mapping[str, Mapping[str, str]]
"""What a rate book's own texts are in other languages: by BCP 47 tag, then by the text in the book's language."""


@dataclass(frozen=True, slots=True, eq=False)
class Wording:
    """The words of one language and the formats of one locale.

    Templates are English, whole sentences or labels, with {places}; they are the keys of the catalogues. What fills a
    place is text and stays so, braces and all.
    """

    formats: Formats
    language: str
    catalogue: NullTranslations = field(repr=False)
    glossary: Mapping[str, str] = field(default_factory=dict, repr=False)

    @property
    def tag(self) -> str:
        """The locale, as BCP 47 writes it."""
        return self.formats.tag

    @property
    def direction(self) -> str:
        """Of the words: ltr or rtl."""
        return "rtl" if self.language == "ar" else "ltr"

    def say(self, template: str, /, **places: str) -> str:
        """A template in this language. LookupError names a place that nothing fills."""
        return filled(self.catalogue.gettext(template), places)

    def plural(self, one: str, other: str, n: int, /, **places: str) -> str:
        """The form for a number of things; {n} is the number in this locale."""
        form = self.catalogue.ngettext(one, other, n)
        return filled(form, {"n": self.formats.number(Decimal(n)), **places})

    def text(self, message: Message) -> str:
        """A message that was made before anyone knew the language. Its places are texts of the rate book."""
        return self.say(message.text, **{name: self.of_book(text) for name, text in message.parameters.items()})

    def of_book(self, text: str) -> str:
        """A text of the rate book in this language, as far as the owner has translated it."""
        return self.glossary.get(text, text)

    def with_glossary(self, glossary: Glossary) -> "Wording":
        """The same with the owner's translations: those for the locale itself, before those for its language."""
        own = {**glossary.get(self.tag.partition("-")[0], {}), **glossary.get(self.tag, {})}
        return replace(self, glossary=own)


@lru_cache(maxsize=256)
def wording_for(tag: str) -> Wording:
    """The wording for a BCP 47 tag such as de-AT; ValueError for a tag that is not `known_locale`."""
    formats, language = formats_for(tag), language_of(tag)
    return Wording(formats, language, translations(language))


def filled(template: str, places: Mapping[str, str]) -> str:
    """A template with its {places} filled: LookupError where one is not, TypeError where it is not text."""
    return template.format_map(_Places(template, places))


@dataclass(frozen=True, slots=True)
class _Places:
    template: str
    places: Mapping[str, str]

    def __getitem__(self, name: str) -> str:
        """The text for one place of the template."""
        if name not in self.places:
            raise LookupError(f"nothing fills {{{name}}} in {self.template!r}")
        value = self.places[name]
        if not isinstance(value, str):
            raise TypeError(f"{{{name}}} in {self.template!r} wants text, not {value!r}")
        return value
