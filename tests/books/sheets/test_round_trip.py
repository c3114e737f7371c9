"""A book is the same book after it has been through a file: to the byte of its digest, and to the letter."""

import tomllib
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from books.sheets.made import DEMO_BOOKS, ROOT, demo_book, small_book, with_rows
from quoter.books.compare import compare
from quoter.books.compile import compiled
from quoter.books.load import read_folder
from quoter.books.raw import RawBook
from quoter.books.sheets.archive import from_zip, to_zip
from quoter.books.sheets.workbook import from_xlsx, to_xlsx

Trip = Callable[[RawBook], RawBook]


def through_zip(raw: RawBook) -> RawBook:
    """Exported as a zip file and imported."""
    return from_zip(to_zip(raw))


def through_xlsx(raw: RawBook) -> RawBook:
    """Exported as a workbook and imported."""
    return from_xlsx(to_xlsx(raw))


TRIPS = [pytest.param(through_zip, id="zip"), pytest.param(through_xlsx, id="xlsx")]


@pytest.mark.parametrize("trip", TRIPS)
@pytest.mark.parametrize("name", DEMO_BOOKS)
def test_a_demo_book_comes_back_to_the_letter(name: str, trip: Trip) -> None:
    """Every cell, 20.50 and not 20.5; therefore the digest too."""
    raw = demo_book(name)
    assert trip(raw) == raw
    assert compiled(trip(raw)).digest == compiled(raw).digest


@pytest.mark.parametrize("trip", TRIPS)
@pytest.mark.parametrize("name", ["random-1", "random-3", "random-4", "random-9"])
def test_a_random_book_comes_back_with_its_digest(name: str, trip: Trip) -> None:
    """The books of the worked cases have settings that are there and blank; those may be gone."""
    raw = read_folder(ROOT / "shared" / name / "books" / "b")
    back = trip(raw)
    assert compiled(back).digest == compiled(raw).digest
    assert (back.tables, back.tax, compare(raw, back)) == (raw.tables, raw.tax, ())


@pytest.mark.parametrize("trip", TRIPS)
@pytest.mark.parametrize("profile", sorted(path.stem for path in (ROOT / "rates" / "tax").glob("*.toml")))
def test_a_tax_profile_comes_back_to_the_letter(profile: str, trip: Trip) -> None:
    """Of every country: components by day, kinds of customer, lines that change with the job."""
    tax = tomllib.loads((ROOT / "rates" / "tax" / f"{profile}.toml").read_text())
    raw = replace(small_book(), settings={**small_book().settings, "tax_profile": profile}, tax=tax)
    assert trip(raw) == raw


STARTS = st.sampled_from(["", "=", "+", "-", "@", "\t", "\r", "'", "''=", "00", "_x0041_", "_x0041", "#REF!", "1e5"])
CELLS = st.builds(
    str.__add__, STARTS, st.text(max_size=12) | st.text(alphabet="'\"=,;\r\n\t _x05F@0\x07\ufffe\\", max_size=12)
)


@settings(max_examples=25)
@given(st.lists(CELLS, min_size=1, max_size=60))
def test_every_text_comes_back_to_the_letter_from_a_workbook(texts: list[str]) -> None:
    """Without the white space around it, which is no part of a cell; lone surrogates and control characters too."""
    raw = with_rows(small_book(), "cautions", [{"code": "c", "text": text, "source": text} for text in texts])
    back = through_xlsx(raw)
    assert not back.flaws
    assert [row.cells["text"] for row in back.tables["cautions"]] == [text.strip() for text in texts]


@settings(max_examples=25)
@given(st.lists(CELLS.filter(lambda text: "\0" not in text), min_size=1, max_size=60))
def test_every_text_comes_back_to_the_letter_from_a_zip_file(texts: list[str]) -> None:
    """All that a text file can hold."""
    raw = with_rows(small_book(), "cautions", [{"code": "c", "text": text, "source": text} for text in texts])
    back = through_zip(raw)
    assert not back.flaws
    assert [row.cells["source"] for row in back.tables["cautions"]] == [text.strip() for text in texts]


NUMBERS = st.from_regex(r"-?[0-9]{1,12}(\.[0-9]{1,16})?", fullmatch=True) | st.decimals(
    0, 10**9, places=4, allow_nan=False
).map(str)


@settings(max_examples=25)
@given(st.lists(NUMBERS, min_size=1, max_size=60))
def test_every_number_comes_back_to_the_letter(numbers: list[str]) -> None:
    """0.10 as 0.10, 007 as 007, and all digits of one that is too long for a spreadsheet."""
    raw = with_rows(small_book(), "menu", [{"device": "slate", "procedure": "clean", "net": each} for each in numbers])
    for back in (through_xlsx(raw), through_zip(raw)):
        assert not back.flaws
        assert [row.cells["net"] for row in back.tables["menu"]] == numbers


NAMES = st.text(alphabet=st.characters(blacklist_categories=["Cs"], blacklist_characters='"\0'), min_size=1, max_size=8)
VALUES = st.text(alphabet=st.characters(blacklist_categories=["Cs"]), max_size=12).map(str.strip).filter(bool)


@settings(max_examples=25)
@given(
    st.fixed_dictionaries(
        {"title": VALUES, "source": VALUES, "combined": st.booleans()},
        optional={
            "cash_increment": st.sampled_from(["0.05", "1", "0.050", ".5", "x"]),
            "codes": st.dictionaries(
                NAMES.filter(lambda name: name.strip() == name),
                st.fixed_dictionaries(
                    {"components": st.lists(st.fixed_dictionaries({"name": VALUES, "rate": VALUES}), max_size=3)}
                ),
                min_size=1,
                max_size=3,
            ),
            "reclass": st.lists(
                st.fixed_dictionaries({"when": VALUES, "lines": st.just(["labour", "bench"])}), min_size=1
            ),
        },
    )
)
def test_settings_come_back_whatever_they_say(tax: dict[str, Any]) -> None:
    """Names with points and spaces, texts of all kinds, lists and yes and no."""
    raw = replace(small_book(), tax=tax)
    assert through_zip(raw).tax == tax
    assert through_xlsx(raw).tax == tax
