"""Who asks too often waits: visitors of the web form, and whoever guesses keys; nobody else."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import orjson
import pytest

from quoter.config import Settings

from .problems import problem
from .running import BATTERY, OFTEN, SITE, Caller, Service, a_service, seen

SMALL = Settings(form_requests_a_minute=6, form_key_requests_a_minute=10, wrong_keys_a_minute=3)


@pytest.fixture
def busy(tmp_path: Path) -> Iterator[Service]:
    """A service with small limits."""
    with a_service(tmp_path, settings=SMALL) as running:
        yield running


@pytest.fixture
def form(busy: Service) -> Caller:
    """A visitor of the form."""
    return busy.caller("form")


def at(caller: Caller, address: str) -> Caller:
    """The same from another place."""
    caller._client.environ_base["REMOTE_ADDR"] = address
    return caller


def test_a_visitor_is_told_how_far_they_may_go(busy: Service, form: Caller):
    """draft-ietf-httpapi-ratelimit-headers-11: q, w; r, t. Two policies, of which the tighter one's state is told."""
    first = form.post("/v1/prices", BATTERY)
    assert first.headers["RateLimit-Policy"] == '"form";q=6;w=60, "form-key";q=10;w=60'
    assert first.headers["RateLimit"] == '"form";r=5;t=10'
    assert form.get("/v1/devices").headers["RateLimit"] == '"form";r=4;t=10'
    busy.clock.forward(seconds=4)
    assert form.get("/v1/devices/none").headers["RateLimit"] == '"form";r=3;t=6'


def test_a_visitor_who_asks_too_often_waits(busy: Service, form: Caller):
    """RFC 6585 section 4: 429, and Retry-After says how long; then they may again."""
    for _ in range(6):
        assert form.post("/v1/prices", BATTERY).status == 200
    refused = form.post("/v1/prices", BATTERY)
    problem(refused, 429, "too-many-requests")
    assert (refused.headers["Retry-After"], refused.headers["RateLimit"]) == ("10", '"form";r=0;t=10')
    assert refused.headers["Access-Control-Allow-Origin"] == SITE
    busy.clock.forward(seconds=10)
    assert form.post("/v1/prices", BATTERY).status == 200
    assert form.post("/v1/prices", BATTERY).status == 429


def test_all_visitors_together_are_limited_by_the_key(form: Caller):
    """Those who come from many places at once."""
    statuses = [at(form, f"192.0.2.{number}").get("/v1/devices").status for number in range(12)]
    assert statuses == [200] * 10 + [429] * 2
    assert at(form, "192.0.2.99").get("/v1/devices").headers["RateLimit"] == '"form-key";r=0;t=6'


def test_addresses_of_one_network_share_what_they_may(form: Caller):
    """Who has IPv6 has 64 bits to choose from."""
    statuses = [at(form, f"2001:db8::{number}").get("/v1/devices").status for number in range(7)]
    assert statuses == [200] * 6 + [429]
    assert at(form, "2001:db8:0:1::1").get("/v1/devices").status == 200


def test_every_job_of_a_list_counts(form: Caller):
    """A list is no cheaper to answer than its jobs one by one."""
    assert form.post("/v1/prices", [BATTERY] * 4).headers["RateLimit"].startswith('"form";r=2;')
    problem(form.post("/v1/prices", [BATTERY] * 4), 429, "too-many-requests")


def test_a_page_of_another_site_takes_nothing_from_the_form(form: Caller):
    """It is refused before."""
    for _ in range(20):
        assert form.get("/v1/devices", Origin="https://other.example").status == 403
    assert form.get("/v1/devices").headers["RateLimit"] == '"form";r=5;t=10'


@pytest.mark.parametrize("scope", ["desk", "owner"])
def test_staff_are_not_limited(busy: Service, scope: str):
    """Nor told of limits."""
    staff = busy.caller(scope)
    replies = [staff.get("/v1/devices") for _ in range(30)]
    assert {reply.status for reply in replies} == {200}
    assert all("RateLimit" not in reply.headers and "RateLimit-Policy" not in reply.headers for reply in replies)


def test_guesses_at_keys_are_slowed_and_the_shop_goes_on(busy: Service):
    """From one network: no key that counts waits for those that do not, be it the first time that it comes."""
    desk, wrong = busy.caller("desk"), Caller(busy.app, "quoter_000000000000_x")
    assert [wrong.get("/v1/devices").status for _ in range(5)] == [401, 401, 401, 429, 429]
    refused = wrong.get("/v1/devices")
    problem(refused, 429, "too-many-requests")
    assert refused.headers["Retry-After"] == "20"
    assert desk.get("/v1/devices").status == 200
    busy.clock.forward(seconds=20)
    assert [wrong.get("/v1/devices").status for _ in range(2)] == [401, 429]


def test_beyond_the_limit_too_no_wrong_key_is_told_from_another(busy: Service):
    """A secret that is not the key's, an unknown id, one that is no key at all."""
    known = busy.new_key("desk").rpartition("_")[0]
    wrong = [Caller(busy.app, each) for each in (f"{known}_x", "quoter_000000000000_x", "x", "quoter", "_" * 300)]
    for each in wrong:
        each.get("/v1/devices")
    refused = [each.get("/v1/devices") for each in wrong]
    assert {each.status for each in refused} == {429}
    assert all(seen(each) == seen(refused[0]) for each in refused)


def test_who_sends_no_key_guesses_nothing(busy: Service):
    """A page whose session is over may ask on."""
    nobody = Caller(busy.app, None)
    assert {nobody.get("/v1/devices").status for _ in range(20)} == {401}
    assert busy.caller("desk").get("/v1/devices").status == 200


def test_guesses_at_the_door_are_slowed_too(busy: Service):
    """POST /sign-in, by a page that says so."""
    client, key = busy.app.test_client(), busy.new_key("owner")
    sent = {"Sec-Fetch-Site": "same-origin"}
    answers = [client.post("/sign-in", data={"key": "wrong"}, headers=sent) for _ in range(4)]
    assert [answer.status_code for answer in answers] == [403, 403, 403, 429]
    assert answers[-1].headers["Retry-After"] == "20"
    assert "Too many wrong keys" in answers[-1].text
    assert client.post("/sign-in", data={"key": key}, headers=sent).status_code == 303


@pytest.mark.parametrize(
    ("members", "status"),
    [
        ({"words": "x" * 5000}, 200),
        ({"device": "kessoway-5"}, 200),
        ({"device": "kessoway-5", "repair": "battery", "forged": "yes"}, 403),
        ({"device": "kessoway-5", "repair": "battery"}, 422),
    ],
    ids=["no device", "no repair", "from another site", "whole"],
)
def test_whatever_is_sent_by_the_form_without_scripts_is_counted(busy: Service, members: dict[str, str], status: int):
    """No way to make the service work is free, and who is refused gets no price worked out."""
    client, address = busy.app.test_client(), f"/ask/{busy.new_key('form').split('_')[1]}"
    site = "cross-site" if members.pop("forged", "") else "same-origin"
    answers = [client.post(address, data=members, headers={"Sec-Fetch-Site": site}) for _ in range(8)]
    assert [answer.status_code for answer in answers] == [status] * 6 + [429] * 2
    assert answers[-1].headers["Retry-After"] == "10"
    assert "About" not in answers[-1].text


@pytest.mark.parametrize(("jobs", "status"), [(20, 200), (21, 422)])
def test_a_forms_list_has_twenty_jobs_at_most(service: Service, jobs: int, status: int):
    """Both sides; staff may send more."""
    listed = [{"device": "kessoway-5", "repairs": [{"procedure": "battery"}]}] * jobs
    reply = service.caller("form").post("/v1/prices", listed)
    assert reply.status == status
    if status == 422:
        problem(reply, 422, "too-many")
    assert service.caller("desk").post("/v1/prices", listed).status == 200


@pytest.mark.parametrize(("size", "status"), [(20_000, 200), (20_001, 413)])
def test_a_forms_body_is_small(service: Service, size: int, status: int):
    """To the byte; staff may send more."""
    body = orjson.dumps(BATTERY).ljust(size)
    reply = service.caller("form").send("POST", "/v1/prices", body)
    assert reply.status == status
    if status == 413:
        problem(reply, 413, None)
        assert reply.headers["Access-Control-Allow-Origin"] == SITE
    assert service.caller("desk").send("POST", "/v1/prices", body).status == 200


def test_a_smaller_limit_of_the_service_counts_for_forms_too(tmp_path: Path):
    """QUOTER_MAX_BODY_BYTES."""
    with a_service(tmp_path, settings=replace(OFTEN, max_body_bytes=500)) as small:
        body = orjson.dumps(BATTERY).ljust(501)
        assert small.caller("form").send("POST", "/v1/prices", body).status == 413
