"""A TOML document as lines and back."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoter.books.flat import flat, nested, segments
from quoter.books.load import read_folder


@pytest.mark.parametrize(
    ("key", "steps"),
    [
        ("code", [("code", None)]),
        ("labour.bench_rate", [("labour", None), ("bench_rate", None)]),
        ("parts.markup 1.rate", [("parts", None), ("markup", 1), ("rate", None)]),
        ('codes."A.B c".rate', [("codes", None), ("A.B c", None), ("rate", None)]),
        ('"a b" 2.c', [("a b", 2), ("c", None)]),
        ("é.電", [("é", None), ("電", None)]),
        *(
            (wrong, [])
            for wrong in ("", ".", "a.", ".a", "a..b", "a b", "a 0.b", "a 10000.b", '"a', 'a"b', '""', " a", "a ")
        ),
    ],
)
def test_a_key_is_read_as_the_names_that_lead_to_a_value(key: str, steps: list[Any]):
    """With its place in a list; what is no key has none."""
    assert segments(key) == steps


@pytest.mark.parametrize(
    ("lines", "document"),
    [
        ({}, {}),
        ({"a": "1", "a.b": "2"}, {"a": "1"}),
        ({"a.b": "2", "a": "1"}, {"a": {"b": "2"}}),
        ({"a 2.b": "x"}, {"a": [{}, {"b": "x"}]}),
        ({"a 1": "x"}, {}),
        ({"a..b": "x"}, {}),
        ({"a": "1", '"a"': "2"}, {"a": "1"}),
        (
            {"combined": "true", "reclass 1.lines": "part  labour"},
            {"combined": True, "reclass": [{"lines": ["part", "labour"]}]},
        ),
        (
            {"combined": "perhaps", "codes.x.components": ""},
            {"combined": "perhaps", "codes": {"x": {"components": []}}},
        ),
    ],
)
def test_lines_make_a_document(lines: dict[str, str], document: dict[str, Any]):
    """A key that contradicts an earlier one is left out."""
    assert nested(lines) == document


NAMES = st.text("ab.é 1", min_size=1, max_size=4).filter(str.strip)
DOCUMENTS = st.recursive(
    st.text(max_size=5), lambda inner: st.dictionaries(NAMES, inner, min_size=1, max_size=3), max_leaves=8
)


@given(st.dictionaries(NAMES, DOCUMENTS, max_size=4))
def test_a_document_of_texts_comes_back_as_it_was(document: dict[str, Any]):
    """Whatever dots and spaces are in its keys."""
    assert nested(flat(document)) == document


def test_an_empty_list_of_tables_is_no_line():
    """There is nothing in it to set; an empty list of words is a line."""
    assert flat({"reclass": [], "codes": {"x": {"components": []}}}) == {"codes.x.components": ""}


@pytest.mark.parametrize("book", ["ballyquarn", "peddrick-mills"])
def test_the_settings_of_the_demo_books_come_back_as_text(book: str):
    """Line for line, and every key is one."""
    from pathlib import Path

    raw = read_folder(Path(__file__).parents[2] / "rates" / book)
    for document in (raw.settings, raw.tax):
        lines = flat(document)
        assert flat(nested(lines)) == lines
        assert all(segments(key) for key in lines)
