"""Versions of a rate book: published now or later, read, compared, gone back to; quotes keep theirs."""

import datetime as dt
from typing import Any

import pytest

from .owning import BENCH_RATE, BOOK, DRAFT, Owner, errors
from .problems import problem
from .running import BATTERY, Service


@pytest.fixture
def owner(service: Service) -> Owner:
    """The owner of the first demo book."""
    return Owner(service)


def counting(owner: Owner) -> int:
    """The version that a price is named from now."""
    version: int = owner.caller.post("/v1/prices", BATTERY).body["book"]["version"]
    return version


def history(owner: Owner) -> list[tuple[int, str]]:
    """Number and state of every version."""
    return [(each["version"], each["state"]) for each in owner.caller.get(f"{BOOK}/versions").body["versions"]]


def test_a_publication_counts_at_once(owner: Owner):
    """The next version, with who, when and why; the draft is gone, and the next price is the new one's."""
    done = owner.published("9.00", reason=" a dearer bench ")
    assert done.headers["Location"] == f"{BOOK}/versions/2"
    assert done.body | {"digest": ""} == {
        "code": "ballyquarn",
        "version": 2,
        "title": done.body["title"],
        "digest": "",
        "published_at": "2026-03-02T09:30:00.000000Z",
        "published_by": "owner key",
        "reason": "a dearer bench",
        "counts_from": "2026-03-02T09:30:00.000000Z",
        "changes": {"added": 0, "removed": 0, "changed": 1, "moved": 0},
        "returns_to": None,
    }
    assert owner.look().status == 404
    assert (counting(owner), history(owner)) == (2, [(2, "counting"), (1, "past")])
    assert owner.caller.post("/v1/prices", BATTERY).body["book"]["digest"] == done.body["digest"]


def test_a_publication_from_a_date_waits_for_the_clock(service: Service, owner: Owner):
    """Both sides of the moment."""
    owner.published("9.00", counts_from="2026-04-01T01:00:00+01:00")
    assert (counting(owner), history(owner)) == (1, [(2, "waiting"), (1, "counting")])
    service.clock.now = dt.datetime(2026, 3, 31, 23, 59, 59, 999_999, dt.UTC)
    assert counting(owner) == 1
    service.clock.forward(microseconds=1)
    assert (counting(owner), history(owner)) == (2, [(2, "counting"), (1, "past")])


def test_of_two_that_wait_the_one_that_began_last_counts(service: Service, owner: Owner):
    """Whichever was published first; at the same moment, the higher number."""
    owner.published("4.00", counts_from="2026-03-04T00:00:00Z")
    owner.published("5.00", counts_from="2026-03-03T00:00:00Z")
    owner.published("6.00", counts_from="2026-03-04T00:00:00Z")
    seen = []
    for _ in range(3):
        seen.append(counting(owner))
        service.clock.forward(days=1)
    assert seen == [1, 3, 4]


def test_a_flawed_draft_publishes_nothing_and_every_flaw_is_named(owner: Owner):
    """With its cell; the draft stays."""
    row = owner.open() and owner.rows("parts")[0]["id"]
    owner.edit(
        BENCH_RATE | {"value": "three"},
        {"do": "set", "table": "parts", "row": row, "cells": {"cost": "-1", "devices": "kessoway-55"}},
    )
    refused = owner.publish()
    assert (refused.status, refused.body["type"]) == (422, "/problems/book-flawed")
    places = {(each["place"]["table"], each["place"]["column"]) for each in refused.body["errors"]}
    assert {("book.toml", "labour.bench_rate"), ("parts", "cost"), ("parts", "devices")} <= places
    assert (history(owner), owner.look().status) == ([(1, "counting")], 200)


@pytest.mark.parametrize(
    ("wanted", "pointer"),
    [
        ({"reason": ""}, "/reason"),
        ({"reason": "  \n"}, "/reason"),
        ({"reason": "x" * 501}, "/reason"),
        ({"counts_from": "2026-03-02T09:29:59Z"}, "/counts_from"),
        ({"counts_from": "0001-01-01T00:00:00+23:00"}, "/counts_from"),
        ({"counts_from": "9999-12-31T23:59:59-12:00"}, "/counts_from"),
        ({"counts_from": "2026-04-01T09:00:00"}, "/counts_from"),
        ({"counts_from": "tomorrow"}, "/counts_from"),
        ({"counts_from": 1}, "/counts_from"),
        ({"when": "now"}, "/when"),
    ],
)
def test_a_publication_without_a_reason_or_into_the_past_is_refused(owner: Owner, wanted: dict[str, Any], pointer: str):
    """At the field; nothing is published, by neither way."""
    owner.open()
    owner.rate("9")
    back = owner.caller.post(f"{BOOK}/returns", {"reason": "x", "version": 1, **wanted})
    for refused in (owner.publish(**wanted), back):
        assert refused.status == 422
        assert pointer in [place for place, _ in errors(refused)]
    assert history(owner) == [(1, "counting")]


def test_a_publication_by_who_has_not_seen_the_last_change_is_412(service: Service, owner: Owner):
    """What would be published is not what they looked at."""
    owner.open()
    other = Owner(service)
    other.look()
    other.rate("9")
    assert owner.publish().status == 412
    assert history(owner) == [(1, "counting")]


def test_the_code_of_a_book_never_changes(owner: Owner):
    """The old one is suggested."""
    owner.open()
    owner.edit({"do": "set", "table": "book.toml", "key": "code", "value": "elsewhere"})
    refused = owner.publish()
    assert (refused.status, refused.body["errors"][0]["place"]["value"]) == (422, "elsewhere")
    assert "ballyquarn" in refused.body["detail"]
    assert [book["code"] for book in owner.caller.get("/v1/books").body["books"]] == ["ballyquarn", "peddrick-mills"]


def test_going_back_is_a_new_version_with_the_old_digest(service: Service, owner: Owner):
    """Nothing is taken back from the history; it can wait for its moment like any other."""
    owner.published("9.00")
    back = owner.caller.post(
        f"{BOOK}/returns", {"version": 1, "reason": "a slip", "counts_from": "2026-03-03T00:00:00Z"}
    )
    assert (back.status, back.body["version"], back.body["returns_to"]) == (201, 3, 1)
    first = owner.caller.get(f"{BOOK}/versions/1").body
    again = owner.caller.get(f"{BOOK}/versions/3").body
    assert first["version"]["digest"] == again["version"]["digest"] == back.body["digest"]
    assert (first["files"], first["tables"]) == (again["files"], again["tables"])
    assert counting(owner) == 2
    service.clock.forward(days=1)
    assert (counting(owner), back.body["changes"]["changed"]) == (3, 1)


def test_the_history_comes_in_pages(owner: Owner):
    """Two at a time, by the links, every version once; a cursor that no page has given is refused."""
    for rate in ("9.00", "9.10", "9.20", "9.30"):
        owner.published(rate)
    path, found = f"{BOOK}/versions?limit=2", []
    while path:
        page = owner.caller.get(path)
        found.append([each["version"] for each in page.body["versions"]])
        link = page.headers.get("Link")
        path = link.partition(">")[0].removeprefix("<") if link else ""
    assert found == [[5, 4], [3, 2], [1]]
    assert owner.caller.get(f"{BOOK}/versions?after=NQ0").status == 422


def test_a_return_leaves_the_draft_alone(owner: Owner):
    """It is about what counts, not about what is being written."""
    owner.published("9.00")
    owner.open()
    owner.rate("8.00")
    assert owner.caller.post(f"{BOOK}/returns", {"version": 1, "reason": "back"}).status == 201
    assert owner.rate("7.00").status == 200


def test_an_issued_quote_reads_the_same_after_a_publication(owner: Owner):
    """To the letter, and the version that it points to can be read."""
    issued = owner.caller.post("/v1/quotes", BATTERY)
    owner.published("9.00")
    read = owner.caller.get(issued.headers["Location"])
    assert read.text == issued.text
    book = read.body["book"]
    version = owner.caller.get(f"{BOOK}/versions/{book['version']}").body["version"]
    assert (version["version"], version["digest"]) == (1, book["digest"])


def test_versions_are_compared_cell_by_cell(owner: Owner):
    """And in the other direction."""
    owner.published("9.00")
    there, back = (owner.caller.get(f"{BOOK}/comparison?{which}").body for which in ("old=1&new=2", "old=2&new=1"))
    assert [(each["key"], each["old"], each["new"]) for each in there["differences"]] == [
        ("labour.bench_rate", "3.00", "9.00")
    ]
    assert (back["differences"][0]["old"], there["counts"]) == ("9.00", back["counts"])


def test_the_list_of_books_says_what_counts(owner: Owner):
    """And whether a draft is open."""
    owner.published("9.00", counts_from="2026-04-01T00:00:00Z")
    owner.open()
    first, second = owner.caller.get("/v1/books").body["books"]
    assert (first["code"], first["counting"]["version"], first["versions"], first["has_draft"]) == (
        "ballyquarn",
        1,
        2,
        True,
    )
    assert (second["currency"], second["versions"], second["has_draft"]) == ("USD", 1, False)


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/versions/0", 404),
        ("/versions/-1", 404),
        ("/versions/2", 404),
        (f"/versions/{10**30}", 404),
        (f"/versions/{2**63}/export", 404),
        ("/versions/1/export?format=pdf", 422),
        ("/comparison", 422),
        ("/comparison?old=1", 422),
        ("/comparison?old=1&new=-1", 404),
        (f"/comparison?old={10**30}&new=1", 422),
        ("/comparison?old=1&old=1&new=1", 422),
        ("/draft", 404),
        ("/draft/check", 404),
        ("/draft/effects/newest", 404),
    ],
)
def test_what_is_not_there_is_a_problem(owner: Owner, path: str, status: int):
    """Whatever the number."""
    assert owner.caller.get(BOOK + path).status == status


@pytest.mark.parametrize(
    ("path", "pointer"),
    [
        ("/comparison?old=7&new=1", "/old"),
        ("/comparison?old=1&new=7", "/new"),
        ("/draft/comparison?version=7", "/version"),
    ],
)
def test_a_version_that_is_not_there_is_pointed_at(owner: Owner, path: str, pointer: str):
    """By the parameter that names it, with those that there are."""
    owner.open()
    (error,) = problem(owner.caller.get(BOOK + path), 404, "not-found")
    assert (error["pointer"], error["allowed"]) == (pointer, ["1"])


@pytest.mark.parametrize("code", ["atlantis", "%00", "é😀", "..", "a'b\"", "x" * 5000])
def test_a_book_that_is_not_there_is_not_found(owner: Owner, code: str):
    """By any of its calls."""
    for path in ("versions", "versions/1", "draft", "draft/check", "comparison?old=1&new=1", "draft/effects/newest"):
        assert owner.caller.get(f"/v1/books/{code}/{path}").status == 404
    assert owner.caller.post(f"/v1/books/{code}/draft", {}).status == 404
    assert owner.caller.post(f"/v1/books/{code}/returns", {"version": 1, "reason": "x"}).status == 404


@pytest.mark.parametrize("scope", ["desk", "form", None])
def test_rates_are_for_the_owner(service: Service, scope: str | None):
    """Others neither read nor change them."""
    caller = service.caller(scope)
    wanted = 401 if scope is None else 403
    assert caller.get("/v1/books").status == wanted
    assert caller.post(DRAFT, {}).status == wanted
