"""What a number in another notation probably means, and what a misspelt word was probably meant to be."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoter.books import suggest
from quoter.books.numerals import meant
from quoter.books.suggest import Suggestions, closest

NUMBERS = [
    ("1,5", ("1.5",), "decimal comma"),
    ("1,234", ("1.234", "1234"), "comma before three digits: either"),
    ("0,125", ("0.125",), "comma after a zero: decimal"),
    ("1.234,56", ("1234.56",), "German"),
    ("1,234.56", ("1234.56",), "English"),
    ("1.234.567", ("1234567",), "points for thousands"),
    ("1,234,567.8", ("1234567.8",), "commas for thousands"),
    ("1 234,5", ("1234.5",), "French: a space for thousands"),
    ("1\u202f234,5", ("1234.5",), "French: a narrow space that does not break"),
    ("1’234.50", ("1234.50",), "Swiss"),
    ("1_000", ("1000",), "as programs have it"),
    ("1e5", ("100000",), "scientific"),
    ("1.5E-3", ("0.0015",), "scientific, small"),
    (".5", ("0.5",), "nothing before the point"),
    ("5.", ("5",), "nothing after it"),
    ("+5", ("5",), "a plus"),
    ("−5", ("-5",), "a true minus, U+2212"),
    ("20%", ("0.2",), "percent"),
    ("20 %", ("0.2",), "percent with a space"),
    ("12,5 %", ("0.125",), "percent with a comma"),
    ("$5", ("5",), "a currency sign before"),
    ("5,00 €", ("5.00",), "a currency sign after"),
    ("١٢٫٥", ("12.5",), "Arabic digits and decimal sign"),
    ("१२", ("12",), "Devanagari digits"),
    ("１２．５", (), "a full-width point is no point"),
    ("", (), "nothing"),
    ("five", (), "a word"),
    ("5 EUR", (), "a code of a currency"),
    ("1,2,3,4.5.6", (), "no notation has this"),
    ("NaN", (), "no number by its own account"),
    ("Infinity", (), "no number to count with"),
    ("1e400", (), "larger than any price"),
    ("1e9999999999999999999", (), "larger than any number"),
    ("9" * 41, (), "longer than anybody writes"),
]


@pytest.mark.parametrize(("cell", "numbers"), [pytest.param(*case[:2], id=case[2]) for case in NUMBERS])
def test_a_number_in_another_notation(cell: str, numbers: tuple[str, ...]):
    """The notations of CLDR's larger locales."""
    assert meant(cell) == numbers


@given(st.text(alphabet="0123456789.,-+eE% '’_€٣٫²Ⅷ\u202fNaInf", max_size=42))
def test_whatever_stands_in_a_cell_the_guess_is_a_plain_number_or_none(cell: str):
    """Digits, a point and a minus."""
    for number in meant(cell):
        assert set(number) <= set("0123456789.-")


@pytest.mark.parametrize(
    ("word", "known", "suggestion"),
    [
        ("batery", ["battery", "screen"], "perhaps battery"),
        ("LCD", ["lcd", "lid"], "perhaps lcd"),
        ("Straße", ["strasse"], "perhaps strasse"),
        ("port", ["screen", "seal"], ""),
        ("port", [], ""),
        ("x" * 65, ["x" * 64], ""),
        ("a", ["", None], ""),
    ],
)
def test_the_nearest_word_is_suggested(word: str, known: list[str | None], suggestion: str):
    """By letters, or by the word in another case; blanks are no words."""
    assert closest(word, known) == suggestion


def test_a_long_list_is_searched_for_the_first_words_only(monkeypatch: pytest.MonkeyPatch):
    """Two searches of three words are all that five comparisons allow, but another case is always known."""
    monkeypatch.setattr(suggest, "COMPARISONS", 6)
    words = Suggestions(["battery", "screen", "seal"])
    assert [words.nearest(word) for word in ("batery", "scren")] == ["battery", "screen"]
    assert [words.nearest(word) for word in ("seel", "batery", "SEAL")] == ["", "battery", "seal"]
    assert words.perhaps("seel", "a slot") == "a slot"
