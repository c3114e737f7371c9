"""Every problem at once: as many flaws as there are independent faults, no more and no fewer."""

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from books.conftest import Change, added, cell, files_with, replaced, saved, the_one, written
from quoter.books.check import MOST_IN_ONE_PLACE, flaws
from quoter.books.load import read_folder
from quoter.books.tables import TABLES
from quoter.problems import Flaw

FAULTS: tuple[tuple[str, Change], ...] = (
    ("book.toml, title", replaced("book.toml", 'title = "Small book"\n', "")),
    ("book.toml, labour.confidence", replaced("book.toml", 'confidence = "0.8"', 'confidence = "0,8"')),
    ("book.toml, policy.max_discont", replaced("book.toml", "max_discount", "max_discont")),
    ("book.toml, parts.markup 2.upto", replaced("book.toml", 'upto = "80"', 'upto = "8"')),
    ("difficulty 2, hourly_rate", cell("difficulty", 2, "hourly_rate", "x")),
    ("devices 3, corner_mm", cell("devices", 3, "corner_mm", "21")),
    ("procedures 3, goals", cell("procedures", 3, "goals", "fit-screen clos")),
    ("offers 3, extra_steps", cell("offers", 3, "extra_steps", "wram")),
    ("steps 2, low", cell("steps", 2, "low", "")),
    ("steps 4, likely", cell("steps", 4, "likely", "1")),
    ("usage 3, basis", cell("usage", 3, "basis", "eech")),
    ("consumables 2, pack_size", cell("consumables", 2, "pack_size", "0")),
    ("parts 2, devices", cell("parts", 2, "devices", "slate wrist tablet")),
    ("parts 3, currency", cell("parts", 3, "currency", "GBP")),
    ("parts 4, sku", cell("parts", 4, "sku", "S1")),
    ("menu 2, grade", cell("menu", 2, "grade", "golden")),
    ("findings 2, replaces", cell("findings", 2, "replaces", "warm:cold-open open=cold-open")),
    ("warranty 3, days", cell("warranty", 3, "days", "ninety")),
    ("cautions 2, text", cell("cautions", 2, "text", "")),
    ("tax/plain.toml, mode", replaced("tax/plain.toml", 'mode = "half-up"', 'mode = "half"')),
    ("tax/plain.toml, lines.bench", replaced("tax/plain.toml", 'bench = "standard"\n', "")),
    ("tax/plain.toml, codes.standard.components 2.from", replaced("tax/plain.toml", "2020-01-01", "2010-01-01")),
)
"""Where each is to be found, in the order of the files and rows."""

ORDER = {"book.toml": -1, "tax/plain.toml": len(TABLES)} | {table.name: place for place, table in enumerate(TABLES)}


def places(found: list[Flaw]) -> list[str]:
    """Where flaws are."""
    return [f"{flaw.table}{f' {flaw.row}' if flaw.row else ''}, {flaw.column}" for flaw in found]


def test_all_faults_at_once_are_reported_each_once(flaws_with: Callable[..., list[Flaw]]):
    """Twenty-two of them, in every file."""
    found = flaws_with(*(change for _, change in FAULTS))
    assert sorted(places(found)) == sorted(place for place, _ in FAULTS)


@settings(max_examples=150)
@given(st.sets(st.sampled_from(FAULTS), max_size=6))
def test_any_faults_are_as_many_flaws(tmp_path_factory: pytest.TempPathFactory, faults: set[tuple[str, Change]]):
    """None hides another, no two make a third."""
    folder = written(files_with(*(change for _, change in faults)), tmp_path_factory.mktemp("faults"))
    assert sorted(places(flaws(read_folder(folder)))) == sorted(place for place, _ in faults)


def test_flaws_stand_in_the_order_of_files_and_rows(flaws_with: Callable[..., list[Flaw]]):
    """book.toml, the tables as they are declared, the tax profile."""
    found = flaws_with(*(change for _, change in FAULTS))
    assert found == sorted(found, key=lambda flaw: (ORDER[flaw.table], flaw.row or 0))


CONSEQUENCES = [
    ("an unreadable code is not called unknown", cell("steps", 9, "code", "clo se"), ("steps", 9, "code")),
    ("nor is a blank one", cell("steps", 9, "code", ""), ("steps", 9, "code")),
    ("nor one that is too long", cell("devices", 2, "code", "slate" * 20), ("devices", 2, "code")),
    ("a row of the wrong length is there", replaced("devices.csv", "Slate,phone", "Slate"), ("devices", 2, "")),
    ("no part has a rate missing", replaced("book.toml", '"EUR"', '"EURO"'), ("book.toml", None, "currency")),
    ("nor where the rate is wrong", replaced("book.toml", '"0.88"', '"0,88"'), ("book.toml", None, "fx.USD")),
    ("nor where its name is", replaced("book.toml", "USD =", "Usd ="), ("book.toml", None, "fx.Usd")),
    ("nor where the section is", replaced("book.toml", "[fx]", "[[fx]]"), ("book.toml", None, "fx")),
    ("no step lacks its part", cell("parts", 2, "slot", "bat tery"), ("parts", 2, "slot")),
    ("nor where the part's row is short", replaced("parts.csv", "Battery,battery", "Battery"), ("parts", 2, "")),
    ("no procedure lacks its step", cell("steps", 5, "slot", "a:b"), ("steps", 5, "slot")),
    ("nor where the step's slot is another", cell("steps", 5, "slot", "cell"), ("steps", 5, "slot")),
    ("no menu price lacks its grade", cell("parts", 3, "grade", "genu ine"), ("parts", 3, "grade")),
    ("a bad estimate is not out of order", cell("steps", 3, "likely", "4,"), ("steps", 3, "likely")),
    ("nor a corner too large", cell("devices", 3, "width_mm", "forty"), ("devices", 3, "width_mm")),
    ("a step in a circle is no finding's fault", cell("steps", 4, "needs", "cold-open"), ("steps", 4, "needs")),
]


@pytest.mark.parametrize(
    ("change", "place"), [case[1:] for case in CONSEQUENCES], ids=[case[0] for case in CONSEQUENCES]
)
def test_what_follows_from_a_fault_is_no_flaw_of_its_own(
    flaws_with: Callable[..., list[Flaw]], change: Change, place: tuple[str, int | None, str]
):
    """The owner mends one cell and is done."""
    flaw = the_one(flaws_with(change))
    assert (flaw.table, flaw.row, flaw.column) == place


def test_a_code_that_no_row_has_is_seen_beside_a_row_of_the_wrong_length(flaws_with: Callable[..., list[Flaw]]):
    """That row's own code is known."""
    found = flaws_with(replaced("devices.csv", "Slate,phone", "Slate"), cell("offers", 4, "device", "tablet"))
    assert places(found) == ["devices 2, ", "offers 4, device"]


def test_a_missing_slot_beside_an_unreadable_one_is_seen_once_that_is_mended(flaws_with: Callable[..., list[Flaw]]):
    """The price of the rule above."""
    wrong = cell("procedures", 2, "slot", "batery")
    assert len(flaws_with(cell("steps", 5, "slot", "a:b"), wrong)) == 1
    assert the_one(flaws_with(wrong)).column == "slot"


def test_a_list_has_a_flaw_for_each_wrong_word_and_one_for_a_word_that_is_there_twice(
    flaws_with: Callable[..., list[Flaw]],
):
    """Two typing errors in one cell are two things to mend."""
    found = flaws_with(cell("parts", 2, "devices", "slat wrst slat"))
    assert [(flaw.value, flaw.suggestion) for flaw in found] == [("slat", "perhaps slate"), ("wrst", "perhaps wrist")]


def test_more_than_a_thousand_flaws_of_one_column_are_counted(flaws_with: Callable[..., list[Flaw]]):
    """Nobody reads them, and every column keeps its own."""
    rows = "".join(f"B{number},Battery,battery,genuine,slate,1 EUR,,,,,,\n" for number in range(2, 1204))
    found = flaws_with(added("parts.csv", rows), cell("parts", 2, "failure_rate", "2"))
    costs = [flaw for flaw in found if flaw.column == "cost"]
    assert len(costs) == MOST_IN_ONE_PLACE + 1
    assert costs[-1].message == "202 more flaws here"
    assert [flaw.row for flaw in found if flaw.column == "failure_rate"] == [2]


def test_more_than_a_thousand_unknown_settings_are_counted(flaws_with: Callable[..., list[Flaw]]):
    """As many as a file can hold."""
    keys = "".join(f"q{number:04} = 1\n" for number in range(1100))
    found = flaws_with(replaced("book.toml", "[shop]", f"{keys}[shop]"))
    assert len(found) == MOST_IN_ONE_PLACE + 1
    assert found[-1].message == "100 more flaws here"


def test_more_than_a_thousand_columns_are_counted(flaws_with: Callable[..., list[Flaw]]):
    """They are flaws of one row, the header."""
    names = [f"q{number:04}" for number in range(1100)]
    found = flaws_with(saved("usage.csv", f"step,consumable,basis,quantity,{','.join(names)}\n"))
    assert len(found) == MOST_IN_ONE_PLACE + 1
    assert found[-1].message == "100 more flaws here"
