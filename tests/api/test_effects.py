"""The effect of a draft over the API: asked for, watched, read as tables and pictures, cancelled."""

import datetime as dt
from typing import Any

import pytest

from quoter.api.http.services import services_of
from quoter.api.rates.effects import FILES, PICTURE_POLICY

from .owning import BENCH_RATE, DRAFT, Owner, errors
from .running import BATTERY, Reply, Service, a_service

TYPES = {"csv": "text/csv", "json": "application/json", "svg": "image/svg+xml"}


@pytest.fixture
def owner(service: Service) -> Owner:
    """With a draft whose bench is dearer."""
    owner = Owner(service)
    owner.open()
    owner.rate("9.00")
    return owner


def measured(service: Service, owner: Owner, **wanted: Any) -> Reply:
    """Asked for, measured here and now, and read."""
    asked = owner.caller.post(f"{DRAFT}/effects", wanted)
    assert asked.status == 202, asked.text
    assert services_of(service.app).background.measure_next()
    return owner.caller.get(asked.headers["Location"])


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """A service, its owner, and a measurement that is done: for questions that leave nothing behind."""
    with a_service(tmp_path_factory.mktemp("effects")) as service:
        owner = Owner(service)
        owner.caller.post("/v1/quotes", BATTERY)
        owner.open()
        owner.rate("9.00")
        yield service, owner, measured(service, owner).body


def test_an_effect_is_asked_for_and_watched(service: Service, owner: Owner):
    """It waits, then it is done; the newest of the book is the one."""
    asked = owner.caller.post(f"{DRAFT}/effects", {})
    waiting = asked.body
    assert (asked.status, waiting["state"], waiting["prices"], waiting["revision"]) == (202, "waiting", None, 2)
    assert owner.caller.get(asked.headers["Location"]).body == waiting
    services_of(service.app).background.measure_next()
    found = owner.caller.get(f"{DRAFT}/effects/newest").body
    assert (found["id"], found["state"], found["done"]) == (waiting["id"], "done", found["total"])
    assert sum(found["prices"]["counts"].values()) == found["prices"]["entries"]


@pytest.mark.parametrize("name", FILES)
def test_a_file_has_its_type(done: Any, name: str):
    """A picture's policy lets its own style sheet count and nothing else; a table has the service's."""
    _, owner, found = done
    file = owner.caller.get(f"/v1/effects/{found['id']}/{name}")
    kind = name.rpartition(".")[2]
    assert (file.status, file.headers["Content-Type"].partition(";")[0]) == (200, TYPES[kind])
    assert file.headers["X-Content-Type-Options"] == "nosniff"
    policies = file.headers.getlist("Content-Security-Policy")  # type: ignore[attr-defined]
    assert len(policies) == 1
    assert (policies[0] == PICTURE_POLICY) is (kind == "svg")
    assert file.content


def test_the_policy_of_pictures_is_the_one_that_they_ask_for():
    """As the drawing says."""
    assert PICTURE_POLICY == "default-src 'none'; style-src 'unsafe-inline'"


@pytest.mark.parametrize("name", ["none.csv", "prices.pdf", "..%2Fprices.csv", "PRICES.CSV", "x" * 1000, "%00"])
def test_a_file_that_there_is_not_is_404(done: Any, name: str):
    """Whatever its name."""
    _, owner, found = done
    assert owner.caller.get(f"/v1/effects/{found['id']}/{name}").status == 404


@pytest.mark.parametrize("effect", ["none", "x" * 1000, "é", "%00"])
def test_an_effect_that_there_is_not_is_404(done: Any, effect: str):
    """By each of its calls."""
    _, owner, _ = done
    assert owner.caller.get(f"/v1/effects/{effect}").status == 404
    assert owner.caller.get(f"/v1/effects/{effect}/prices.csv").status == 404
    assert owner.caller.send("DELETE", f"/v1/effects/{effect}").status == 404


def test_an_effect_is_cancelled(service: Service, owner: Owner):
    """It is not measured, and has no files; once more does nothing."""
    where = owner.caller.post(f"{DRAFT}/effects", {}).headers["Location"]
    for _ in range(2):
        assert owner.caller.send("DELETE", where).status == 204
    assert not services_of(service.app).background.measure_next()
    assert owner.caller.get(where).body["state"] == "cancelled"
    assert owner.caller.get(f"{where}/prices.csv").status == 404


def test_a_draft_with_faults_is_not_measured(owner: Owner):
    """The faults are told instead."""
    owner.edit(BENCH_RATE | {"value": "x"})
    refused = owner.caller.post(f"{DRAFT}/effects", {})
    assert (refused.status, refused.body["type"]) == (422, "/problems/book-flawed")


@pytest.mark.parametrize(
    ("wanted", "pointer"),
    [
        ({"quotes": -1}, "/quotes"),
        ({"quotes": 100_001}, "/quotes"),
        ({"quotes": "all"}, "/quotes"),
        ({"since": "yesterday"}, "/since"),
        ({"since": "0001-01-01"}, "/since"),
        ({"until": "9999-12-31"}, "/until"),
        ({"from": "2026-01-01"}, "/from"),
    ],
)
def test_a_range_that_makes_no_sense_is_refused(owner: Owner, wanted: dict[str, Any], pointer: str):
    """At the field."""
    refused = owner.caller.post(f"{DRAFT}/effects", wanted)
    assert (refused.status, errors(refused)[0][0]) == (422, pointer)


RANGES: list[tuple[dict[str, Any], int]] = [
    ({}, 4),
    ({"quotes": 3}, 3),
    ({"quotes": 0}, 0),
    ({"since": "2026-03-03"}, 3),
    ({"until": "2026-03-03"}, 2),
    ({"since": "2026-03-03", "until": "2026-03-03"}, 1),
    ({"since": "2026-03-04", "quotes": 1}, 1),
    ({"since": "2026-03-05", "until": "2026-03-04"}, 0),
    ({"since": "2026-03-06"}, 0),
]


def test_quotes_are_those_of_the_range_to_the_microsecond(service: Service, owner: Owner):
    """Issued in the first and in the last moment of a day, in UTC; another book's never."""
    for moment in (
        dt.datetime(2026, 3, 2, 23, 59, 59, 999_999, dt.UTC),
        dt.datetime(2026, 3, 3, 0, 0, 0, 0, dt.UTC),
        dt.datetime(2026, 3, 4, 0, 0, 0, 0, dt.UTC),
        dt.datetime(2026, 3, 5, 12, 0, 0, 0, dt.UTC),
    ):
        service.clock.now = moment
        assert owner.caller.post("/v1/quotes", BATTERY).status == 201
    assert owner.caller.post("/v1/quotes?book=peddrick-mills", BATTERY).status == 201
    for wanted, jobs in RANGES:
        found = measured(service, owner, **wanted).body
        assert found["quotes"]["jobs"] == jobs, wanted
        assert found["total"] == found["prices"]["entries"] + jobs
