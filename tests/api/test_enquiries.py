"""Enquiries: asked once, told to nobody else, dealt with by the desk."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from .asking import CONTACT, asked, begun, filled, kept
from .problems import pointers, problem
from .running import BATTERY, SCREEN, Caller, Service

DIAGNOSIS = {"device": "kessoway-4", "repairs": [{"procedure": "diagnosis"}]}


@pytest.fixture
def form(service: Service) -> Caller:
    """The form on the shop's site."""
    return service.caller("form")


@pytest.fixture
def desk(service: Service) -> Caller:
    """Somebody at the front desk."""
    return service.caller("desk")


def newest(desk: Caller) -> dict[str, Any]:
    """The enquiry that came last, whole."""
    (summary, *_) = desk.get("/v1/enquiries").body["enquiries"]
    found: dict[str, Any] = desk.get(f"/v1/enquiries/{summary['id']}").body
    return found


def quoted(desk: Caller, enquiry: dict[str, Any], **body: Any) -> Any:
    """The answer to making a quote of it as it was seen."""
    return desk.post(f"/v1/enquiries/{enquiry['id']}/quote", body, If_Match=f'"{enquiry["version"]}"')


def put_aside(desk: Caller, enquiry: dict[str, Any], because: str | None) -> Any:
    """The answer to putting it aside as it was seen."""
    path = f"/v1/enquiries/{enquiry['id']}/closing"
    return desk.post(path, {"because": because}, If_Match=f'"{enquiry["version"]}"')


def test_a_visitor_is_told_what_a_price_request_says_and_a_reference(service: Service, form: Caller):
    """The figures are those of POST /v1/prices; the price is said to bind nobody."""
    price = form.post("/v1/prices", BATTERY).body
    told = asked(service, form).body
    assert told["reference"] == "A2026-00001"
    assert told["indicative"] is True
    assert told["price"]["gross"] == price["totals"]["gross"]
    assert told["ceiling"] == price["ceiling"]
    assert told["formatted"]["price"]["gross"] == price["formatted"]["totals"]["gross"]
    assert price["formatted"]["ceiling"]["gross"] in told["formatted"]["indicative"]


def test_a_visitor_gets_no_id_no_contact_and_nothing_of_the_shop_back(service: Service, form: Caller, desk: Caller):
    """Who reads along learns nothing, and nothing leads to the enquiry."""
    reply = asked(service, form)
    assert "Location" not in reply.headers
    for secret in ("aoife", "555 0100", newest(desk)["id"], "economics", "margin", "Empty by noon"):
        assert secret not in reply.text


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", "/v1/enquiries"),
        ("GET", "/v1/enquiries/{id}"),
        ("POST", "/v1/enquiries/{id}/quote"),
        ("POST", "/v1/enquiries/{id}/closing"),
    ],
)
def test_a_form_reads_and_changes_no_enquiry(service: Service, form: Caller, desk: Caller, method: str, path: str):
    """Its key stands in the page for everybody to take."""
    asked(service, form)
    problem(form.send(method, path.format(id=newest(desk)["id"]), If_Match='"1"'), 403, "not-allowed")


def test_the_desk_reads_what_was_asked(service: Service, form: Caller, desk: Caller):
    """In the visitor's words, with how they are reached, where from, and the rates that the price came from."""
    told = asked(service, form).body
    enquiry = newest(desk)
    assert enquiry["contact"] == CONTACT
    assert (enquiry["noticed"], enquiry["standing"], enquiry["quote"]) == ("Empty by noon.", "new", None)
    assert enquiry["told_gross"] == told["price"]["gross"] == enquiry["indication"]["totals"]["gross"]
    assert enquiry["indication"]["book"]["version"] == 1


def test_the_desk_may_write_down_what_somebody_asked_on_the_phone(desk: Caller):
    """Without a token, and without a tick that nobody on the phone can set."""
    reply = desk.post("/v1/enquiries", filled(may_be_contacted=False))
    assert reply.status == 201
    assert desk.get(reply.headers["Location"]).body["noticed"] == "Empty by noon."


REFUSED: list[tuple[dict[str, Any], str, list[str]]] = [
    ({"homepage": "https://spam.example"}, "looks-automatic", ["/homepage"]),
    ({"may_be_contacted": False}, "invalid-value", ["/may_be_contacted"]),
    ({"contact": {"name": "Aoife"}}, "invalid-value", ["/contact"]),
    ({"contact": {"phone": "none"}}, "invalid-value", ["/contact/phone"]),
    ({"contact": {"email": "aoife@example@org"}}, "invalid-value", ["/contact/email"]),
    ({"contact": {"email": "aoife example.org"}}, "invalid-value", ["/contact/email"]),
    ({"contact": {"email": "aoife@example"}}, "invalid-value", ["/contact/email"]),
    ({"contact": {"name": "n" * 101, "phone": "+353 1 555 0100"}}, "invalid-value", ["/contact/name"]),
    ({"contact": {"name": "a\x00b", "phone": "+353 1 555 0100"}}, "invalid-value", ["/contact/name"]),
    ({"contact": {"name": "a\x9bb", "phone": "+353 1 555 0100"}}, "invalid-value", ["/contact/name"]),
    ({"noticed": "x" * 2001}, "invalid-value", ["/noticed"]),
    ({"noticed": "ring\x07"}, "invalid-value", ["/noticed"]),
    ({"noticed": 5}, "invalid-value", ["/noticed"]),
    ({"job": BATTERY | {"findings": ["leaking-or-hot-cell"]}}, "stopped-by-finding", ["/job/findings/0"]),
    ({"job": BATTERY | {"discount": {"rate": "0.5"}}}, "invalid-value", ["/job/discount"]),
    ({"job": BATTERY | {"date": "2026-03-02"}}, "invalid-value", ["/job/date"]),
    ({"job": BATTERY | {"device": "nothing"}}, "unknown-code", ["/job/device"]),
    (
        {"job": {"device": "nothing", "repairs": BATTERY["repairs"]}, "contact": {}},
        "job-refused",
        ["/contact", "/job/device"],
    ),
    ({"surname": "Example"}, "invalid-value", ["/surname"]),
    (
        {"contact": {"email": "x@", "phone": "abc"}, "may_be_contacted": False},
        "invalid-value",
        ["/contact/email", "/contact/phone", "/may_be_contacted"],
    ),
    ({"contact": {"email": "x@"}, "may_be_contacted": False}, "invalid-value", ["/contact/email", "/may_be_contacted"]),
    (
        {"job": BATTERY | {"urgency": "now"}, "contact": {"phone": "abc"}},
        "invalid-value",
        ["/contact/phone", "/job/urgency"],
    ),
]


@pytest.mark.parametrize(("members", "code", "where"), REFUSED)
def test_what_is_refused_is_not_kept(
    service: Service, form: Caller, members: dict[str, Any], code: str, where: list[str]
):
    """Each reason at its field, and the same form may be sent once more when it is right."""
    token = begun(service, form)
    refused = form.post("/v1/enquiries", filled(token, **members))
    assert sorted(pointers(refused, 422, code)) == where
    assert kept(service) == 0
    assert form.post("/v1/enquiries", filled(token)).status == 201


def test_a_dangerous_device_is_refused_with_what_to_do_now(service: Service, form: Caller):
    """The caution comes with the refusal."""
    refused = asked(service, form, job=BATTERY | {"findings": ["leaking-or-hot-cell"]})
    assert refused.body["errors"][0]["caution"]


def test_formulas_and_markup_are_text(service: Service, form: Caller, desk: Caller):
    """They come back as they were written."""
    said = '=HYPERLINK("x") <script>alert(1)</script> {{7*7}}'
    asked(service, form, noticed=said, contact={"name": "=1+1", "phone": "+353 1 555 0100"})
    enquiry = newest(desk)
    assert (enquiry["noticed"], enquiry["contact"]["name"]) == (said, "=1+1")


def test_a_form_is_sent_no_sooner_than_a_person_could(service: Service, form: Caller):
    """It is told how long to wait; the same is taken then."""
    token = form.post("/v1/enquiry-forms", {}).body["token"]
    early = form.post("/v1/enquiries", filled(token))
    problem(early, 422, "too-early")
    assert early.headers["Retry-After"] == "3"
    assert kept(service) == 0
    service.clock.forward(seconds=3)
    assert form.post("/v1/enquiries", filled(token)).status == 201


def test_a_form_is_open_for_twelve_hours(service: Service, form: Caller):
    """Up to the last moment."""
    tokens = [form.post("/v1/enquiry-forms", {}).body["token"] for _ in range(2)]
    service.clock.forward(hours=12, microseconds=-1)
    assert form.post("/v1/enquiries", filled(tokens[0])).status == 201
    service.clock.forward(microseconds=1)
    problem(form.post("/v1/enquiries", filled(tokens[1])), 422, "form-expired")
    assert kept(service) == 1


@pytest.mark.parametrize("spoilt", ["", "x", "1.a.b", "x.y.z"])
def test_a_forged_form_is_refused(service: Service, form: Caller, spoilt: str):
    """Whatever is put in place of its signature or its time."""
    opened, nonce, signature = begun(service, form).split(".")
    forged = spoilt if spoilt else f"{int(opened) + 1}.{nonce}.{signature}"
    problem(form.post("/v1/enquiries", filled(forged)), 422, "form-unknown")
    assert kept(service) == 0


def test_a_form_of_another_key_is_refused(service: Service, form: Caller):
    """A token is good for the key that it was made for."""
    token = begun(service, form)
    problem(service.caller("form").post("/v1/enquiries", filled(token)), 422, "form-unknown")


def test_a_form_without_token_is_refused(form: Caller):
    """It must have been begun."""
    assert pointers(form.post("/v1/enquiries", filled()), 422, "invalid-value") == ["/token"]


def test_one_form_is_one_enquiry(service: Service, form: Caller):
    """Sent again it gets the same answer, to the last byte and also much later; with something else it is refused."""
    token = begun(service, form)
    first = form.post("/v1/enquiries", filled(token))
    service.clock.forward(days=2)
    assert form.post("/v1/enquiries", filled(token)).text == first.text
    problem(form.post("/v1/enquiries", filled(token, noticed="something else")), 422, "form-used")
    assert kept(service) == 1


def test_sixteen_at_a_time_are_one_enquiry(service: Service, form: Caller):
    """Whoever is first; all get its answer."""
    token = begun(service, form)
    forms = [Caller(service.app, form.key, form.origin) for _ in range(16)]
    with ThreadPoolExecutor(16) as pool:
        replies = list(pool.map(lambda one: one.post("/v1/enquiries", filled(token)), forms))
    assert {reply.status for reply in replies} == {201}
    assert len({reply.text for reply in replies}) == 1
    assert kept(service) == 1


def test_ten_an_hour_come_from_one_address(service: Service, form: Caller):
    """The eleventh is told when; through any other key as well. What is sent again is none of them."""
    for number in range(10):
        assert asked(service, form, noticed=str(number)).status == 201
        service.clock.forward(seconds=55)
    other = service.caller("form")
    for caller in (form, other):
        refused = asked(service, caller)
        problem(refused, 429, "too-many-requests")
    assert kept(service) == 10
    service.clock.forward(seconds=int(refused.headers["Retry-After"]))
    assert asked(service, other).status == 201


def test_the_limit_counts_addresses_one_by_one(service: Service, form: Caller, desk: Caller):
    """The desk is not limited."""
    for _ in range(12):
        assert desk.post("/v1/enquiries", filled()).status == 201
    assert asked(service, form).status == 201


def test_a_sender_is_forgotten_after_a_day(service: Service, form: Caller):
    """With the next enquiry, whoever sends it."""
    asked(service, form)
    service.clock.forward(days=1, seconds=1)
    asked(service, form)
    senders = [row["sender"] for row in service.store.rows("select sender from enquiries order by id")]
    assert senders[0] == ""
    assert len(senders[1]) == 64
    assert "127.0.0.1" not in senders[1]


def test_enquiries_are_found_page_by_page(service: Service, form: Caller, desk: Caller):
    """By reference, standing, customer and device; the newest first."""
    asked(service, form)
    asked(service, form, job=SCREEN, contact={"name": "Breandán Example", "email": "b@example.org"})
    first = desk.get("/v1/enquiries?limit=1")
    second = desk.get(first.headers["Link"].partition(">")[0].removeprefix("<"))
    references = [page.body["enquiries"][0]["reference"] for page in (first, second)]
    assert references == ["A2026-00002", "A2026-00001"]
    assert "Link" not in second.headers
    for query, found in [
        ("reference=a2026-00001", ["A2026-00001"]),
        ("customer=breandan", ["A2026-00002"]),
        ("customer=01+555", ["A2026-00001"]),
        ("words=dunnec", ["A2026-00002"]),
        ("device=kessoway-5", ["A2026-00001"]),
        ("standing=closed", []),
    ]:
        reply = desk.get(f"/v1/enquiries?{query}")
        assert [each["reference"] for each in reply.body["enquiries"]] == found, query
    problem(desk.get("/v1/enquiries?after=x"), 422, "invalid-request")


def test_a_quote_is_made_of_an_enquiry(service: Service, form: Caller, desk: Caller):
    """Priced anew, for who asked; each knows the other, and how the price differs."""
    told = asked(service, form).body
    quote = quoted(desk, newest(desk))
    assert quote.status == 201
    assert desk.get(quote.headers["Location"]).text == quote.text
    assert quote.body["contact"] == CONTACT
    enquiry = newest(desk)
    assert enquiry["standing"] == "quoted"
    assert enquiry["quote"]["number"] == quote.body["number"]
    assert (enquiry["quote"]["gross"], enquiry["quote"]["difference"]) == (told["price"]["gross"], "0.00")
    found = desk.get(f"/v1/enquiries?quote={quote.body['id']}").body["enquiries"]
    assert [each["reference"] for each in found] == [told["reference"]]


def test_a_quote_is_of_today(service: Service, form: Caller, desk: Caller):
    """Not of the day on which somebody asked."""
    asked(service, form)
    service.clock.forward(days=3)
    assert quoted(desk, newest(desk)).body["job"]["date"] == "2026-03-05"


def test_no_second_quote_is_made(service: Service, form: Caller, desk: Caller):
    """Who has not seen the first gets 412, who has gets 409."""
    asked(service, form)
    seen = newest(desk)
    assert quoted(desk, seen).status == 201
    late = quoted(desk, seen)
    assert (late.status, late.body["type"]) == (412, "/problems/changed-meanwhile")
    assert late.body["meanwhile"] == ["A quote was made of the enquiry."]
    problem(quoted(desk, newest(desk)), 409, "conflict")
    problem(desk.post("/v1/quotes", BATTERY | {"enquiry": seen["id"]}), 409, "conflict")
    problem(put_aside(desk, newest(desk), "junk"), 409, "conflict")
    assert service.kept()[0] == 1


def test_two_at_a_time_make_one_quote(service: Service, form: Caller, desk: Caller):
    """The other one is told that somebody was quicker."""
    asked(service, form)
    seen = newest(desk)
    with ThreadPoolExecutor(8) as pool:
        replies = list(pool.map(lambda one: quoted(one, seen), [Caller(service.app, desk.key) for _ in range(8)]))
    assert sorted(reply.status for reply in replies) == [201] + [412] * 7
    assert service.kept()[0] == 1


def test_what_must_be_told_is_told_before_a_quote_is_made(service: Service, form: Caller, desk: Caller):
    """And nothing is kept until it is; the enquiry stays as it is."""
    asked(service, form, job=DIAGNOSIS)
    before = newest(desk)
    refused = quoted(desk, before)
    assert [error["allowed"] for error in problem(refused, 422, "notice-required")] == [["diagnosis-fee"]]
    assert newest(desk) == before
    assert service.kept()[0] == 0
    assert quoted(desk, before, told=["diagnosis-fee"]).status == 201


def test_the_body_may_be_left_out(service: Service, form: Caller, desk: Caller):
    """Where the law wants nothing told."""
    asked(service, form)
    enquiry = newest(desk)
    assert desk.send("POST", f"/v1/enquiries/{enquiry['id']}/quote", If_Match='"1"').status == 201


def test_the_desk_may_quote_something_else(service: Service, form: Caller, desk: Caller):
    """The quote of another job is linked all the same, and the difference is told."""
    told = asked(service, form).body
    enquiry = newest(desk)
    quote = desk.post("/v1/quotes", SCREEN | {"contact": CONTACT, "enquiry": enquiry["id"]})
    assert quote.status == 201
    linked = newest(desk)["quote"]
    assert linked["id"] == quote.body["id"]
    more = round(100 * (float(quote.body["totals"]["gross"]) - float(told["price"]["gross"])))
    assert round(100 * float(linked["difference"])) == more != 0
    problem(desk.post("/v1/quotes", SCREEN | {"enquiry": "nothing"}), 404, "not-found")


def test_an_enquiry_is_put_aside_and_taken_up_again(service: Service, form: Caller, desk: Caller):
    """With a reason that is one of a few."""
    asked(service, form)
    closed = put_aside(desk, newest(desk), "no-answer")
    assert (closed.body["standing"], closed.body["closed_because"]) == ("closed", "no-answer")
    assert closed.headers["ETag"] == '"2"'
    problem(put_aside(desk, newest(desk), "because"), 422, "invalid-value")
    again = put_aside(desk, newest(desk), None)
    assert (again.body["standing"], again.body["closed_because"]) == ("new", None)
    assert put_aside(desk, closed.body, "junk").status == 412


def test_changes_ask_for_the_version_that_was_seen(service: Service, form: Caller, desk: Caller):
    """428 without it (RFC 6585, section 3)."""
    asked(service, form)
    path = f"/v1/enquiries/{newest(desk)['id']}"
    problem(desk.post(f"{path}/quote", {}), 428, "if-match-required")
    problem(desk.post(f"{path}/closing", {"because": None}), 428, "if-match-required")


def test_what_was_told_stays_as_it_was(service: Service, form: Caller, desk: Caller):
    """In the visitor's locale whoever asks; the desk may read it in another."""
    told = asked(service, form, job=BATTERY | {"locale": "de-DE"}).body
    enquiry = newest(desk)
    assert told["locale"] == enquiry["locale"] == "de-DE"
    german = desk.get(f"/v1/enquiries/{enquiry['id']}?locale=de-DE").body
    assert german["formatted"]["told_gross"] == told["formatted"]["price"]["gross"]
