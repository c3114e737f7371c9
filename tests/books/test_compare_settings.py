"""What differs between book.toml and the tax profile of two books. Expected changes are by hand."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from builders import a_raw_book

from quoter.books.compare import Change, compare

TAX = "tax/plain.toml"


def changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[tuple[str, str, str, str, str | None, str | None]]:
    """The differences between two small books, each as a plain tuple; `a_raw_book` explains what is given."""
    found = compare(a_raw_book(**old), a_raw_book(**new))
    return [(each.table, each.key, each.column, each.kind, each.old, each.new) for each in found]


# book.toml


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ({"locale": "en-IE"}, {"locale": "en-ie"}),
        ({"labour.bench_rate": "3"}, {"labour.bench_rate": "3.00"}),
        ({}, {"policy.price_ending.mode": "none", "policy.price_ending.unit": "1.0"}),
        ({}, {"shop.email": ""}),
        ({"title": "Small book"}, {"title": " Small book "}),
    ],
)
def test_a_setting_that_is_written_differently_is_not_changed(old: Mapping[str, str], new: Mapping[str, str]):
    """As with cells: numbers, defaults and spaces, and the letters of a language tag."""
    assert changes({"settings": old}, {"settings": new}) == []


@pytest.mark.parametrize(
    ("old", "new", "change"),
    [
        ({}, {"labour.bench_rate": "3.50"}, ("labour.bench_rate", "changed", "0", "3.50")),
        ({}, {"shop.email": "a@b.example"}, ("shop.email", "added", None, "a@b.example")),
        ({"policy.price_ending.mode": "up"}, {}, ("policy.price_ending.mode", "removed", "up", None)),
        ({}, {"labour.brench_rate": "3"}, ("labour.brench_rate", "added", None, "3")),
        ({}, {"title": "Small books"}, ("title", "changed", "Small book", "Small books")),
    ],
)
def test_a_changed_setting_is_one_change_at_its_dotted_key(
    old: Mapping[str, str], new: Mapping[str, str], change: tuple[str, str, str | None, str | None]
):
    """Known or not: a misspelt key is in the draft, too."""
    key, kind, before, after = change
    assert changes({"settings": old}, {"settings": new}) == [("book.toml", key, "", kind, before, after)]


ZERO, LOW, MIDDLE, HIGH = (
    {"upto": 5, "rate": 1},
    {"upto": 20, "rate": "0.5"},
    {"upto": 80, "rate": "0.3"},
    {"rate": "0.1"},
)


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ([LOW, HIGH], [LOW, {"rate": "0.10"}], []),
        ([LOW, HIGH], [LOW, {"rate": "0.2"}], [("parts.markup 2.rate", "changed", "0.1", "0.2")]),
        ([LOW, HIGH], [LOW, MIDDLE, HIGH], [("parts.markup 2", "added", None, "upto 80, rate 0.3")]),
        ([MIDDLE, HIGH], [LOW, MIDDLE, HIGH], [("parts.markup 1", "added", None, "upto 20, rate 0.5")]),
        ([LOW, MIDDLE, HIGH], [ZERO, LOW, MIDDLE, HIGH], [("parts.markup 1", "added", None, "upto 5, rate 1")]),
        ([ZERO, LOW, HIGH], [ZERO, HIGH], [("parts.markup 2", "removed", "upto 20, rate 0.5", None)]),
        ([LOW, MIDDLE, HIGH], [LOW, HIGH], [("parts.markup 2", "removed", "upto 80, rate 0.3", None)]),
        ([LOW, HIGH], [LOW | {"upto": 25}, HIGH], [("parts.markup 1.upto", "changed", "20", "25")]),
        ([LOW, HIGH], [LOW, {"upto": 90, "rate": "0.1"}], [("parts.markup 2.upto", "added", None, "90")]),
        (
            [LOW, HIGH],
            [LOW, MIDDLE, HIGH | {"rate": 0}],
            [
                ("parts.markup 2.rate", "changed", "0.1", "0.3"),
                ("parts.markup 2.upto", "added", None, "80"),
                ("parts.markup 3", "added", None, "rate 0"),
            ],
        ),
    ],
)
def test_bands_of_markup_are_compared_as_bands(old: list[Any], new: list[Any], expected: list[Any]):
    """One that is put in between does not change those above it."""
    found = [(key, *rest) for _, key, _, *rest in changes({"markup": old}, {"markup": new})]
    assert found == expected


def test_exchange_rates_come_go_and_change():
    """Each is a line of its own; their order says nothing."""
    old, new = {"USD": "0.9", "GBP": "1.1", "JPY": "0.006"}, {"JPY": "0.0060", "CHF": "1.05", "USD": "0.92"}
    assert changes({"fx": old}, {"fx": new}) == [
        ("book.toml", "fx.USD", "", "changed", "0.9", "0.92"),
        ("book.toml", "fx.GBP", "", "removed", "1.1", None),
        ("book.toml", "fx.CHF", "", "added", None, "1.05"),
    ]


# the tax profile


RATE_2020, RATE_2024 = ("VAT", "0.20", "2020-01-01"), ("VAT", "0.23", "2024-01-01")
EXEMPT = {"exempt": {"code": "std", "reason": "Exempt"}}
RULE = {"when": "any_part", "lines": ["labour", "bench"], "code": "std"}


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ({"mode": "half-up"}, {"mode": "up"}, [("mode", "changed", "half-up", "up")]),
        ({}, {"cash_increment": "0.05"}, [("cash_increment", "added", None, "0.05")]),
        ({}, {"cash_mode": "half-up"}, []),
        ({"combined": False}, {"combined": True}, [("combined", "changed", "false", "true")]),
        ({"rates": {"std": "0.2"}}, {"rates": {"std": "0.20"}}, []),
        (
            {"rates": {"std": [RATE_2020]}},
            {"rates": {"std": [RATE_2020, RATE_2024]}},
            [("codes.std.components 2", "added", None, "name VAT, rate 0.23, from 2024-01-01")],
        ),
        (
            {"rates": {"std": [RATE_2024]}},
            {"rates": {"std": [RATE_2020, RATE_2024]}},
            [("codes.std.components 1", "added", None, "name VAT, rate 0.20, from 2020-01-01")],
        ),
        (
            {"rates": {"std": [RATE_2020, RATE_2024]}},
            {"rates": {"std": [RATE_2020, ("VAT", "0.21", "2024-07-01")]}},
            [
                ("codes.std.components 2.rate", "changed", "0.23", "0.21"),
                ("codes.std.components 2.from", "changed", "2024-01-01", "2024-07-01"),
            ],
        ),
        (
            {},
            {"rates": {"std": "0.20", "a.b": []}},
            [('codes."a.b"', "added", None, "components []")],
        ),
        ({}, {"lines": {"part": "red"}}, [("lines.part", "changed", "std", "red")]),
        ({}, {"customers": EXEMPT}, [("customers.exempt", "added", None, "code std, reason Exempt")]),
        ({"customers": EXEMPT}, {}, [("customers.exempt", "removed", "code std, reason Exempt", None)]),
        (
            {"customers": EXEMPT},
            {"customers": {"exempt": {"code": "std"}}},
            [("customers.exempt.reason", "removed", "Exempt", None)],
        ),
        ({}, {"reclass": [RULE]}, [("reclass 1", "added", None, "when any_part, lines labour bench, code std")]),
        (
            {"reclass": [RULE]},
            {"reclass": [RULE | {"lines": ["labour"]}]},
            [("reclass 1.lines", "changed", "labour bench", "labour")],
        ),
        ({"reclass": [RULE]}, {"reclass": [RULE | {"above": "0"}]}, [("reclass 1.above", "added", None, "0")]),
    ],
)
def test_the_tax_profile_is_compared_with_all_that_is_nested_in_it(
    old: Mapping[str, Any], new: Mapping[str, Any], expected: list[Any]
):
    """Codes, components, kinds of line and customer, and rules, each at its dotted key in the profile's file."""
    found = changes({"tax": old}, {"tax": new})
    assert [(key, *rest) for _, key, _, *rest in found] == expected
    assert {(table, column) for table, _, column, *_ in found} <= {(TAX, "")}


def test_another_profile_is_compared_under_its_own_name():
    """The settings say that it is another one, the file what it says otherwise."""
    found = changes({}, {"settings": {"tax_profile": "other"}, "tax": {"mode": "up"}})
    assert found == [
        ("book.toml", "tax_profile", "", "changed", "plain", "other"),
        ("tax/other.toml", "mode", "", "changed", "half-up", "up"),
    ]


def test_a_draft_that_names_no_profile_is_compared_under_the_old_name():
    """What is gone was there."""
    book = a_raw_book()
    found = compare(book, replace(book, settings={}, tax={**book.tax, "mode": "up"}))
    assert found[-1] == Change(TAX, "mode", "", "changed", "half-up", "up")
