"""Finds every template in the program and brings the catalogues up to date: python -m quoter.words.extraction

Templates are the literals given to say(), plural() and Message(), in Python, in HTML templates and in scripts. What is
new stands in each catalogue without a translation, and a test fails until it has one; what is gone is left out.
"""

from collections.abc import Iterator
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from quoter.words.catalogues import ENGLISH, LANGUAGES

Template = str | tuple[str, ...]

PACKAGE = Path(__file__).parents[1]
CATALOGUES = Path(__file__).with_name("gettext")

KEYWORDS = {"say": None, "plural": (1, 2), "Message": None}
METHODS = [("**.py", "python"), ("**.html", "jinja2"), ("**/js/**.js", "javascript")]
OPTIONS = {"**.html": {"newstyle_gettext": "true", "silent": "false"}}

HEADER = """msgid ""
msgstr ""
"Language: {language}\\n"
"Plural-Forms: {plural}\\n"
"Content-Type: text/plain; charset=utf-8\\n"

"""
"""Without dates and names, so that only words change a catalogue."""


def extracted() -> Catalog:
    """Every template of the program, untranslated, with the files that it occurs in."""
    found = Catalog(charset="utf-8", fuzzy=False)
    places: dict[Template, list[str]] = {}
    for file, _, template, _, _ in _templates():
        places.setdefault(template, []).append(file)
    for template, files in sorted(places.items(), key=lambda item: (item[1][0], str(item[0]))):
        found.add(template, locations=[(file, 1) for file in dict.fromkeys(files)])
    return found


def _templates() -> Iterator[tuple[str, int, Template, list[str], str | None]]:
    yield from extract_from_dir(PACKAGE, METHODS, OPTIONS, KEYWORDS)


def catalogue_of(language: str) -> Catalog:
    """A shipped language's catalogue as it is on disk."""
    with (CATALOGUES / f"{language}.po").open("rb") as file:
        return read_po(file, language, abort_invalid=True)


def main() -> None:
    """Writes every catalogue anew."""
    templates = extracted()
    for language in LANGUAGES:
        if language != ENGLISH:
            catalogue = catalogue_of(language)
            catalogue.update(templates, no_fuzzy_matching=True)
            catalogue.obsolete.clear()
            path = CATALOGUES / f"{language}.po"
            with path.open("wb") as file:
                file.write(HEADER.format(language=language, plural=catalogue.plural_forms).encode())
                write_po(file, catalogue, width=120, include_lineno=False, omit_header=True)
            missing = sum(not _is_translated(message) for message in catalogue if message.id)
            print(f"{path.name}: {len(catalogue)} messages, {missing} without a translation")


def _is_translated(message: Message) -> bool:
    text = message.string
    return all(text) if isinstance(text, tuple) else bool(text)


if __name__ == "__main__":
    main()
