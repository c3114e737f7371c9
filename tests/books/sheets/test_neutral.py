"""What a spreadsheet would compute, and how it is kept from it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoter.books.sheets.neutral import is_formula_like, neutral, plain


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=1+1", "'=1+1"),
        ("+353 1 555", "'+353 1 555"),
        ("-A1", "'-A1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "'\t=1"),
        ("\rx", "'\rx"),
        ("\nx", "'\nx"),
        (" =1", "' =1"),
        ("＝1+1", "'＝1+1"),
        ("＋1", "'＋1"),
        ("－1", "'－1"),
        ("＠A", "'＠A"),
        ("-5-3", "'-5-3"),
        ("'=1", "''=1"),
        ("''@", "'''@"),
        ("-5", "-5"),
        ("-0.25", "-0.25"),
        ("'tis", "'tis"),
        ("'", "'"),
        ("5-3", "5-3"),
        ("a=b", "a=b"),
        ("", ""),
    ],
)
def test_what_would_be_computed_gets_an_apostrophe(cell: str, written: str) -> None:
    """Nothing else does, numbers below zero and apostrophes of one's own included."""
    assert neutral(cell) == written
    assert plain(written) == cell


@pytest.mark.parametrize(("cell", "meant"), [("'-5", "-5"), ("'+5", "+5"), ("'tis", "'tis"), ("'5", "'5")])
def test_an_apostrophe_that_a_person_put_there_goes_where_it_has_a_reason(cell: str, meant: str) -> None:
    """Somebody who knows spreadsheets writes '-5; an apostrophe before a word is a part of the word."""
    assert plain(cell) == meant


@given(st.text(alphabet="'=+-@\t\r\n 5.a＝", max_size=8) | st.text(max_size=20))
def test_no_cell_is_computed_and_each_comes_back(cell: str) -> None:
    """Whatever it begins with."""
    assert plain(neutral(cell)) == cell
    assert neutral(cell).startswith("'") or not is_formula_like(neutral(cell))
