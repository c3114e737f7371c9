"""The parts of the editor that need no page, each asked in the browser that runs them."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser

from .nursery import ROOT
from .running import running_service

Ask = Callable[..., Any]


@pytest.fixture(scope="module")
def ask(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ask]:
    """Calls an exported function of a module."""
    database = tmp_path_factory.mktemp("modules") / "quoter.db"
    with running_service(database, ROOT / "rates/ballyquarn") as service, browser.new_page() as page:
        page.goto(f"{service.address}/sign-in")

        def asked(module: str, name: str, *arguments: Any) -> Any:
            call = "async ([module, name, given]) => (await import(`/assets/js/${module}.js`))[name](...given)"
            return page.evaluate(call, [module, name, list(arguments)])

        yield asked


def rows(*keys: int | str, **texts: str) -> list[dict[str, Any]]:
    """Rows by their ids; a keyword r3 gives row 3 another text."""
    return [{"id": key, "cells": {"code": texts.get(f"r{key}", f"text {key}")}} for key in keys]


@pytest.mark.parametrize(
    ("text", "cells"),
    [
        ("a\tb\nc\td", [["a", "b"], ["c", "d"]]),
        ("a\tb\r\nc\td\r\n", [["a", "b"], ["c", "d"]]),
        ("one", [["one"]]),
        ("\t\n\t", [["", ""], ["", ""]]),
        ('"a ""quoted"" word"\tb', [['a "quoted" word', "b"]]),
        ('"tab\there"\tb', [["tab\there", "b"]]),
        ('"two\nlines"\tb', [["two lines", "b"]]),
        ('12" screen\tb', [['12" screen', "b"]]),
        ('"open\tb', [['"open', "b"]]),
        ("a\nb\tc", [["a", ""], ["b", "c"]]),
    ],
)
def test_a_block_is_read_as_spreadsheets_write_it(ask: Ask, text: str, cells: list[list[str]]) -> None:
    """A quote within a cell that does not begin with one is a sign like any other."""
    assert ask("owner/tsv", "parsed", text) == cells


def test_a_block_that_is_written_is_read_as_it_was(ask: Ask) -> None:
    """Whatever the cells say."""
    block = [['a "b"', "tab\tin it", ""], ["plain", "", "ü"]]
    assert ask("owner/tsv", "parsed", ask("owner/tsv", "formatted", block)) == block


@pytest.mark.parametrize(
    ("after", "edits"),
    [
        (rows(1, 2, 3), []),
        (rows(1, 2, 3, r2="new"), [{"do": "set", "table": "t", "row": 2, "cells": {"code": "new"}}]),
        (rows(1, 3), [{"do": "delete", "table": "t", "row": 2}]),
        (rows(3, 1, 2), [{"do": "move", "table": "t", "row": 3, "before": 1}]),
        (rows(2, 3, 1), [{"do": "move", "table": "t", "row": 1, "before": None}]),
        (
            rows(1, -1, -2, 2, 3),
            [{"do": "add", "table": "t", "cells": {"code": f"text -{each}"}, "before": 2} for each in (1, 2)],
        ),
        (rows(1, 2, 3, -1), [{"do": "add", "table": "t", "cells": {"code": "text -1"}, "before": None}]),
    ],
)
def test_as_few_edits_as_will_do(ask: Ask, after: list[dict[str, Any]], edits: list[dict[str, Any]]) -> None:
    """From three rows to others."""
    assert ask("owner/edits", "rowEdits", "t", rows(1, 2, 3), after) == edits


@pytest.mark.parametrize("after", [[4, 3, 2, 1], [2, 1, 4, 3], [3, -1, 1, -2], [-1], [], [4, -1, -2, 1, -3, 2]])
def test_the_edits_lead_to_what_is_on_the_screen(ask: Ask, after: list[int]) -> None:
    """Done one after the other, as the service does them."""
    there = [1, 2, 3, 4]
    for edit in ask("owner/edits", "rowEdits", "t", rows(1, 2, 3, 4), rows(*after)):
        row = int(edit["cells"]["code"].split()[1]) if edit["do"] == "add" else edit["row"]
        if edit["do"] in ("delete", "move"):
            there.remove(row)
        if edit["do"] in ("add", "move"):
            there.insert(there.index(edit["before"]) if edit["before"] is not None else len(there), row)
    assert there == after


def test_lines_are_known_by_their_keys(ask: Ask) -> None:
    """A new key takes the old line away."""

    def lines(**cells: str) -> list[dict[str, Any]]:
        return [{"id": key, "cells": {"key": key, "value": value}} for key, value in cells.items()]

    assert ask("owner/edits", "lineEdits", "tax", lines(a="1", b="2"), lines(a="3", c="2")) == [
        {"do": "delete", "table": "tax", "key": "b"},
        {"do": "set", "table": "tax", "key": "a", "value": "3"},
        {"do": "set", "table": "tax", "key": "c", "value": "2"},
    ]


@pytest.mark.parametrize(
    ("mine", "theirs", "merged"),
    [
        (rows(1, 2, 3, r1="mine"), rows(1, 2, 3, r2="theirs"), {1: "mine", 2: "theirs", 3: "text 3"}),
        (rows(1, 2, 3, r1="same"), rows(1, 2, 3, r1="same"), {1: "same", 2: "text 2", 3: "text 3"}),
        (rows(1, -1, 2, 3), rows(1, 9, 2, 3), {1: "text 1", 9: "text 9", -1: "text -1", 2: "text 2", 3: "text 3"}),
        (rows(1, 3), rows(1, 2, 3, 9), {1: "text 1", 3: "text 3", 9: "text 9"}),
        (rows(3, 1, 2), rows(1, 2, 9, 3), {3: "text 3", 1: "text 1", 2: "text 2", 9: "text 9"}),
        (rows(1, 2, -1, 3), rows(1, 3), {1: "text 1", -1: "text -1", 3: "text 3"}),
    ],
)
def test_changes_of_two_people_are_put_together(
    ask: Ask, mine: list[dict[str, Any]], theirs: list[dict[str, Any]], merged: dict[int, str]
) -> None:
    """Where they do not touch the same cell nobody needs to be asked."""
    result = ask("owner/merge", "rebased", rows(1, 2, 3), mine, theirs)
    assert sorted({row["id"]: row["cells"]["code"] for row in result["rows"]}.items()) == sorted(merged.items())
    assert (result["collisions"], result["homeless"], result["orderLost"]) == ([], [], False)


def test_what_collides_is_told_and_kept(ask: Ask) -> None:
    """The own text stays on top; a row that was changed there is not deleted; what has no row any more is listed."""
    mine = [*rows(1, r1="mine"), *rows(3, r3="mine too")]
    result = ask("owner/merge", "rebased", rows(1, 2, 3), mine, rows(1, 2, r1="theirs", r2="theirs"))
    assert result["rows"] == rows(1, 2, r1="mine", r2="theirs")
    assert result["collisions"] == [
        {"row": 1, "column": "code", "theirs": "theirs", "mine": "mine"},
        {"row": 2, "column": "", "theirs": "changed", "mine": "deleted"},
    ]
    assert [each["cells"] for each in result["homeless"]] == [{"code": "mine too"}]


def test_rows_that_both_moved_stand_where_they_put_them(ask: Ask) -> None:
    """And that is told."""
    result = ask("owner/merge", "rebased", rows(1, 2, 3), rows(3, 1, 2), rows(2, 1, 3))
    assert [row["id"] for row in result["rows"]] == [2, 1, 3]
    assert result["orderLost"] is True


@pytest.mark.parametrize(
    ("local", "zone", "utc"),
    [
        ("2031-07-01T09:00", "Europe/Dublin", "2031-07-01T08:00:00.000Z"),
        ("2031-01-01T00:00", "Europe/Dublin", "2031-01-01T00:00:00.000Z"),
        ("2026-12-01T09:00", "America/Chicago", "2026-12-01T15:00:00.000Z"),
        ("2026-12-01T09:00", "Australia/Lord_Howe", "2026-11-30T22:00:00.000Z"),
        ("2026-03-29T01:30", "Europe/Dublin", None),  # the clocks go from 1:00 to 2:00
        ("2026-10-25T01:30", "Europe/Dublin", "2026-10-25T00:30:00.000Z"),  # twice: the first time counts
        ("", "Europe/Dublin", None),
    ],
)
def test_a_time_on_the_shops_clocks_is_a_moment(ask: Ask, local: str, zone: str, utc: str | None) -> None:
    """Unless the clocks skip it."""
    found = ask("shared/moments", "moment", local, zone)
    assert (found.strftime("%Y-%m-%dT%H:%M:%S.000Z") if found else None) == utc


def test_words_are_found_whatever_their_accents(ask: Ask) -> None:
    """In any cell, all of them."""
    table = [{"id": 1, "cells": {"a": "Écran Kessoway", "b": "neuf"}}, {"id": 2, "cells": {"a": "écran", "b": ""}}]
    assert ask("owner/filter", "matches", table, "ECRAN neuf") == [0]
    assert ask("owner/filter", "matches", table, " ") == [0, 1]


@pytest.mark.parametrize(("column", "cell"), [("code", "parts!A17"), ("z", "parts!AA17"), ("nowhere", "")])
def test_a_cell_has_the_name_that_a_spreadsheet_gives_it(ask: Ask, column: str, cell: str) -> None:
    """The twenty-seventh column is AA."""
    columns = ["code", *(f"c{number}" for number in range(25)), "z"]
    assert ask("owner/faults", "sheetCell", {"table": "parts", "row": 17, "column": column}, columns) == cell


def test_a_block_beyond_the_edges_is_planned(ask: Ask) -> None:
    """Rows are added, columns are not."""
    plan = ask(
        "owner/block",
        "planned",
        [["a", "b"], ["c", "d"]],
        {"row": 4, "column": 2},
        {"rows": 5, "columns": 3, "canGrow": True},
    )
    assert plan == {"cells": [["a"], ["c"]], "newRows": 1, "lostCells": [["b"], ["d"]], "lostRows": []}
    plan = ask(
        "owner/block", "planned", [["a"], ["c"]], {"row": 4, "column": 2}, {"rows": 5, "columns": 3, "canGrow": False}
    )
    assert plan == {"cells": [["a"]], "newRows": 0, "lostCells": [], "lostRows": [["c"]]}


@pytest.mark.parametrize(
    ("key", "far", "place"),
    [
        ("ArrowUp", False, [0, 2]),
        ("PageDown", False, [9, 2]),
        ("Home", True, [0, 0]),
        ("End", True, [9, 3]),
        ("x", False, None),
    ],
)
def test_keys_lead_from_cell_to_cell(ask: Ask, key: str, far: bool, place: list[int] | None) -> None:
    """Never over an edge."""
    led = ask("owner/selection", "led", {"row": 1, "column": 2}, key, far, {"rows": 10, "columns": 4, "page": 20})
    assert (led and [led["row"], led["column"]]) == place
