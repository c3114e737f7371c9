"""Devices are found by what somebody types with one hand while a customer talks."""

from dataclasses import replace
from pathlib import Path

import pytest

from quoter.book import Memory, RateBook
from quoter.books.compile import compiled
from quoter.books.load import read_folder
from quoter.service.rates.devices import devices_matching

RATES = Path(__file__).parents[2] / "rates"


@pytest.fixture(scope="module")
def book() -> RateBook:
    """The demonstration book."""
    return compiled(read_folder(RATES / "ballyquarn"))


def found(words: str, book: RateBook, kind: str | None = None) -> list[str]:
    """The codes, the best match first."""
    return [device.code for device in devices_matching(words, kind, book)]


def renamed(book: RateBook, **models: str) -> RateBook:
    """The book with devices of other models."""
    devices = {
        code: replace(device, model=models.get(code.replace("-", "_"), device.model))
        for code, device in book.devices.items()
    }
    return replace(book, devices=devices, memory=Memory())


@pytest.mark.parametrize(
    ("words", "best"),
    [
        ("kessoway 5", "kessoway-5"),
        ("5 kess", "kessoway-5"),
        ("kessoway5", "kessoway-5"),
        ("kessoway-5-long", "kessoway-5-long"),
        ("LONG", "kessoway-5-long"),
        ("quellimar dial", "kessoway-dial"),
        ("slab8", "dunnec-slab-8"),
        ("sheet tolv 13", "tolvarn-sheet-13"),
        ("wear brunthel str", "jelluth-strap"),
        ("dial 2020", "kessoway-dial"),
    ],
)
def test_a_few_letters_of_some_words_will_do(book: RateBook, words: str, best: str) -> None:
    """In any order, unfinished, run together, in capitals."""
    assert found(words, book)[0] == best


@pytest.mark.parametrize(
    ("words", "best"),
    [
        ("kesoway 5", "kessoway-5"),  # a letter left out
        ("kessoway 55", "kessoway-5"),  # one too many
        ("kessowya 4", "kessoway-4"),  # two changed places
        ("jellutg r2", "jelluth-r2"),  # one beside the right one
        ("xunnec slab 11", "dunnec-slab-11"),  # the first of all
        ("shet 13", "tolvarn-sheet-13"),
        ("brumt stra", "jelluth-strap"),  # neither finished nor right
        ("quelimmar dial", "kessoway-dial"),
    ],
)
def test_a_slip_is_forgiven(book: RateBook, words: str, best: str) -> None:
    """The best match is still the first."""
    assert found(words, book)[0] == best


def test_one_slip_never_leaves_nothing(book: RateBook) -> None:
    """Every letter of every model, one at a time: left out, doubled, another one."""
    for code, device in book.devices.items():
        for at, letter in enumerate(device.model):
            if not letter.isalpha():
                continue  # another number is another device
            for slip in ("", letter * 2, "x"):
                typed = device.model[:at] + slip + device.model[at + 1 :]
                assert code in found(typed, book), typed


def test_what_is_written_counts_before_what_is_alike(book: RateBook) -> None:
    """A whole word, then one that begins so, then one with it inside; a misspelling only where it must."""
    other = renamed(book, dunnec_20="Slab", tolvarn_1="Slabber", tolvarn_2="Overslab", jelluth_r="Slob")
    assert found("slab", other) == ["dunnec-20", "dunnec-slab-8", "dunnec-slab-11", "tolvarn-1", "tolvarn-2"]


def test_equals_stand_in_the_owners_order(book: RateBook) -> None:
    """Which is the order of the table."""
    assert found("tablet", book) == ["dunnec-slab-8", "dunnec-slab-11", "tolvarn-sheet-10", "tolvarn-sheet-13"]
    assert found("", book) == list(book.devices)


@pytest.mark.parametrize("words", ["element", "ÉLÉMENT", "e\u0301le\u0301ment", "elément zwo"])
def test_accents_make_no_difference(book: RateBook, words: str) -> None:
    """Neither those in the book nor those that are typed, however they are encoded."""
    assert found(words, renamed(book, tolvarn_2="Élément Zwø"))[0] == "tolvarn-2"


def test_a_word_too_many_does_not_hide_the_device(book: RateBook) -> None:
    """Those that have most of the words are meant."""
    assert found("dunnec pocket blue", book) == ["dunnec-pocket"]


def test_what_is_like_nothing_finds_nothing(book: RateBook) -> None:
    """A list of everything would say that it had been understood."""
    assert found("zzzz qqqq", book) == []
    assert found("dial", book, "tablet") == []


def test_a_long_text_is_no_burden(book: RateBook) -> None:
    """Words after the first few are ignored."""
    assert found("kessoway 5 " + " ".join(f"zz{number}" for number in range(60)), book)[0] == "kessoway-5"
