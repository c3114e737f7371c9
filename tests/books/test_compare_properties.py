"""Comparing books that are drawn at random: it must agree with their digests, whatever they are."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import permutations
from re import fullmatch
from typing import Any

from builders import a_part, a_raw_book, a_row
from engine.random_books import tables
from hypothesis import given, settings
from hypothesis import strategies as st

from quoter.books.check import flaws_of
from quoter.books.compare import compare, summary
from quoter.books.compile import digest
from quoter.books.raw import RawBook, RawRow
from quoter.books.reading import read

LOW, MIDDLE, HIGH = {"upto": 20, "rate": "0.5"}, {"upto": 80, "rate": "0.3"}, {"rate": "0.1"}
RATE_2020, RATE_2024 = ("VAT", "0.20", "2020-01-01"), ("VAT", "0.23", "2024-01-01")
EXEMPT = {"exempt": {"code": "std", "reason": "Exempt"}}
RULE = {"when": "any_part", "lines": ["labour", "bench"], "code": "std"}

WRITTEN: Mapping[str, tuple[str, ...]] = {
    "parts 0 cost": ("30", "30.0", "31"),
    "parts 0 freight": ("", "0", "0.00", "1"),
    "parts 1 saves": ("", "clean", "clean open", "open  clean"),
    "parts 1 failure_rate": ("", "0", "0.1", "0.10"),
    "findings 0 time_factor": ("", "1", "1.00", "1.5"),
    "findings 0 stops": ("", "yes"),
    "findings 1 replaces": ("", "clean:close", " clean:close "),
    "steps 3 dwell": ("", "0.0", "5"),
    "offers 0 difficulty": ("", "usual", "hard"),
    "difficulty 0 skill": ("generalist", " generalist", "Generalist"),
}
"""Cells of the small book, each with ways of writing one thing or another."""

SETTINGS: Mapping[str, tuple[str | None, ...]] = {
    "labour.bench_rate": ("0", "0.00", "3"),
    "locale": ("en-IE", "en-ie", "en-GB"),
    "shop.email": (None, "", "a@b.example"),
    "policy.price_ending.mode": (None, "none", "up"),
    "policy.price_ending.unit": (None, "1", "1.0", "5"),
}
FINDINGS = ("bent", "wet", "scratched")
BANDS = ([{"rate": 0}], [{"rate": "0.0"}], [LOW, HIGH], [LOW, MIDDLE, HIGH], [MIDDLE, HIGH])
RATES = ([("VAT", "0.2", "2000-01-01")], [("VAT", "0.20", "2000-01-01")], [RATE_2020, RATE_2024], [RATE_2024])
CODES = ({}, {"red": "0.1"}, {"red": []})
RULES = ((), [RULE], [RULE, RULE], [RULE | {"above": "0.5"}])
CUSTOMERS = (None, {}, EXEMPT, {"exempt": {"code": "std", "reason": " Exempt"}}, {"exempt": {"code": "std"}})
FX = ({}, {"USD": "0.9"}, {"GBP": "1", "USD": "0.90"}, {"USD": "0.9", "GBP": "1.0"})


CHOICES: Mapping[str, tuple[Any, ...]] = {
    **WRITTEN,
    **SETTINGS,
    "order": (*permutations(FINDINGS),),
    "cautions": (("a", "b"), ("b", "a"), ("a",), ("a", "c", "b"), ()),
    "markup": BANDS,
    "rates": RATES,
    "codes": CODES,
    "reclass": RULES,
    "customers": CUSTOMERS,
    "fx": FX,
    "cash_increment": (None, "0.05", "0.050"),
    "combined": (False, True),
}
"""Everything that may differ between two of the books below, by name."""


def book_of(chosen: Mapping[str, Any]) -> RawBook:
    """A valid book in which all of that is chosen."""
    tax = {name: chosen[name] for name in ("cash_increment", "customers") if chosen[name] is not None}
    book = a_raw_book(
        settings={key: chosen[key] for key in SETTINGS if chosen[key] is not None},
        markup=chosen["markup"],
        fx=chosen["fx"],
        tax={
            **tax,
            "rates": {"std": chosen["rates"], **chosen["codes"]},
            "reclass": chosen["reclass"],
            "combined": chosen["combined"],
        },
        findings=[a_row(code) for code in chosen["order"]],
        cautions=[a_row(code) for code in chosen["cautions"]],
        parts=[a_part("B1", cost=30), a_part("P1", slot="port", cost=8)],
    )
    rows = {name: [dict(row.cells) for row in book.tables[name]] for name in book.tables}
    for place, text in ((place, chosen[place]) for place in WRITTEN):
        table, number, column = place.split()
        rows[table][int(number)][column] = text
    tables = {name: tuple(RawRow(at, cells) for at, cells in enumerate(each, 2)) for name, each in rows.items()}
    return replace(book, tables=tables)


@st.composite
def pairs(draw: Any) -> tuple[RawBook, RawBook]:
    """Two valid books that are written differently in one to three respects, and may say the same all the same."""
    old = {name: draw(st.sampled_from(values)) for name, values in CHOICES.items()}
    edited = draw(st.lists(st.sampled_from(sorted(CHOICES)), min_size=1, max_size=3, unique=True))
    others = {name: [value for value in CHOICES[name] if value != old[name]] for name in edited}
    return book_of(old), book_of({**old, **{name: draw(st.sampled_from(values)) for name, values in others.items()}})


@settings(max_examples=200)
@given(pairs())
def test_two_books_differ_exactly_if_their_digests_do(books: tuple[RawBook, RawBook]):
    """Nothing that the digest sees is missed, and nothing is called a change that it does not see."""
    old, new = map(read, books)
    assert flaws_of(old) == flaws_of(new) == []
    assert (compare(*books) == ()) == (digest(old) == digest(new))


@given(pairs())
def test_a_comparison_the_other_way_round_mirrors_it(books: tuple[RawBook, RawBook]):
    """What was added is removed, what changed changes back."""
    there, back = (summary(compare(*each)) for each in (books, books[::-1]))
    assert (there["added"], there["removed"], there["changed"]) == (back["removed"], back["added"], back["changed"])
    assert there["moved"] == back["moved"]


@given(tables(), tables())
def test_any_two_books_differ_exactly_if_their_digests_do(one: dict[str, Any], other: dict[str, Any]):
    """Books that have hardly anything in common, and each with itself."""
    old, new = a_raw_book(**one), a_raw_book(**other)
    assert (compare(old, new) == ()) == (digest(read(old)) == digest(read(new)))
    assert compare(old, a_raw_book(**one)) == ()


def rewritten(value: Any) -> Any:
    """The same in another hand: a zero more after a decimal point, and spaces around."""
    if isinstance(value, Mapping):
        return {name: rewritten(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [rewritten(inner) for inner in value]
    if isinstance(value, str) and fullmatch(r"\d+\.\d{1,5}", value):
        value += "0"
    return f" {value} " if isinstance(value, str) else value


@given(tables())
def test_a_book_that_is_written_otherwise_throughout_differs_in_nothing(drawn: dict[str, Any]):
    """Every cell and every setting but the lists of words, which have no other way to be written."""
    old = a_raw_book(**{**drawn, "tax": drawn["tax"] | {"reclass": []}})
    rows = {name: tuple(RawRow(row.number, rewritten(row.cells)) for row in old.tables[name]) for name in old.tables}
    new = RawBook(rewritten(old.settings), rows, rewritten(old.tax))
    assert old != new
    assert compare(old, new) == ()
    assert digest(read(old)) == digest(read(new))
