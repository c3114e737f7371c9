"""The draft of a rate book: edits, two editors at once, what is recorded, what is refused."""

import threading
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import orjson
import pytest

from quoter.books.draft import FILES

from .owning import BENCH_RATE, DRAFT, Owner, errors
from .running import Service


@pytest.fixture
def owner(service: Service) -> Owner:
    """With a new draft."""
    owner = Owner(service)
    assert owner.open().status == 201
    return owner


def ids(owner: Owner, table: str = "parts") -> list[int]:
    """A table's rows by id, in their order."""
    return [row["id"] for row in owner.rows(table)]


def test_a_draft_begins_as_the_newest_version(service: Service):
    """It says who opened it, and its tag is its ETag."""
    owner = Owner(service)
    opened = owner.open()
    assert (opened.status, opened.body["based_on"], opened.body["opened_by"]) == (201, 1, "owner key")
    assert opened.headers["ETag"] == opened.body["tag"] == owner.look().body["tag"]
    assert owner.caller.get(f"{DRAFT}/comparison").body["differences"] == []


def test_a_book_has_one_draft_at_a_time(owner: Owner):
    """The second is told who has it open."""
    again = owner.caller.post(DRAFT, {})
    assert (again.status, again.body["type"]) == (409, "/problems/conflict")
    assert "owner key" in again.body["detail"]


@pytest.mark.parametrize("version", [0, -1, 2, 2**31, 2**63, 2**64 - 1])
def test_a_draft_of_a_version_that_is_not_there_is_not_opened(service: Service, version: int):
    """Whatever the number."""
    owner = Owner(service)
    refused = owner.open(version=version)
    assert refused.status == 404
    assert owner.look().status == 404


def test_a_row_is_set_added_moved_and_deleted_in_one_call(owner: Owner):
    """In the order of the edits; ids stay, and the new row's is told."""
    before = ids(owner)
    first, second, third = before[:3]
    done = owner.edit(
        {"do": "set", "table": "parts", "row": first, "cells": {"cost": " 21.50 "}},
        {"do": "add", "table": "parts", "cells": {"sku": "NEW-1", "title": "New"}, "before": first},
        {"do": "move", "table": "parts", "row": third, "before": first},
        {"do": "delete", "table": "parts", "row": second},
    )
    assert done.status == 200
    (new,) = done.body["added"]
    assert ids(owner) == [new, third, first, *before[3:]]
    cells = {row["id"]: row["cells"] for row in owner.rows("parts")}
    assert (cells[first]["cost"], cells[new]["sku"], cells[new]["cost"]) == ("21.50", "NEW-1", "")
    assert [(change["row"], change["column"]) for change in done.body["changes"]] == [
        (first, "cost"),
        (new, ""),
        (third, ""),
        (second, ""),
    ]


def test_a_line_is_set_added_and_deleted(owner: Owner):
    """Of the settings and of the tax profile alike."""
    done = owner.edit(
        BENCH_RATE | {"value": "3.20"},
        {"do": "set", "table": "book.toml", "key": "fx.SEK", "value": "0.0900"},
        {"do": "delete", "table": "book.toml", "key": "fx.SEK"},
        {"do": "set", "table": "tax", "key": "title", "value": "Another"},
    )
    assert [(each["key"], each["old"], each["new"]) for each in done.body["changes"]] == [
        ("labour.bench_rate", "3.00", "3.20"),
        ("fx.SEK", None, "0.0900"),
        ("fx.SEK", "0.0900", None),
        ("title", done.body["changes"][3]["old"], "Another"),
    ]
    values = {row["cells"]["key"]: row["cells"]["value"] for row in owner.rows("book.toml")}
    assert values["labour.bench_rate"] == "3.20"
    assert "fx.SEK" not in values


SENSELESS: list[tuple[dict[str, Any], str, str]] = [
    ({"do": "set", "table": "parts", "row": 10**9, "cells": {"cost": "1"}}, "row", "no row with the id 1000000000"),
    ({"do": "set", "table": "parts", "cells": {"cost": "1"}}, "row", "no row with the id None"),
    ({"do": "delete", "table": "parts", "row": -1}, "row", "no row with the id -1"),
    ({"do": "move", "table": "parts", "row": 0, "before": 0}, "row", "no row with the id 0"),
    ({"do": "add", "table": "parts", "before": 10**9}, "before", "no row with the id 1000000000"),
    ({"do": "add", "table": "parts", "cells": {"colour": "red"}}, "cells/colour", "parts has no column 'colour'"),
    ({"do": "add", "table": "tax", "key": "a", "value": "b"}, "do", "'add' is nothing that can be done to tax"),
    ({"do": "move", "table": "book.toml", "key": "code"}, "do", "'move' is nothing that can be done"),
    ({"do": "delete", "table": "book.toml", "key": "nowhere"}, "key", "there is no line 'nowhere'"),
    ({"do": "set", "table": "book.toml", "key": "", "value": "x"}, "key", "'' is no key"),
    ({"do": "set", "table": "book.toml", "key": "a..b", "value": "x"}, "key", "'a..b' is no key"),
    ({"do": "set", "table": "book.toml", "key": "labour bench", "value": "x"}, "key", "is no key"),
    ({"do": "set", "table": "book.toml", "key": "parts.markup 9999.rate", "value": "x"}, "key", "is no key"),
    ({"do": "set", "table": "book.toml", "key": "labour", "value": "x"}, "key", "contradicts another line"),
    ({"do": "set", "table": "book.toml", "key": "code.a", "value": "x"}, "key", "contradicts another line"),
    ({"do": "set", "table": "book.toml", "key": '"code"', "value": "x"}, "key", "contradicts another line"),
]


@pytest.mark.parametrize(("edit", "member", "detail"), SENSELESS)
def test_an_edit_that_makes_no_sense_is_named_and_none_is_made(
    owner: Owner, edit: dict[str, Any], member: str, detail: str
):
    """With its place among those that were sent together; nothing of them is kept."""
    before = owner.look()
    refused = owner.edit(BENCH_RATE | {"value": "9"}, edit)
    assert (refused.status, refused.body["type"]) == (422, "/problems/edit-refused")
    ((pointer, told),) = errors(refused)
    assert pointer == f"/edits/1/{member}"
    assert detail in told
    assert owner.look().body == before.body
    assert owner.caller.get(f"{DRAFT}/changes").body["changes"] == []


def test_every_senseless_edit_is_named_at_once_with_what_would_be_right(owner: Owner):
    """Not only the first."""
    refused = owner.edit(
        {"do": "delete", "table": "parts", "row": 10**9},
        {"do": "add", "table": "menu", "cells": {"price": "1"}},
        {"do": "move", "table": "tax"},
    )
    places = {each["pointer"]: each.get("allowed") for each in refused.body["errors"]}
    assert list(places) == ["/edits/0/row", "/edits/1/cells/price", "/edits/2/do"]
    assert places["/edits/1/cells/price"] == ["device", "procedure", "grade", "net"]
    assert places["/edits/2/do"] == ["set", "delete"]


@pytest.mark.parametrize(
    ("document", "pointer"),
    [
        ({}, "/edits"),
        ({"edits": []}, "/edits"),
        ({"edits": [{}]}, "/edits/0/do"),
        ({"edits": [{"do": "fly", "table": "parts"}]}, "/edits/0/do"),
        ({"edits": [{"do": "set", "table": "moon"}]}, "/edits/0/table"),
        ({"edits": [{"do": "set", "table": "parts", "row": "1"}]}, "/edits/0/row"),
        ({"edits": [{"do": "set", "table": "parts", "row": 1, "cells": {"cost": 3}}]}, "/edits/0/cells"),
        ({"edits": [{"do": "set", "table": "parts", "row": 1, "cells": {"cost": "9" * 20_001}}]}, "/edits/0/cells"),
        ({"edits": [{"do": "set", "table": "tax", "key": "k" * 201, "value": ""}]}, "/edits/0/key"),
    ],
)
def test_edits_of_the_wrong_shape_are_refused_at_their_place(owner: Owner, document: Any, pointer: str):
    """Before any is looked at."""
    refused = owner.caller.send("PATCH", DRAFT, orjson.dumps(document), If_Match=owner.tag)
    assert (refused.status, refused.body["type"]) == (422, "/problems/invalid-value")
    assert refused.body["errors"][0]["pointer"].startswith(pointer)


def test_edits_that_change_nothing_make_no_new_revision(owner: Owner):
    """A cell set to what it says, a row moved to where it stands."""
    first, second = ids(owner)[:2]
    done = owner.edit(
        BENCH_RATE | {"value": "3.00"},
        {"do": "move", "table": "parts", "row": first, "before": second},
        {"do": "move", "table": "parts", "row": first, "before": first},
    )
    assert (done.status, done.body["changes"], done.body["draft"]["revision"]) == (200, [], 1)


def test_edits_without_a_tag_are_428(owner: Owner):
    """Whoever has not looked changes nothing: neither cells, nor the whole, nor its end."""
    edits = orjson.dumps({"edits": [BENCH_RATE | {"value": "9"}]})
    for method, path, content in (
        ("PATCH", DRAFT, edits),
        ("DELETE", DRAFT, None),
        ("POST", f"{DRAFT}/publication", b'{"reason": "x"}'),
    ):
        refused = owner.caller.send(method, path, content)
        assert (refused.status, refused.body["type"]) == (428, "/problems/if-match-required")


@pytest.mark.parametrize("tag", ['""', '"1"', "", '"x.1"', '"20260302093000000000.9"', 'W/"x"', '"' + "9" * 5000])
def test_a_tag_of_no_draft_is_412(owner: Owner, tag: str):
    """Nothing is changed by somebody who has not seen it."""
    assert owner.edit(BENCH_RATE | {"value": "9"}, If_Match=tag).status == 412


def test_the_slower_of_two_editors_is_told_what_has_changed(service: Service):
    """And gets the tag to go on with; nothing of the quicker one's is overwritten."""
    quick, slow = Owner(service), Owner(service)
    quick.open()
    slow.look()
    assert quick.rate("3.20").status == 200
    refused = slow.rate("9.99")
    assert (refused.status, refused.body["type"]) == (412, "/problems/changed-meanwhile")
    assert refused.body["meanwhile"] == ["owner key: book.toml labour.bench_rate: '3.00' → '3.20'"]
    assert refused.headers["ETag"] == quick.tag
    assert slow.rate("3.30").status == 200
    assert slow.caller.get(f"{DRAFT}/comparison").body["differences"][0]["new"] == "3.30"


def test_a_draft_that_was_opened_anew_is_not_the_one_that_was_seen(service: Service, owner: Owner):
    """Even where its revision has the same number."""
    old = owner.tag
    owner.caller.send("DELETE", DRAFT, If_Match=old)
    service.clock.forward(seconds=1)
    owner.open()
    assert owner.edit(BENCH_RATE | {"value": "9"}, If_Match=old).status == 412


def test_editors_at_once_never_overwrite_each_other(service: Service):
    """Of eight that save at one moment one is taken, and every save that was taken is on record."""
    editors = [Owner(service) for _ in range(8)]
    editors[0].open()
    taken = 0
    for turn in range(4):
        for editor in editors:
            editor.look()
        start = threading.Barrier(len(editors))

        def save(number: int, turn: int = turn, start: threading.Barrier = start) -> int:
            start.wait()
            return editors[number].rate(f"{turn + 4}.{number}0").status

        with ThreadPoolExecutor(len(editors)) as pool:
            statuses = list(pool.map(save, range(len(editors))))
        assert sorted(statuses) == [200] + [412] * 7
        taken += 1
    recorded = editors[0].caller.get(f"{DRAFT}/changes").body["changes"]
    assert [each["revision"] for each in recorded] == [2, 3, 4, 5]
    assert [each["old"] for each in recorded[1:]] == [each["new"] for each in recorded[:-1]]
    assert editors[0].look().body["revision"] == taken + 1


def test_every_change_is_recorded(service: Service, owner: Owner):
    """Who, when, which cell, old and new; since a revision if wanted."""
    row = ids(owner)[0]
    owner.rate("3.20")
    service.clock.forward(hours=1)
    owner.edit({"do": "set", "table": "parts", "row": row, "cells": {"cost": "21"}})
    (change,) = owner.caller.get(f"{DRAFT}/changes?after=2").body["changes"]
    assert change == {
        "table": "parts",
        "row": row,
        "key": "QK4-CEL-G",
        "column": "cost",
        "old": "20.50",
        "new": "21",
        "revision": 3,
        "at": "2026-03-02T10:30:00.000000Z",
        "by": "owner key",
    }
    assert len(owner.caller.get(f"{DRAFT}/changes").body["changes"]) == 2


def test_a_discarded_draft_is_gone_and_another_can_be_opened(service: Service, owner: Owner):
    """The published version is what it was."""
    owner.rate("9")
    assert owner.caller.send("DELETE", DRAFT, If_Match=owner.tag).status == 204
    assert owner.look().status == 404
    service.clock.forward(seconds=1)
    assert owner.open().status == 201
    assert owner.caller.get(f"{DRAFT}/changes").body["changes"] == []
    assert {"key": "labour.bench_rate", "value": "3.00"} in [row["cells"] for row in owner.rows("book.toml")]


def test_a_check_names_every_fault_with_its_row(owner: Owner):
    """The typo's closest code, and the id of the row to mend."""
    row = next(each for each in owner.rows("offers") if each["cells"]["procedure"] == "battery")
    owner.edit(
        {"do": "set", "table": "offers", "row": row["id"], "cells": {"procedure": "batery"}},
        BENCH_RATE | {"value": "three"},
    )
    checked = owner.caller.get(f"{DRAFT}/check").body
    assert checked["warnings"] == []
    found = {(flaw["table"], flaw["column"]): flaw for flaw in checked["flaws"]}
    assert found["offers", "procedure"]["row_id"] == row["id"]
    assert "battery" in found["offers", "procedure"]["suggestion"]
    assert found["book.toml", "labour.bench_rate"]["value"] == "three"


def test_a_draft_of_no_rows_at_all_is_checked_and_not_published(owner: Owner):
    """Every table is emptied, every line deleted."""
    tables = [name for name in owner.look().body["rows"] if name not in FILES]
    rows = [{"do": "delete", "table": name, "row": row} for name in tables for row in ids(owner, name)]
    lines = [{"do": "delete", "table": name, "key": row["cells"]["key"]} for name in FILES for row in owner.rows(name)]
    assert owner.edit(*rows, *lines).status == 200
    assert set(owner.look().body["rows"].values()) == {0}
    assert len(owner.caller.get(f"{DRAFT}/check").body["flaws"]) > 5
    assert owner.publish().status == 422
    for path in ("comparison", "changes", "export", "export?format=zip", "tables/parts", "tables/tax"):
        assert owner.caller.get(f"{DRAFT}/{path}").status == 200
    assert owner.caller.post(f"{DRAFT}/effects", {}).status == 422


NONSENSE: list[dict[str, Any]] = [
    {"do": "add", "table": "parts", "cells": {"sku": "é電😀\u202e", "cost": "NaN", "title": "\x00\x1f"}},
    {"do": "add", "table": "parts", "cells": {"sku": "x" * 2000, "devices": "y " * 1000, "cost": "9" * 2000}},
    {"do": "add", "table": "steps", "cells": {"code": "=1+1", "low": "1e999999", "likely": "-0", "high": "∞"}},
    {"do": "add", "table": "menu"},
    {"do": "set", "table": "book.toml", "key": '"a.b"."c d".e 3.f', "value": "<script>"},
    {"do": "set", "table": "book.toml", "key": '"shop".name', "value": "again"},
    {"do": "set", "table": "book.toml", "key": ".".join("a" * 100), "value": "deep"},
    {"do": "set", "table": "book.toml", "key": "parts.markup 999.rate", "value": "1"},
    {"do": "set", "table": "book.toml", "key": "fx.USD", "value": "1e-999999"},
    {"do": "set", "table": "book.toml", "key": "policy.validity_days", "value": "9" * 2000},
    {"do": "set", "table": "book.toml", "key": "shop.timezone", "value": "../../etc/passwd"},
    {"do": "set", "table": "book.toml", "key": "currency", "value": "€"},
    {"do": "set", "table": "book.toml", "key": "locale", "value": "x" * 2000},
    {"do": "set", "table": "book.toml", "key": "code", "value": "a/b?c#d"},
    {"do": "set", "table": "tax", "key": "combined", "value": "perhaps"},
    {"do": "set", "table": "tax", "key": "reclass 7.lines", "value": " "},
    {"do": "set", "table": "tax", "key": "codes.x.components 2.rate", "value": None},
    {"do": "set", "table": "tax", "key": "codes.std", "value": "x"},
    {"do": "set", "table": "tax", "key": "__class__.__init__", "value": "x"},
]


@pytest.mark.parametrize("edit", NONSENSE)
def test_nonsense_is_refused_or_kept_as_text_and_never_a_fault_of_the_service(owner: Owner, edit: dict[str, Any]):
    """Whatever becomes of it can be looked at, checked, exported and thrown away."""
    assert owner.edit(edit).status in (200, 422)
    for path in ("", "/check", "/comparison", "/changes", "/export?format=xlsx", "/export?format=zip"):
        assert owner.caller.get(DRAFT + path).status == 200, path
    assert owner.publish().status in (201, 422)


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/comparison?version=0", 404),
        ("/comparison?version=-1", 404),
        (f"/comparison?version={10**30}", 422),
        ("/comparison?version=x", 422),
        (f"/changes?after={10**30}", 422),
        ("/changes?after=-1", 422),
        ("/tables/moon", 404),
        ("/tables/..%2F..", 404),
        ("/check?prices=maybe", 422),
        ("/export?format=pdf", 422),
    ],
)
def test_a_question_that_makes_no_sense_is_a_problem(owner: Owner, path: str, status: int):
    """Numbers that no version has, tables and formats that are not."""
    assert owner.caller.get(DRAFT + path).status == status


def test_the_row_that_another_edit_wants_to_stand_before_may_be_gone(owner: Owner):
    """Edits are made in their order, so the later one is refused and neither is made."""
    first, second = ids(owner)[:2]
    refused = owner.edit(
        {"do": "delete", "table": "parts", "row": first},
        {"do": "move", "table": "parts", "row": second, "before": first},
    )
    assert errors(refused) == [("/edits/1/before", f"there is no row with the id {first}")]
    assert ids(owner)[:2] == [first, second]


def test_thousands_of_edits_are_made_in_one_call(owner: Owner):
    """As a block that is pasted from a spreadsheet makes them; more than are taken are refused."""
    row = ids(owner)[-1]
    edit = {"do": "set", "table": "parts", "row": row}
    assert owner.edit(*(edit | {"cells": {"cost": str(cost)}} for cost in range(5000))).status == 200
    assert owner.edit(*[BENCH_RATE] * 20_001).status == 422


def test_a_law_profile_is_edited_like_the_other_documents(owner: Owner):
    """Line by line; its faults are told at their keys, and its texts are in the version that is published."""
    text = {"do": "set", "table": "law", "key": "notices.data-loss.texts.de", "value": "Sichern Sie Ihre Daten."}
    assert owner.edit(text, {"do": "set", "table": "law", "key": "excess.from", "value": "perhaps"}).status == 200
    (flaw,) = owner.caller.get(f"{DRAFT}/check").body["flaws"]
    assert (flaw["table"], flaw["column"]) == ("law/ireland.toml", "excess.from")
    assert owner.edit({"do": "set", "table": "law", "key": "excess.from", "value": "false"}).status == 200
    (change,) = owner.caller.get(f"{DRAFT}/comparison").body["differences"]
    assert (change["table"], change["key"], change["new"]) == ("law/ireland.toml", text["key"], text["value"])
    version = owner.publish().body["version"]
    kept = owner.caller.get(f"{owner.book}/versions/{version}").body["files"]["law"]
    assert kept[text["key"]] == text["value"]


def test_a_price_says_what_the_law_wants_said(service: Service):
    """Also to a customer."""
    job = {"device": "kessoway-5", "repairs": [{"procedure": "diagnosis"}]}
    for scope in ("desk", "form"):
        law = service.caller(scope).post("/v1/prices", job).body["law"]
        assert (law["code"], law["label"], law["excess"]["share"]) == ("ireland", "quotation", "0")
        assert [each["code"] for each in law["notices"] if each["must_be_told"]] == ["diagnosis-fee"]


def test_a_line_of_a_document_says_what_it_is_for(owner: Owner):
    """A key that means nothing has nothing to say."""
    edit = {"do": "set", "table": "book.toml", "key": "labour.bench_rates", "value": "3"}
    owner.edit(edit)
    rows = {row["cells"]["key"]: row["help"] for row in owner.rows("book.toml")}
    assert rows["labour.bench_rate"].endswith("(a number from 0)")
    assert rows["labour.bench_rates"] is None
