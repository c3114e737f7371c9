"""Translations: a gettext catalogue a language, read when the language is first asked for."""

from functools import cache
from gettext import GNUTranslations, NullTranslations
from importlib import resources
from io import BytesIO

ENGLISH = "en"
LANGUAGES = (ENGLISH, "de", "fr", "es", "pl", "ar", "ja")
"""Those that words are shipped in. Every other locale has its own formats and English words."""


def language_of(tag: str) -> str:
    """The shipped language that serves a BCP 47 tag."""
    language = tag.partition("-")[0].lower()
    return language if language in LANGUAGES else ENGLISH


@cache
def translations(language: str) -> NullTranslations:
    """The catalogue of a shipped language; English is what the templates are written in."""
    if language == ENGLISH:
        return NullTranslations()
    from babel.messages.mofile import write_mo  # who reads English, as most commands do, need not wait for these
    from babel.messages.pofile import read_po

    with resources.files("quoter.words").joinpath("gettext", f"{language}.po").open("rb") as file:
        catalogue = read_po(file, language, abort_invalid=True)
    compiled = BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    return GNUTranslations(compiled)
