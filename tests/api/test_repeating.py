"""Requests that are sent again with their Idempotency-Key (draft-ietf-httpapi-idempotency-key-header-07)."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

import quoter.app  # noqa: F401 - declares every operation
from quoter.api.http.operations import OPERATIONS, Operation
from quoter.service.clock import stamp

from .asking import begun, filled
from .owning import BENCH_RATE, BOOK, DRAFT, Owner
from .problems import problem
from .running import BATTERY, SCREEN, Reply, Service, a_service

NAME = "6b1f7c1e-3a5d-4a8e-9f57-0f2f6f3a7c11"
KEPT_HEADERS = ("Content-Type", "Location", "ETag")

NOT_REPEATABLE = {"beginEnquiry": "keeps nothing; a second token does no harm"}
"""Operations that answer 201 or 202 and take no Idempotency-Key, with the reason."""


def told(reply: Reply) -> tuple[object, ...]:
    """Everything of an answer that a client acts on."""
    return (reply.status, reply.content, *(reply.headers.get(name) for name in KEPT_HEADERS))


def replies(service: Service) -> list[dict[str, object]]:
    """What is kept for repetition."""
    return service.store.rows("select * from replies")


@pytest.mark.parametrize("declared", OPERATIONS.values(), ids=lambda declared: declared.id)
def test_what_makes_something_may_be_repeated(declared: Operation):
    """Or there is a reason; and what only shows needs no name."""
    if {201, 202} & set(declared.answers):
        assert declared.repeatable or NOT_REPEATABLE.get(declared.id)
    if declared.repeatable:
        assert declared.method == "POST"
        assert declared.scopes


def test_a_quote_is_issued_once(service: Service):
    """The second answer is the first, byte for byte, also after the quote has changed."""
    desk = service.caller("desk")
    first = desk.post("/v1/quotes", BATTERY, Idempotency_Key=f'"{NAME}"')
    assert first.status == 201
    kept = service.kept()
    link = desk.send("POST", f"{first.headers['Location']}/link", If_Match='"1"')
    assert link.headers["ETag"] == '"2"'
    service.clock.forward(hours=23)
    again = desk.post("/v1/quotes", BATTERY, Idempotency_Key=f'"{NAME}"')
    assert told(again) == told(first)
    assert service.kept() == kept


def test_without_a_name_each_request_is_one_of_its_own(service: Service):
    """As ever; nothing is kept for repetition."""
    desk = service.caller("desk")
    assert [desk.post("/v1/quotes", BATTERY).body["number"] for _ in range(2)] == ["2026-00001", "2026-00002"]
    assert replies(service) == []


def test_a_body_that_says_the_same_is_the_same(service: Service):
    """Members in another order, other spaces; the name as a bare token."""
    desk = service.caller("desk")
    first = desk.post("/v1/quotes?book=ballyquarn", BATTERY, Idempotency_Key=f'"{NAME}"')
    content = b'{ "repairs": [{"grade": "genuine", "procedure": "battery"}],\n "device": "kessoway-5" }'
    again = desk.send("POST", "/v1/quotes?book=ballyquarn", content, Idempotency_Key=NAME)
    assert told(again) == told(first)


def test_another_request_needs_another_name(service: Service):
    """Another body, other parameters, another call: 422, and nothing is done."""
    owner = service.caller("owner")
    issued = owner.post("/v1/quotes", BATTERY, Idempotency_Key=NAME)
    kept = service.kept()
    for path, body in [
        ("/v1/quotes", SCREEN),
        ("/v1/quotes?book=ballyquarn", BATTERY),
        (f"{issued.headers['Location']}/link", BATTERY),
        (DRAFT, {}),
    ]:
        problem(owner.post(path, body, Idempotency_Key=NAME, If_Match='"1"'), 422, "idempotency-key-reused")
    assert service.kept() == kept
    assert owner.get(DRAFT).status == 404


def test_what_a_form_was_told_goes_with_the_enquiry(service: Service):
    """Its answer does not tell where the enquiry is, and is found all the same."""
    form, owner = service.caller("form"), service.caller("owner")
    body = filled(begun(service, form))
    assert form.post("/v1/enquiries", body, Idempotency_Key=NAME).status == 201
    assert owner.post("/v1/customers/erasure", {"email": body["contact"]["email"]}).body["replies"] == 1
    problem(form.post("/v1/enquiries", body, Idempotency_Key=NAME), 409, "idempotency-key-erased")


def test_what_was_erased_is_not_made_anew_by_a_repetition(service: Service):
    """Of the answer stays that there was one; after a day its name is free again."""
    owner, body = service.caller("owner"), BATTERY | {"contact": {"name": "Quillfeather", "phone": "01 555 0100"}}
    issued = owner.post("/v1/quotes", body, Idempotency_Key=NAME)
    erased = owner.post("/v1/customers/erasure", {"phone": "015550100"})
    assert (erased.status, erased.body["replies"]) == (200, 1)
    kept = service.kept()
    for repeated in (body, BATTERY):
        problem(owner.post("/v1/quotes", repeated, Idempotency_Key=NAME), 409, "idempotency-key-erased")
    assert owner.post("/v1/customers/erasure", {"quote": issued.body["number"]}).body["replies"] == 0
    (row,) = replies(service)
    assert (row["body"], row["headers"], row["request_sha256"]) == (b"", "{}", "")
    service.clock.forward(hours=24)
    assert owner.post("/v1/quotes", BATTERY, Idempotency_Key=NAME).status == 201
    assert service.kept() != kept


def test_names_belong_to_who_gives_them(service: Service):
    """Two keys may give the same one to requests that have nothing to do with each other."""
    one, other = service.caller("desk"), service.caller("desk")
    first = one.post("/v1/quotes", BATTERY, Idempotency_Key=NAME)
    second = other.post("/v1/quotes", SCREEN, Idempotency_Key=NAME)
    assert (first.status, second.status) == (201, 201)
    assert first.body["number"] != second.body["number"]


def test_who_may_not_issue_learns_nothing_from_a_name(service: Service):
    """The key is asked first."""
    service.caller("desk").post("/v1/quotes", BATTERY, Idempotency_Key=NAME)
    problem(service.caller("form").post("/v1/quotes", BATTERY, Idempotency_Key=NAME), 403, "not-allowed")
    problem(service.caller(None).post("/v1/quotes", BATTERY, Idempotency_Key=NAME), 401, "key-required")


def test_a_refused_attempt_leaves_its_name_free(service: Service):
    """What was wrong is mended and sent under the same name; the precondition may be another as well."""
    desk = service.caller("desk")
    problem(desk.post("/v1/quotes", BATTERY | {"device": "brick"}, Idempotency_Key=NAME), 422, "unknown-code")
    assert (replies(service), service.kept()) == ([], (0, 0))
    place = desk.post("/v1/quotes", BATTERY, Idempotency_Key=NAME).headers["Location"]
    revision = {"reason": "express", "job": {"urgency": "express"}}
    problem(desk.post(f"{place}/revisions", revision, If_Match='"7"', Idempotency_Key="r"), 412, "changed-meanwhile")
    revised = desk.post(f"{place}/revisions", revision, If_Match='"1"', Idempotency_Key="r")
    assert (revised.status, revised.headers["ETag"]) == (201, '"2"')
    assert told(desk.post(f"{place}/revisions", revision, If_Match='"1"', Idempotency_Key="r")) == told(revised)


def test_a_name_is_free_again_after_a_day(service: Service):
    """By the clock: a moment before 24 hours have passed it is the same request; then a new one."""
    desk = service.caller("desk")
    first = desk.post("/v1/quotes", BATTERY, Idempotency_Key=NAME)
    desk.post("/v1/quotes", BATTERY, Idempotency_Key="other")
    service.clock.forward(hours=24, microseconds=-1)
    assert told(desk.post("/v1/quotes", BATTERY, Idempotency_Key=NAME)) == told(first)
    service.clock.forward(microseconds=1)
    second = desk.post("/v1/quotes", BATTERY, Idempotency_Key=NAME)
    assert second.body["number"] == "2026-00003"
    assert [(row["name"], row["at"]) for row in replies(service)] == [(NAME, stamp(service.clock()))]


def test_what_is_kept_says_what_it_is_about(service: Service):
    """The path of what was made, so that it can be found when somebody's data is erased."""
    desk = service.caller("desk")
    place = desk.post("/v1/quotes", BATTERY, Idempotency_Key="a").headers["Location"]
    decision = {"decision": "declined", "revision": 1, "name": "A. Example", "how": "counter"}
    desk.post(f"{place}/decisions", decision, If_Match='"1"', Idempotency_Key="b")
    assert [row["about"] for row in replies(service)] == [place, f"{place}/decisions"]


def test_the_owners_calls_are_done_once(service: Service):
    """A draft is opened, measured and published, and an earlier version comes back, each once."""
    owner = Owner(service)
    sent = [(DRAFT, {}), (f"{DRAFT}/effects", {"quotes": 0})]
    for place, (path, body) in enumerate(sent):
        first = owner.caller.post(path, body, Idempotency_Key=f"n{place}")
        assert first.status in (201, 202)
        assert told(owner.caller.post(path, body, Idempotency_Key=f"n{place}")) == told(first)
    owner.look()
    owner.edit(BENCH_RATE | {"value": "3.20"})
    for path, body in [
        (f"{DRAFT}/publication", {"reason": "dearer"}),
        (f"{BOOK}/returns", {"version": 1, "reason": "a slip"}),
    ]:
        first = owner.caller.post(path, body, Idempotency_Key=path[-9:], If_Match=owner.tag)
        assert first.status == 201
        assert told(owner.caller.post(path, body, Idempotency_Key=path[-9:], If_Match=owner.tag)) == told(first)
    assert [each["version"] for each in owner.caller.get(f"{BOOK}/versions").body["versions"]] == [3, 2, 1]


@pytest.mark.parametrize("name", ["a", "~" * 255, r'"with \" and \\"'.replace(" ", "_"), '"a,b;c"', "a:b/c=d", "*"])
def test_names_that_are_taken(service: Service, name: str):
    """1 to 255 visible signs, in quotes (RFC 9651 section 3.3.3) or bare."""
    desk = service.caller("desk")
    first, again = (desk.post("/v1/quotes", BATTERY, Idempotency_Key=name) for _ in range(2))
    assert first.status == 201
    assert told(again) == told(first)


@pytest.mark.parametrize(
    "name", ["", '""', '"', '"a', 'a"', "a b", '"a b"', "a, b", "a,b", "x" * 256, "é", '"a";b', r'"\a"', "a\tb"]
)
def test_names_that_are_none(service: Service, name: str):
    """400, and nothing is done: who sends one counts on it."""
    desk = service.caller("desk")
    problem(desk.post("/v1/quotes", BATTERY, Idempotency_Key=name), 400, "idempotency-key-unreadable")
    assert service.kept() == (0, 0)


def test_a_name_does_not_make_a_body_readable(service: Service):
    """What is no JSON is refused as ever."""
    desk = service.caller("desk")
    problem(desk.send("POST", "/v1/quotes", b"{", Idempotency_Key=NAME), 400, "unreadable")
    sent = desk.send("POST", "/v1/quotes", b"{}", Idempotency_Key=NAME, Content_Type="text/plain")
    problem(sent, 415, "wrong-content-type")


def test_who_cannot_wait_for_the_first_is_told_to_come_back(tmp_path: Path):
    """503 with Retry-After while another transaction lasts too long; afterwards it is done, once."""
    with a_service(tmp_path, wait_seconds=0.1) as service:
        desk = service.caller("desk")
        with closing(sqlite3.connect(service.store.path, isolation_level=None)) as other:
            other.execute("begin immediate")
            reply = desk.post("/v1/quotes", BATTERY, Idempotency_Key=NAME)
        problem(reply, 503, "unavailable")
        assert reply.headers["Retry-After"] == "10"
        first, again = (desk.post("/v1/quotes", BATTERY, Idempotency_Key=NAME) for _ in range(2))
        assert (first.status, first.body["number"]) == (201, "2026-00001")
        assert told(again) == told(first)
