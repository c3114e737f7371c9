"""The word list that a page's scripts choose their words from."""

from functools import cache
from gettext import GNUTranslations
from typing import Any

from babel import Locale

from quoter.words.catalogues import translations

MOST_COUNTED = 200
"""Numbers up to this show every plural form of every shipped language."""


@cache
def script_words(language: str) -> dict[str, Any]:
    """`said`: text by template; `counted`: by the template for many, the text by CLDR plural category.

    A browser knows the category of a number (Intl.PluralRules), but not the order of gettext's forms.
    """
    catalogue = translations(language)
    if not isinstance(catalogue, GNUTranslations):
        return {"said": {}, "counted": {}}
    entries: dict[Any, str] = catalogue._catalog  # type: ignore[attr-defined]
    said = {template: text for template, text in entries.items() if isinstance(template, str) and template}
    plurals = {template for template, *_ in (key for key in entries if isinstance(key, tuple))}
    return {"said": said, "counted": {one: _forms(catalogue, one, language) for one in sorted(plurals)}}


def _forms(catalogue: GNUTranslations, one: str, language: str) -> dict[str, str]:
    locale = Locale.parse(language)
    samples = {locale.plural_form(n): n for n in range(MOST_COUNTED, -1, -1)}
    return {category: catalogue.ngettext(one, one, n) for category, n in samples.items()}
