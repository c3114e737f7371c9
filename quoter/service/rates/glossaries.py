"""The texts of the rate book that a quote uses, in every language that the book has them in."""

from collections.abc import Iterable, Iterator, Mapping

from quoter.book import RateBook, TextPlace
from quoter.books.tables import SHOP_TEXTS, TRANSLATED
from quoter.engine.memory import remembered
from quoter.quote import Quote

Glossary = Mapping[str, str]
"""What a text of the book is in one language, by the text as the book has it."""

_ROWS = {"warranty": "warranties"}
"""Where the rows of a table stand in the book, if not under its own name."""


def glossaries(quote: Quote, book: RateBook) -> dict[str, dict[str, str]]:
    """By language, what it has for each text of the quote: titles, lines, terms, cautions, steps, tools, consumables.

    A language such as de-AT also has what only de says, so that whoever shows the quote asks one of them.
    """
    if not book.translations:
        return {}
    steps = tuple(step.step for step in quote.plan)
    found = {language: dict(glossary) for language, glossary in _of_steps(book, steps).items()}
    for row in dict.fromkeys(_rows(quote, book)):
        for language, glossary in _of_row(book, *row).items():
            found[language].update(glossary)
    return found


def _rows(quote: Quote, book: RateBook) -> Iterator[tuple[str, str]]:
    """The table and the key of every row whose texts the quote shows beside its plan."""
    for code in quote.job.findings:
        yield "findings", code
        yield from (("cautions", caution) for caution in (book.findings[code].caution,) if caution)
    yield from (("procedures", repair.procedure) for repair in quote.job.repairs)
    yield from (("findings", each.finding) for each in quote.contingencies)
    yield from (("warranty", code) for each in quote.warranty for code in each.terms)
    yield from (("grades", each.grade) for each in quote.alternatives)
    yield from (("shop", setting) for setting in SHOP_TEXTS)
    yield from (("parts", line.charge.ref) for line in quote.lines if line.charge.kind == "part")


@remembered
def _of_steps(book: RateBook, steps: tuple[str, ...]) -> Mapping[str, Glossary]:
    """What each language has for a plan: its steps with their tools, cautions and consumables."""
    return _told(book, (place for step in steps for place in _places_of_step(book, step)))


@remembered
def _of_row(book: RateBook, table: str, key: str) -> Mapping[str, Glossary]:
    """What each language has for the texts of one row."""
    return _told(book, _places(table, key))


def _places_of_step(book: RateBook, code: str) -> Iterator[TextPlace]:
    step = book.steps[code]
    yield from _places("steps", code)
    yield from (("tools", tool, "name") for tool in step.tools)
    if step.caution:
        yield from _places("cautions", step.caution)
    for usage in book.usage_by_step.get(code, ()):
        yield from _places("consumables", usage.consumable)


def _places(table: str, key: str) -> Iterator[TextPlace]:
    yield from ((table, key, column) for column in TRANSLATED[table])


def _told(book: RateBook, places: Iterable[TextPlace]) -> Mapping[str, Glossary]:
    texts = {place: _text(book, place) for place in places}
    return {
        language: {text: told for place, text in texts.items() if text and (told := book.text_in(language, place, ""))}
        for language in book.translations
    }


def _text(book: RateBook, place: TextPlace) -> str:
    """What stands there in the language of the book."""
    table, key, column = place
    if table == "shop":
        return str(getattr(book.shop, key))
    return key if table in ("tools", "grades") else str(getattr(getattr(book, _ROWS.get(table, table))[key], column))
