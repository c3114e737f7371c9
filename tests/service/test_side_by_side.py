"""Two revisions beside each other: every line of both once, and every difference adds up."""

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from quoter.records.quotes import IssuedQuote

from .desk import BATTERY, SCREEN_TOO, Desk, a_desk

CHANGES: list[dict[str, Any]] = [
    {"findings": ["swollen-cell", "opened-before"]},
    {"repairs": SCREEN_TOO},
    {"repairs": [{"procedure": "diagnosis"}]},
    {"repairs": [{"procedure": "battery", "grade": "compatible"}]},
    {"discount": {"rate": "0.05", "reason": "came back"}, "urgency": "express"},
    {"parts": {"seal": None}},
]


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A desk with an empty database."""
    with a_desk(tmp_path) as opened:
        yield opened


def compared(desk: Desk, **changes: Any) -> tuple[IssuedQuote, IssuedQuote, dict[str, Any]]:
    """Two revisions and their comparison."""
    old = desk.issue()
    new = desk.revise(old, **changes)
    return old, new, desk.quoting.comparison(old.id, 1, 2)


def signature(lines: Any) -> list[tuple[str, str, str, str, str]]:
    """Lines without their words, sorted."""
    members = ("quantity", "unit_price", "net")
    return sorted((line["kind"], line["ref"], *(line[member] for member in members)) for line in lines)


@pytest.mark.parametrize("changes", CHANGES, ids=lambda changes: "-".join(changes))
def test_each_side_can_be_put_together_again(desk: Desk, changes: dict[str, Any]):
    """No line is lost, none is made up, and the differences sum to that of the net."""
    old, new, comparison = compared(desk, **changes)
    assert (comparison["old"], comparison["new"]) == (1, 2)
    for side, quote in (("old", old), ("new", new)):
        lines = [{**row, **row[side]} for row in comparison["lines"] if row[side]]
        assert signature(lines) == signature(quote.result["lines"])
    totals = comparison["totals"]
    assert sum(Decimal(row["difference"]) for row in comparison["lines"]) == sum(
        Decimal(line["net"]) * sign for quote, sign in ((new, 1), (old, -1)) for line in quote.result["lines"]
    )
    for name in ("net", "tax", "gross"):
        assert Decimal(totals[name]["new"]) - Decimal(totals[name]["old"]) == Decimal(totals[name]["difference"])
        assert (totals[name]["old"], totals[name]["new"]) == (old.result["totals"][name], new.result["totals"][name])


@pytest.mark.parametrize("changes", CHANGES, ids=lambda changes: "-".join(changes))
def test_what_a_line_is_called_follows_from_its_sides(desk: Desk, changes: dict[str, Any]):
    """Added has no old, removed no new, the same no difference."""
    _, _, comparison = compared(desk, **changes)
    for row in comparison["lines"]:
        assert (row["old"] is None) is (row["change"] == "added")
        assert (row["new"] is None) is (row["change"] == "removed")
        if row["change"] == "same":
            assert (row["old"], Decimal(row["difference"])) == (row["new"], 0)


def test_a_revision_beside_itself_is_the_same(desk: Desk):
    """Line by line."""
    quote = desk.issue()
    comparison = desk.quoting.comparison(quote.id, 1, 1)
    assert {row["change"] for row in comparison["lines"]} == {"same"}
    assert {Decimal(each["difference"]) for each in comparison["totals"].values()} == {Decimal(0)}
    assert comparison["findings"] == {"added": [], "removed": []}


def test_findings_time_and_warranty_stand_side_by_side(desk: Desk):
    """A second repair has a warranty that the first revision did not; swollen comes, opened goes."""
    old = desk.issue(findings=["opened-before"])
    new = desk.revise(old, repairs=SCREEN_TOO, findings=["swollen-cell"])
    comparison = desk.quoting.comparison(old.id, 1, 2)
    assert comparison["findings"] == {"added": ["swollen-cell"], "removed": ["opened-before"]}
    assert [(each["procedure"], each["old"] is None) for each in comparison["warranty"]] == [
        ("battery", False),
        ("screen", True),
    ]
    for name, minutes in comparison["time"].items():
        assert (minutes["old"], minutes["new"]) == (old.result["time"][name], new.result["time"][name])
        assert Decimal(minutes["difference"]) == Decimal(minutes["new"]) - Decimal(minutes["old"])


def test_two_lines_for_the_same_are_two_pairs(desk: Desk):
    """The labour of the first repair is not compared with that of the second."""
    _, _, comparison = compared(desk, repairs=SCREEN_TOO)
    labour = [(row["ref"], row["change"]) for row in comparison["lines"] if row["kind"] == "labour"]
    assert len(labour) == len(set(labour))
    assert ("screen", "added") in labour
    assert BATTERY["repairs"][0]["procedure"] in {ref for ref, _ in labour}
