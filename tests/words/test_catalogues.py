"""Every word of the program is in every catalogue, whole and well formed."""

import string
from collections.abc import Iterator

import pytest
from babel import Locale
from babel.messages import Message
from babel.messages.plurals import get_plural

from quoter.words.catalogues import ENGLISH, LANGUAGES, language_of, translations
from quoter.words.extraction import catalogue_of, extracted
from quoter.words.script import script_words

TRANSLATED = [language for language in LANGUAGES if language != ENGLISH]

TEMPLATES = {message.id for message in extracted() if message.id}


def messages(language: str) -> list[Message]:
    """What a catalogue says."""
    return [message for message in catalogue_of(language) if message.id]


def texts(message: Message) -> Iterator[tuple[str, str]]:
    """Each translation beside the template that it must agree with."""
    if isinstance(message.string, tuple):
        yield from ((message.id[1], form) for form in message.string)
    else:
        yield message.id, message.string


def places(text: str) -> set[str]:
    """The places of a template."""
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def test_the_program_says_something() -> None:
    """In Python, in pages, in scripts."""
    found = {str(place).rpartition(".")[2] for message in extracted() for place, _ in message.locations}
    assert found == {"py", "html", "js"}


@pytest.mark.parametrize("language", TRANSLATED)
def test_nothing_is_missing_and_nothing_is_left_over(language: str) -> None:
    """`make words` brings a catalogue up to date; what is new must then be translated."""
    assert {message.id for message in messages(language)} == TEMPLATES
    untranslated = [message.id for message in messages(language) if not all(text for _, text in texts(message))]
    assert untranslated == []
    assert [message.id for message in messages(language) if message.fuzzy] == []


@pytest.mark.parametrize("language", TRANSLATED)
def test_every_translation_has_the_places_of_its_template(language: str) -> None:
    """Except that a form which stands for one number alone need not repeat it."""
    for message in messages(language):
        for template, text in texts(message):
            may_lack = {"n"} if isinstance(message.id, tuple) else set()
            assert places(template) - may_lack <= places(text) <= places(template), text


@pytest.mark.parametrize("language", TRANSLATED)
def test_every_translation_is_clean_text(language: str) -> None:
    """No markup, no sign that nobody sees, the spaces of its template at its ends, and no English left as it was."""
    for message in messages(language):
        for template, text in texts(message):
            assert not set("<>") & set(text), text
            assert all(character.isprintable() for character in text), text
            assert text == text.strip(), text
            assert text.endswith(":") == template.endswith(":") or language in ("ja", "fr", "ar"), text


@pytest.mark.parametrize("language", TRANSLATED)
def test_plural_forms_are_those_of_the_language(language: str) -> None:
    """As many as Babel's table of gettext plurals says, and one for every CLDR category that a browser may ask for."""
    count = get_plural(language).num_plurals
    for message in messages(language):
        if isinstance(message.id, tuple):
            assert len(message.string) == count
    categories = {Locale.parse(language).plural_form(n) for n in range(201)}
    for forms in script_words(language)["counted"].values():
        assert forms.keys() == categories


@pytest.mark.parametrize("language", TRANSLATED)
def test_scripts_count_as_the_program_does(language: str) -> None:
    """For every number up to 200, the form by category is gettext's form."""
    locale = Locale.parse(language)
    for one, forms in script_words(language)["counted"].items():
        for n in range(201):
            assert forms[locale.plural_form(n)] == translations(language).ngettext(one, one, n)


@pytest.mark.parametrize(
    ("tag", "language"), [("de-AT", "de"), ("zh-Hant-TW", "en"), ("pt-BR", "en"), ("AR-eg", "ar"), ("en-US", "en")]
)
def test_a_locale_is_served_by_the_language_that_is_shipped(tag: str, language: str) -> None:
    """Else by English."""
    assert language_of(tag) == language
