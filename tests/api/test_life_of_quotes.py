"""The life of a quote over the API: revised, decided on, reached, and all of it told."""

from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from threading import Barrier
from typing import Any

import orjson
import pytest

from quoter.api.http.problem_document import TITLES

from .owning import Owner
from .problems import pointers, problem
from .running import BATTERY, Caller, Reply, Service
from .test_quotes import ids, issued, pages

SWOLLEN = {"findings": ["swollen-cell"]}  # 141.95 instead of 99.95
CONTACT = {"name": "Zoë Example", "phone": "+353 1 555 0100", "email": "zoe@example.org"}


@pytest.fixture
def desk(service: Service) -> Caller:
    """Somebody at the front desk."""
    return service.caller("desk")


class Front:
    """A quote at the front desk, with the version that was seen last."""

    def __init__(self, caller: Caller, job: Any = BATTERY) -> None:
        self.caller, self.quote = caller, issued(caller, job)
        self.place, self.tag = f"/v1/quotes/{self.quote['id']}", '"1"'

    def seen(self, reply: Reply) -> Reply:
        """The answer, whose tag is remembered."""
        self.tag = reply.headers.get("ETag", self.tag)
        return reply

    def look(self, query: str = "") -> dict[str, Any]:
        """The quote as it is."""
        found: dict[str, Any] = self.seen(self.caller.get(f"{self.place}{query}")).body
        return found

    def send(self, what: str, document: Any, method: str = "POST", **headers: str) -> Reply:
        """A change of what was seen."""
        content = None if document is None else orjson.dumps(document)
        given = {"If_Match": self.tag, **headers}
        return self.seen(self.caller.send(method, f"{self.place}/{what}", content, **given))

    def revise(self, reason: str = "the bench found more", **changes: Any) -> Reply:
        """Another job."""
        return self.send("revisions", {"reason": reason, "job": changes})

    def decide(self, decision: str, revision: int = 1, **said: Any) -> Reply:
        """A decision at the counter."""
        document = {"decision": decision, "revision": revision, "name": "Zoë Example", "how": "counter", **said}
        return self.send("decisions", document)

    def history(self, query: str = "") -> list[dict[str, Any]]:
        """What has happened."""
        events: list[dict[str, Any]] = self.caller.get(f"{self.place}/history{query}").body["events"]
        return events


@pytest.fixture
def front(desk: Caller) -> Front:
    """A new quote."""
    return Front(desk)


def test_a_new_quote_says_what_stands_with_it(desk: Caller):
    """Contact and what was told as they were sent, one revision, nothing agreed, all decisions possible."""
    reply = desk.post("/v1/quotes", BATTERY | {"contact": CONTACT, "told": ["data-loss"]})
    quote = reply.body
    assert reply.headers["ETag"] == '"1"'
    assert (quote["version"], quote["contact"], quote["told"], quote["reason"]) == (1, CONTACT, ["data-loss"], "")
    assert (quote["decision"], quote["agreement"], quote["needs_consent"]) == (None, None, None)
    assert quote["next"] == ["accepted", "declined", "withdrawn"]
    (revision,) = quote["revisions"]
    assert (revision["revision"], revision["state"], revision["gross"]) == (1, "issued", "99.95")
    assert revision["formatted"] == {"issued_at": quote["formatted"]["issued_at"], "gross": "€99.95"}
    assert desk.get(reply.headers["Location"]).text == reply.text


@pytest.mark.parametrize(
    ("sent", "at"),
    [
        ({"contact": {"name": 7}}, "/contact/name"),
        ({"contact": {"name": "a\nb"}}, "/contact/name"),
        ({"contact": {"name": "x" * 201}}, "/contact/name"),
        ({"contact": {"phone": "1" * 51}}, "/contact/phone"),
        ({"contact": {"phone": "abc"}}, "/contact/phone"),
        ({"contact": {"email": "nobody"}}, "/contact/email"),
        ({"contact": {"fax": "1"}}, "/contact/fax"),
        ({"contact": None}, "/contact"),
        ({"told": "data-loss"}, "/told"),
        ({"told": ["data-loss"] * 51}, "/told"),
        ({"told": ["data-los"]}, "/told/0"),
        ({"discount": {"rate": "0.05", "reason": "a\u0000b"}}, "/discount/reason"),
    ],
)
def test_a_contact_that_is_none_is_refused_with_all_else(service: Service, desk: Caller, sent: Any, at: str):
    """And what is wrong with the job."""
    reply = desk.post("/v1/quotes", BATTERY | sent | {"urgency": "yesterday"})
    assert sorted(pointers(reply, 422, "invalid-value")) == sorted([at, "/urgency"])
    assert service.kept() == (0, 0)


def test_the_link_leads_to_the_revision_at_the_public_address(service: Service, front: Front):
    """That of the request where none is set."""
    link = front.look()["link"]
    assert link.startswith("http://localhost/q/")
    assert link.endswith("/1")
    service.app.config["PUBLIC_ADDRESS"] = "https://quotes.example.org/shop"
    assert front.look()["link"] == link.replace("http://localhost", "https://quotes.example.org/shop")


def test_a_link_is_replaced(front: Front):
    """Nothing else changes."""
    before = front.look()
    reply = front.send("link", None)
    assert reply.status == 200
    after = reply.body
    assert after["link"] != before["link"]
    changed = {"link", "version"}
    assert {name: after[name] for name in after if name not in changed} == {
        name: before[name] for name in before if name not in changed
    }


def test_a_revision_is_answered_as_the_quote_now_is(service: Service, front: Front):
    """Both revisions stay readable; the first is superseded."""
    service.clock.forward(hours=1)
    reply = front.revise("the cell is swollen", **SWOLLEN)
    assert reply.status == 201
    quote = reply.body
    assert (quote["revision"], quote["version"], quote["totals"]["gross"]) == (2, 2, "141.95")
    assert (quote["reason"], quote["state"], quote["job"]["findings"]) == (
        "the cell is swollen",
        "issued",
        ["swollen-cell"],
    )
    assert [(each["revision"], each["state"]) for each in quote["revisions"]] == [(1, "superseded"), (2, "issued")]
    assert front.look() == quote
    first = front.look("?revision=1")
    assert (first["state"], first["totals"], first["next"]) == ("superseded", front.quote["totals"], [])
    problem(front.caller.get(f"{front.place}?revision=3"), 404, "not-found")


def test_a_preview_is_what_the_revision_then_is(service: Service, front: Front):
    """But that nothing is kept of it, and no version needs to be named."""
    before = service.kept()
    body = {"reason": "swollen", "job": SWOLLEN}
    shown = front.caller.post(f"{front.place}/revisions/preview", body)
    assert shown.status == 200
    assert service.kept() == before
    assert shown.body["comparison"]["totals"]["gross"] == {"old": "99.95", "new": "141.95", "difference": "42.00"}
    revised = front.revise("swollen", **SWOLLEN).body
    assert shown.body["document"] == revised
    assert front.caller.get(f"{front.place}/comparison?old=1&new=2").body == shown.body["comparison"]


def test_a_comparison_has_its_figures_as_text(front: Front):
    """In the locale that is asked for, and in the words that the rate book has for it."""
    front.revise(**SWOLLEN)
    shown = front.caller.get(f"{front.place}/comparison?old=1&new=2&locale=de-DE").body
    formatted = shown["formatted"]
    assert formatted["totals"]["gross"] == {"old": "99,95\xa0€", "new": "141,95\xa0€", "difference": "+42,00\xa0€"}
    assert formatted["findings"] == {"added": ["Geblähter Akku"], "removed": []}
    assert len(formatted["lines"]) == len(shown["lines"])
    for line, text in zip(shown["lines"], formatted["lines"], strict=True):
        assert text["description"] == line["description"]
        assert (text["old"] is None) is (line["old"] is None)


@pytest.mark.parametrize("query", ["", "?old=1", "?old=0&new=1", "?old=1&new=x", "?old=1&new=1&locale=xx"])
def test_a_comparison_names_two_revisions(front: Front, query: str):
    """By their numbers."""
    problem(front.caller.get(f"{front.place}/comparison{query}"), 422, "invalid-request")


@pytest.mark.parametrize(
    ("body", "status", "code", "at"),
    [
        ({"job": SWOLLEN}, 422, "invalid-value", ["/reason"]),
        ({"reason": " ", "job": SWOLLEN}, 422, "invalid-value", ["/reason"]),
        ({"reason": "x", "job": {"device": "kessoway-4"}}, 422, "invalid-value", ["/job/device"]),
        ({"reason": "x", "job": {"findings": ["none"]}}, 422, "unknown-code", ["/job/findings/0"]),
        ({"reason": "x", "job": {"repairs": []}}, 422, "invalid-value", ["/job/repairs"]),
        ({"reason": "x", "book": "next"}, 422, "invalid-value", ["/book"]),
        ({"reason": "x"}, 422, "nothing-changed", ["/job"]),
        ({"reason": "x", "job": {"discount": {"rate": "0.5"}}}, 403, "not-allowed", ["/job/discount/rate", "/job"]),
    ],
)
def test_a_revision_that_is_refused_leaves_nothing(
    service: Service, front: Front, body: Any, status: int, code: str, at: list[str]
):
    """Every fault at its place in the body."""
    before = service.kept()
    assert pointers(front.send("revisions", body), status, code) == at
    assert service.kept() == before


def test_a_decision_is_answered_as_the_quote_now_is(front: Front):
    """With what was agreed to, also as text."""
    reply = front.decide("accepted", how="phone", contact="+353 1 555 0100", note="before noon")
    assert (reply.status, reply.headers["ETag"]) == (201, '"2"')
    quote = reply.body
    assert (quote["state"], quote["next"]) == ("accepted", ["withdrawn"])
    assert quote["agreement"] == {"revision": 1, "gross": "99.95", "limit": "99.95", "of": "gross"}
    assert quote["formatted"]["agreement"] == {"gross": "€99.95", "limit": "€99.95"}
    decision = quote["decision"]
    assert (decision["name"], decision["how"], decision["note"], decision["recorded_by"]) == (
        "Zoë Example",
        "phone",
        "before noon",
        "desk key",
    )
    assert ids(front.caller.get("/v1/quotes?state=accepted").body["quotes"]) == [quote["id"]]
    assert front.caller.get("/v1/quotes?state=issued").body["quotes"] == []


def test_a_price_beyond_what_was_agreed_needs_the_amount(front: Front):
    """It is named beforehand, and in the refusal."""
    front.decide("accepted")
    quote = front.revise(**SWOLLEN).body
    assert quote["needs_consent"] == {"extra": "42.00", "limit": "99.95", "of": "gross"}
    assert quote["formatted"]["needs_consent"] == {"extra": "€42.00", "limit": "€99.95"}
    (error,) = problem(front.decide("accepted", 2), 422, "consent-required")
    assert (error["pointer"], error["allowed"]) == ("/extra", ["42.00"])
    accepted = front.decide("accepted", 2, extra="42.00").body
    assert (accepted["state"], accepted["needs_consent"]) == ("accepted", None)
    assert (accepted["decision"]["extra"], accepted["formatted"]["decision"]["extra"]) == ("42.00", "€42.00")


@pytest.mark.parametrize(
    ("said", "code", "at"),
    [
        ({"name": ""}, "invalid-value", ["/name"]),
        ({"name": "  "}, "invalid-value", ["/name"]),
        ({"how": "link"}, "invalid-value", ["/how"]),
        ({"decision": "expired"}, "invalid-value", ["/decision"]),
        ({"at": "2026-03-02T09:29:59Z"}, "out-of-range", ["/at"]),
        ({"at": "2026-03-02T09:30:01Z"}, "out-of-range", ["/at"]),
        ({"at": "0001-01-01T00:00:00+14:00"}, "invalid-value", ["/at"]),
        ({"at": "2026-03-02T09:30:00"}, "invalid-value", ["/at"]),
        ({"extra": "1.00"}, "invalid-value", ["/extra"]),
        ({"extra": 1}, "invalid-value", ["/extra"]),
        ({"up_to": "sky"}, "invalid-value", ["/up_to"]),
        ({"revision": 0}, "invalid-value", ["/revision"]),
    ],
)
def test_a_decision_that_is_refused_leaves_nothing(service: Service, front: Front, said: Any, code: str, at: list[str]):
    """At its place."""
    assert pointers(front.decide(**{"decision": "accepted"} | said), 422, code) == at
    assert len(front.history()) == 1


def test_what_does_not_follow_is_a_conflict(service: Service, front: Front):
    """A decision on another revision, one that is not possible, one on what is over."""
    problem(front.decide("accepted", 2), 409, "conflict")
    front.decide("declined")
    problem(front.decide("declined"), 409, "conflict")
    service.clock.forward(days=40)
    over = front.look()
    assert (over["state"], over["next"]) == ("declined", ["withdrawn"])
    assert "revise it" in front.decide("accepted").body["detail"]
    assert front.revise().status == 201
    assert front.decide("accepted", 2).status == 201


def test_the_contact_is_changed_and_found(front: Front):
    """By part of each, however it is written."""
    reply = front.send("contact", CONTACT, "PUT")
    assert (reply.status, reply.body["contact"], reply.body["version"]) == (200, CONTACT, 2)
    for asked in ("zoe", "ZOË", "0100", "%2B353%201%20555", "example.org"):
        (found,) = front.caller.get(f"/v1/quotes?customer={asked}").body["quotes"]
        assert (found["id"], found["contact"]) == (front.quote["id"], CONTACT)
    for nobody in ("nobody", "%00", "%CC%81"):  # a NUL, an accent without a letter
        assert front.caller.get(f"/v1/quotes?customer={nobody}").body["quotes"] == []
    again = front.send("contact", CONTACT, "PUT")
    assert (again.status, again.body["version"]) == (200, 2)
    assert front.send("contact", {}, "PUT").body["contact"] == dict.fromkeys(CONTACT, "")


def test_pages_keep_the_customer_that_was_asked_for(service: Service, desk: Caller):
    """With its signs."""
    for name in ("Zoë A", "B", "Zoë C", "Zoë D"):
        issued(desk, BATTERY | {"contact": {"name": name}})
        service.clock.forward(seconds=1)
    found = pages(desk, "/v1/quotes?limit=2&customer=zo%C3%AB")
    assert [[quote["contact"]["name"] for quote in page] for page in found] == [["Zoë D", "Zoë C"], ["Zoë A"]]


def test_the_history_tells_everything_in_order(service: Service, front: Front):
    """In sentences, with the moment where the shop is; who and when always."""
    front.decide("accepted")
    service.clock.forward(hours=3)
    front.revise("the cell is swollen", **SWOLLEN)
    front.decide("accepted", 2, extra="42.00", up_to="ceiling")
    front.send("contact", CONTACT, "PUT")
    front.send("link", None)
    front.decide("withdrawn", 2)
    events = front.history()
    assert [event["version"] for event in events] == list(range(1, 8))
    assert [event["formatted"]["text"] for event in events] == [
        "desk key issued the quote.",
        "Zoë Example accepted revision 1; recorded by desk key.",
        "desk key issued revision 2: the cell is swollen",
        "Zoë Example accepted revision 2 up to its ceiling and to pay €42.00 more than agreed before; "
        "recorded by desk key.",
        "desk key changed how the customer is reached.",
        "desk key replaced the customer's link; the old one leads nowhere any more.",
        "Zoë Example withdrew revision 2; recorded by desk key.",
    ]
    assert events[2]["formatted"]["at"] == "2 Mar 2026, 12:30"
    assert events[2]["data"]["gross"] == {"old": "99.95", "new": "141.95"}
    assert front.history("?locale=de-DE")[2]["formatted"]["at"] == "02.03.2026, 12:30"


CHANGES: list[tuple[str, str, Any]] = [
    ("POST", "revisions", {"reason": "x", "job": SWOLLEN}),
    ("POST", "decisions", {"decision": "accepted", "revision": 1, "name": "A", "how": "counter"}),
    ("PUT", "contact", CONTACT),
    ("POST", "link", None),
]


@pytest.mark.parametrize(("method", "what", "body"), CHANGES, ids=[what for _, what, _ in CHANGES])
def test_who_changes_a_quote_says_which_version_they_saw(front: Front, method: str, what: str, body: Any):
    """Without it 428, with another 412, and what has happened meanwhile, and nothing is overwritten."""
    content = None if body is None else orjson.dumps(body)
    problem(front.caller.send(method, f"{front.place}/{what}", content), 428, "if-match-required")
    front.decide("declined")
    for seen, told in (('"1"', 1), ("nonsense", 2), ('"9"', 0)):
        reply = front.caller.send(method, f"{front.place}/{what}", content, If_Match=seen)
        assert (reply.status, reply.headers["ETag"]) == (412, '"2"')
        assert reply.body["title"] == TITLES["changed-meanwhile"]
        lines = reply.body.get("meanwhile", [])
        assert len(lines) == told
        assert lines[-1:] == ["Zoë Example declined revision 1; recorded by desk key."][:told]
    assert len(front.history()) == 2


@pytest.mark.parametrize("path", ["history", "comparison?old=1&new=1"])
def test_what_is_not_there_is_not_found(desk: Caller, path: str):
    """No history is made up."""
    problem(desk.get(f"/v1/quotes/none/{path}"), 404, "not-found")


@pytest.mark.parametrize(
    ("query", "pointer"),
    [("comparison?old=1&new=7", "/new"), ("comparison?old=7&new=1", "/old"), ("?revision=7", "/revision")],
)
def test_a_revision_that_is_not_there_is_pointed_at(front: Front, query: str, pointer: str):
    """By the parameter that names it, with those that there are."""
    path = front.place + (query if query.startswith("?") else f"/{query}")
    (error,) = problem(front.caller.get(path), 404, "not-found")
    assert (error["pointer"], error["allowed"]) == (pointer, ["1"])


@pytest.mark.parametrize("phone", ["abc", "12", "555 ext 5"])
def test_a_number_that_nobody_can_call_is_not_kept(front: Front, phone: str):
    """As an enquiry does not keep it."""
    assert pointers(front.send("contact", {"phone": phone}, "PUT"), 422, "invalid-value") == ["/phone"]
    assert front.look()["version"] == 1


@pytest.mark.parametrize(("method", "what", "body"), CHANGES, ids=[what for _, what, _ in CHANGES])
def test_a_quote_that_is_not_there_is_not_changed(desk: Caller, method: str, what: str, body: Any):
    """Whatever version was seen."""
    content = None if body is None else orjson.dumps(body)
    problem(desk.send(method, f"/v1/quotes/none/{what}", content, If_Match='"1"'), 404, "not-found")


def test_a_revision_stays_with_its_rates_unless_the_current_ones_are_asked_for(service: Service, front: Front):
    """The owner allows more time meanwhile."""
    owner = Owner(service)
    owner.open()
    owner.edit({"do": "set", "table": "book.toml", "key": "labour.allowance", "value": "0.50"})
    assert owner.publish().status == 201
    pinned = front.revise(**SWOLLEN).body
    assert (pinned["book"]["version"], pinned["totals"]["gross"]) == (1, "141.95")
    current = front.send("revisions", {"reason": "new rates", "book": "current"}).body
    assert current["book"]["version"] == 2
    assert Decimal(current["totals"]["gross"]) > Decimal("141.95")


def test_of_two_requests_at_once_one_wins(service: Service, front: Front):
    """The other gets 412 with what the winner did; both are answered, nothing is lost."""
    together, other = Barrier(2), Front.__new__(Front)
    other.__dict__ |= {"caller": service.caller("desk"), "place": front.place, "tag": front.tag}

    def attempt(somebody: Front, decision: str) -> Reply:
        together.wait()
        return somebody.decide(decision)

    with ThreadPoolExecutor(2) as pool:
        asked = [pool.submit(attempt, front, "accepted"), pool.submit(attempt, other, "declined")]
        replies = sorted((each.result() for each in asked), key=lambda reply: reply.status)
    assert [reply.status for reply in replies] == [201, 412]
    won = replies[0].body["state"]
    assert replies[1].body["meanwhile"] == [f"Zoë Example {won} revision 1; recorded by desk key."]
    assert [event["kind"] for event in front.history()] == ["issued", won]
