"""POST /v1/prices: what a job costs, alone or in a list; nothing is kept."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from .problems import pointers, problem
from .running import BATTERY, SCREEN, Caller, Service

UNKNOWN = {"device": "kessoway-5", "repairs": [{"procedure": "polish"}]}


@pytest.fixture(scope="module")
def desk(shared: Service) -> Caller:
    """Somebody at the front desk."""
    return shared.caller("desk")


def test_a_job_is_priced(desk: Caller):
    """Net and tax come to gross, and what was left open is filled in."""
    price = desk.post("/v1/prices", BATTERY).body
    totals = {name: Decimal(amount) for name, amount in price["totals"].items()}
    assert totals["net"] + totals["tax"] == totals["gross"]
    assert sum(Decimal(line["net"]) for line in price["lines"]) == totals["net"]
    assert price["currency"] == "EUR"
    assert price["job"]["date"] == "2026-03-02"
    assert price["job"]["customer"] == {"kind": "consumer"}


def test_a_price_names_the_book_it_is_from(desk: Caller):
    """Code, version and digest, so that it can be worked out again."""
    book = desk.post("/v1/prices", BATTERY).body["book"]
    assert (book["code"], book["version"], len(book["digest"])) == ("ballyquarn", 1, 64)


def test_a_price_is_not_kept(shared: Service, desk: Caller):
    """Whatever is asked, nothing is written."""
    before = shared.kept()
    desk.post("/v1/prices", [BATTERY, SCREEN])
    assert shared.kept() == before


def test_the_same_job_has_the_same_price_twice(desk: Caller):
    """Byte for byte."""
    assert desk.post("/v1/prices", BATTERY).text == desk.post("/v1/prices", BATTERY).text


def test_a_list_is_answered_in_its_order_with_problems_in_place(desk: Caller):
    """The refused job's place is taken by its problem, as it would be answered alone."""
    first, second, third, fourth = desk.post("/v1/prices", [BATTERY, UNKNOWN, SCREEN, 7]).body
    assert first == desk.post("/v1/prices", BATTERY).body
    assert second == desk.post("/v1/prices", UNKNOWN).body
    assert third["job"]["device"] == "dunnec-21"
    assert (fourth["status"], fourth["errors"][0]["pointer"]) == (422, "")


def test_an_empty_list_is_answered_by_an_empty_list(desk: Caller):
    """Nothing asked, nothing answered."""
    assert desk.post("/v1/prices", []).body == []


def test_a_thousand_jobs_are_priced_at_once(shared: Service, desk: Caller):
    """All of them, in one answer; not one by one looked at as closely as the others are."""
    job = {"device": "kessoway-4", "repairs": [{"procedure": "diagnosis"}]}
    headers = {"Authorization": f"Bearer {desk.key}"}
    with shared.app.test_client().post("/v1/prices", json=[job] * 1000, headers=headers) as answer:
        prices = answer.json
    assert [price["totals"]["gross"] for price in prices] == [prices[0]["totals"]["gross"]] * 1000


def test_more_than_a_thousand_jobs_are_refused(desk: Caller):
    """Not one of them is priced."""
    problem(desk.post("/v1/prices", [BATTERY] * 1001), 422, "too-many")


def test_the_book_is_chosen_by_its_code(desk: Caller):
    """The other branch quotes in its own currency."""
    price = desk.post("/v1/prices?book=peddrick-mills", BATTERY).body
    assert (price["currency"], price["book"]["code"]) == ("USD", "peddrick-mills")


def test_an_unknown_book_is_not_found_and_the_known_ones_are_named(desk: Caller):
    """404, at the parameter."""
    (error,) = problem(desk.post("/v1/prices?book=atlantis", BATTERY), 404, "not-found")
    assert (error["pointer"], error["allowed"]) == ("/book", ["ballyquarn", "peddrick-mills"])


@pytest.mark.parametrize(
    ("moment", "book", "day"),
    [
        # Dublin keeps UTC in winter, Chicago is six hours behind.
        (dt.datetime(2026, 3, 2, 23, 59, tzinfo=dt.UTC), "ballyquarn", "2026-03-02"),
        (dt.datetime(2026, 3, 3, 0, 0, tzinfo=dt.UTC), "ballyquarn", "2026-03-03"),
        (dt.datetime(2026, 3, 3, 5, 59, tzinfo=dt.UTC), "peddrick-mills", "2026-03-02"),
        (dt.datetime(2026, 3, 3, 6, 0, tzinfo=dt.UTC), "peddrick-mills", "2026-03-03"),
        # Irish summer time begins on 29 March 2026.
        (dt.datetime(2026, 3, 29, 23, 0, tzinfo=dt.UTC), "ballyquarn", "2026-03-30"),
    ],
)
def test_today_is_the_day_where_the_shop_is(service: Service, moment: dt.datetime, book: str, day: str):
    """Whose tax rates count is not for the server's clock to say."""
    service.clock.now = moment
    assert service.caller("desk").post(f"/v1/prices?book={book}", BATTERY).body["job"]["date"] == day


def test_a_part_may_be_chosen_for_a_slot_or_done_without(desk: Caller):
    """`parts` names a SKU, or null."""
    price = desk.post("/v1/prices", BATTERY | {"parts": {"battery": "QK5-CEL-C", "seal": None}}).body
    assert [line["ref"] for line in price["lines"] if line["kind"] == "part"] == ["QK5-CEL-C"]


def test_a_device_that_must_not_be_worked_on_has_no_price_but_a_caution(desk: Caller):
    """A leaking or hot cell stops the job and says what to do now."""
    reply = desk.post("/v1/prices", BATTERY | {"findings": ["leaking-or-hot-cell"]})
    (error,) = problem(reply, 422, "stopped-by-finding")
    assert error["pointer"] == "/findings/0"
    assert error["caution"]


def test_every_wrong_field_is_named_at_once(desk: Caller):
    """Those that are not of the form of a job, and those that the book does not know."""
    job = {
        "device": "kessoway-5",
        "repairs": [{"procedure": "polish"}, {"procedure": 7}, {"procedure": "battery", "colour": "red"}, "screen"],
        "parts": {"engine": "X", "battery": 5, "value": "Y"},
        "findings": ["swollen-cell", "haunted", None],
        "customer": {"kind": "friend"},
        "urgency": "yesterday",
        "discount": {"rate": "2.00", "because": "nice"},
        "payment": None,
        "locale": "en-ZZ",
        "date": "02.03.2026",
        "device_name": "Kessoway",
    }
    wrong = "/customer/kind /date /device_name /discount/because /discount/rate /findings/1 /findings/2 /locale"
    wrong += " /parts/battery /parts/engine /parts/value /payment /repairs/0/procedure /repairs/1/procedure"
    wrong += " /repairs/2/colour /repairs/3 /urgency"
    assert sorted(pointers(desk.post("/v1/prices", job), 422, "job-refused")) == wrong.split()


@pytest.mark.parametrize(
    ("change", "pointer", "allowed"),
    [
        ({"customer": {"kind": "friend"}}, "/customer/kind", "consumer business exempt"),
        ({"urgency": "yesterday"}, "/urgency", "standard express"),
        ({"payment": "shells"}, "/payment", "cash other"),
        ({"customer": {"name": "X"}}, "/customer/name", "kind"),
        ({"repairs": [{"procedure": "battery", "sku": "X"}]}, "/repairs/0/sku", "procedure grade part"),
        ({"discount": {"rate": "0.1", "share": "0.1"}}, "/discount/share", "rate reason"),
        ({"repairs": [{"procedure": "battery", "grade": "gold"}]}, "/repairs/0/grade", "genuine compatible reclaimed"),
        ({"repairs": [{"procedure": "battery", "part": "X"}]}, "/repairs/0/part", "QK5-CEL-G QK5-CEL-C"),
        ({"parts": {"battery": "QK4-CEL-G"}}, "/parts/battery", "QK5-CEL-G QK5-CEL-C"),
    ],
)
def test_what_would_be_right_is_named(desk: Caller, change: dict[str, Any], pointer: str, allowed: str):
    """The values, or the fields, that there are."""
    reply = desk.post("/v1/prices", BATTERY | change)
    (error,) = problem(reply, 422, reply.body["type"].removeprefix("/problems/"))
    assert (error["pointer"], error["allowed"]) == (pointer, allowed.split())


def test_of_a_thousand_wrong_fields_a_hundred_are_told(desk: Caller):
    """An answer stays in proportion to what was asked."""
    job = BATTERY | {f"x{n}": n for n in range(1000)}
    assert len(pointers(desk.post("/v1/prices", job), 422, "invalid-value")) == 100
