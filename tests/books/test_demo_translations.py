"""The demo books tell every text in six languages, and say what the newer columns are for."""

import re
from collections.abc import Iterator
from functools import cache

import pytest

from books.sheets.made import DEMO_BOOKS, ROOT
from quoter.book import RateBook, TextPlace
from quoter.books.compile import open_book
from quoter.books.tables import SHOP_TEXTS, TRANSLATED

LANGUAGES = ("de", "fr", "es", "pl", "ar", "ja")
FIELDS = {"difficulty": "difficulties", "warranty": "warranties"}

pytestmark = pytest.mark.parametrize("name", DEMO_BOOKS)


@cache
def demo(name: str) -> RateBook:
    """A demo book, compiled."""
    return open_book(ROOT / "rates" / name)


def texts(book: RateBook) -> Iterator[tuple[TextPlace, str]]:
    """Every text of a book that can be told in another language."""
    for table, columns in TRANSLATED.items():
        if table == "tools":
            tools = dict.fromkeys(tool for step in book.steps.values() for tool in step.tools)
            yield from (((table, tool, "name"), tool) for tool in tools)
            continue
        if table == "grades":
            yield from (((table, grade, "title"), grade) for grade in book.grades)
            continue
        if table == "shop":
            yield from (((table, setting, "text"), getattr(book.shop, setting)) for setting in SHOP_TEXTS)
            continue
        for key, row in getattr(book, FIELDS.get(table, table)).items():
            yield from (((table, key, column), getattr(row, column)) for column in columns)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_text_is_told(name: str, language: str) -> None:
    """Each title, caution, tool, and none that is not there any more."""
    book = demo(name)
    assert list(book.translations[language]) == [place for place, _ in texts(book)]


@pytest.mark.parametrize("language", LANGUAGES)
def test_figures_and_models_are_told_as_they_are(name: str, language: str) -> None:
    """A temperature that is lost or a model that is translated would mislead the bench."""
    book = demo(name)
    for place, text in texts(book):
        told, kept = book.translations[language][place], re.findall(r"\d+ °[CF]|\d+(?= mm)", text)
        if place[0] == "parts":
            kept = [book.devices[device].model.partition(" ")[0] for device in book.parts[place[1]].devices]
        assert [each for each in kept if each not in told] == [], place


def test_the_languages_are_those_that_the_program_speaks(name: str) -> None:
    """English is the books' own."""
    assert sorted(demo(name).translations) == sorted(LANGUAGES)
    assert demo(name).locale.startswith("en-")


def test_every_caution_has_words_for_the_customer(name: str) -> None:
    """Other than those for the bench, and to somebody."""
    for caution in demo(name).cautions.values():
        assert caution.customer not in ("", caution.text)
        assert re.search(r"\b([Yy]ou|[Yy]our|We|[Ww]e)\b", caution.customer), caution.code


def test_devices_have_a_year_parts_a_condition_and_tapes_a_width(name: str) -> None:
    """A part that comes out of another device is never called new."""
    book = demo(name)
    assert all(device.year for device in book.devices.values())
    assert {(part.grade, part.condition) for part in book.parts.values()} == {
        ("genuine", "new"),
        ("compatible", "new"),
        ("reclaimed", "refurbished"),
        ("reclaimed", "used"),
    }
    assert all((item.width_mm is not None) == (item.unit == "m") for item in book.consumables.values())


def test_steps_at_the_bench_name_their_tools(name: str) -> None:
    """All but those that are done with words, with the device itself, or in its software."""
    without = {step.code for step in demo(name).steps.values() if not step.tools}
    assert without == {"backup-notice", "power-down", "pair-part"}
