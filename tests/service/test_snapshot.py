"""A quote as plain data: what the bench is told, and the texts of the book in its other languages."""

from typing import Any

import orjson
import pytest
from builders import PORT, a_book, a_part, a_row, a_step, quoted, use

from quoter.book import RateBook
from quoter.service.quotes.snapshot import snapshot

STEPS = (
    a_step("open", 5, tools="heating mat, thin card", caution="hot"),
    a_step("fit-battery", 10, needs="open", slot="battery"),
    a_step("fit-port", 20, needs="open", slot="port"),
    a_step("clean", 7, needs="open"),
    a_step("close", 3, needs="open"),
)


def told(table: str, key: str, column: str, language: str, text: str) -> dict[str, str]:
    """A row of translations.csv."""
    return {"table": table, "key": key, "column": column, "language": language, "text": text}


GERMAN = {
    ("procedures", "battery", "title"): "Akku",
    ("procedures", "port", "title"): "Ladebuchse",
    ("steps", "open", "title"): "Abdeckung abnehmen",
    ("steps", "clean", "title"): "Reinigen",
    ("tools", "heating mat", "name"): "Heizmatte",
    ("parts", "B1", "title"): "Akku für Schiefer",
    ("findings", "bent", "title"): "Verbogen",
    ("findings", "wet", "title"): "Nass",
    ("cautions", "cell", "text"): "Nicht drücken",
    ("warranty", "year", "title"): "Ein Jahr",
    ("cautions", "hot", "text"): "Die Matte ist heiß",
    ("cautions", "hot", "customer"): "Ihr Gerät wird warm",
    ("consumables", "tape", "title"): "Klebeband",
}


@pytest.fixture(scope="module")
def book() -> RateBook:
    """The small book with something of everything that is told in another language."""
    return a_book(
        steps=STEPS,
        procedures=[
            a_row("battery", slot="battery", goals="fit-battery close", warranty="year"),
            a_row("port", slot="port", goals="fit-port close"),
        ],
        parts=[a_part("B1", cost=30, condition="new"), PORT],
        consumables=[a_row("tape", unit="m", width_mm=5, waste="0.2"), a_row("wipe")],
        usage=[use("open", "tape", basis="long_sides"), use("close", "wipe", quantity=2)],
        findings=[a_row("bent", caution="cell"), a_row("wet", emerges="yes")],
        warranty=[a_row("year")],
        cautions=[
            a_row("hot", text="The mat is hot", customer="Your device gets warm"),
            a_row("cell", text="Do not press"),
        ],
        translations=[
            *(told(*place, "de", text) for place, text in GERMAN.items()),
            told("procedures", "battery", "title", "de-AT", "Batterie"),
            told("procedures", "battery", "title", "fr", "Pile"),
        ],
    )


@pytest.fixture(scope="module")
def result(book: RateBook) -> Any:
    """A battery for a bent slate."""
    return snapshot(quoted(book, findings=["bent"]), book)


def test_the_bench_is_told_its_tools(result: Any) -> None:
    """At each step."""
    assert {step["step"]: step["tools"] for step in result["plan"]} == {
        "open": ["heating mat", "thin card"],
        "fit-battery": [],
        "close": [],
    }


def test_the_bench_is_told_what_to_lay_out(result: Any) -> None:
    """2 × (150 − 20) mm ÷ (1 − 0.2) is 0.325 m of tape, of which two strips are cut."""
    assert result["consumption"] == [
        {"consumable": "tape", "title": "tape", "unit": "m", "needed": "0.325", "billed": "0.325"},
        {"consumable": "wipe", "title": "wipe", "unit": "each", "needed": "2", "billed": "2"},
    ]
    piece = {"step": "open", "basis": "long_sides", "count": 2, "length_mm": "130"}
    assert result["cuts"] == [{"consumable": "tape", "title": "tape", "width_mm": "5", "pieces": [piece]}]


def test_the_bench_is_told_which_parts_it_fits(result: Any) -> None:
    """With what they are sold as."""
    part = {"sku": "B1", "title": "B1", "slot": "battery", "grade": "genuine", "condition": "new", "quantity": "1"}
    assert result["parts"] == [part]


def test_a_caution_has_words_for_the_customer(book: RateBook, result: Any) -> None:
    """Where the book has none, those for the bench."""
    caution = {"code": "hot", "text": "The mat is hot", "customer": "Your device gets warm", "source": ""}
    pressing = {"code": "cell", "text": "Do not press", "customer": "Do not press", "source": ""}
    assert result["cautions"] == [caution, pressing]
    bare = a_book(steps=STEPS, cautions=[a_row("hot", text="The mat is hot")])
    assert snapshot(quoted(bare), bare)["cautions"] == [caution | {"customer": "The mat is hot"}]


def test_a_quote_has_the_texts_that_it_uses_in_every_language(result: Any) -> None:
    """By what the book says in its own language, and no texts of other jobs."""
    assert result["translations"]["de"] == {
        "battery": "Akku",
        "open": "Abdeckung abnehmen",
        "heating mat": "Heizmatte",
        "B1": "Akku für Schiefer",
        "bent": "Verbogen",
        "Do not press": "Nicht drücken",
        "wet": "Nass",
        "year": "Ein Jahr",
        "The mat is hot": "Die Matte ist heiß",
        "Your device gets warm": "Ihr Gerät wird warm",
        "tape": "Klebeband",
    }


def test_a_narrower_language_has_what_the_wider_one_says_beside_its_own(result: Any) -> None:
    """So that whoever shows the quote in Austria asks de-AT alone; French has one text."""
    translations = result["translations"]
    assert translations["de-AT"] == translations["de"] | {"battery": "Batterie"}
    assert translations["fr"] == {"battery": "Pile"}


def test_a_book_without_translations_has_none() -> None:
    """And its quotes are as small as before."""
    book = a_book()
    assert snapshot(quoted(book), book)["translations"] == {}


def test_a_snapshot_is_plain_data_and_the_same_twice(book: RateBook, result: Any) -> None:
    """To the byte, also where the book remembers."""
    assert orjson.dumps(snapshot(quoted(book, findings=["bent"]), book)) == orjson.dumps(result)
