"""What is held on a customer, over the API: exported, erased, and told to whoever had a quote open."""

from typing import Any

import pytest

from .running import BATTERY, Caller, Service

CONTACT = {"name": "Quillfeather Example", "phone": "+353 1 555 0100", "email": "quillfeather@example.org"}


def issued(caller: Caller) -> Any:
    """A new quote of theirs."""
    reply = caller.post("/v1/quotes", BATTERY | {"contact": CONTACT})
    assert reply.status == 201, reply.text
    return reply.body


def test_everything_is_exported_for_the_customer_to_read(service: Service):
    """Contact, revisions, decisions with notes; no costs and nothing of the shop's own."""
    owner = service.caller("owner")
    quote = issued(owner)
    said = {"decision": "declined", "revision": 1, "name": "Quillfeather", "how": "counter", "note": "too dear"}
    owner.post(f"/v1/quotes/{quote['id']}/decisions", said, If_Match='"1"')
    reply = owner.post("/v1/customers/export", {"email": "QUILLFEATHER@example.org"})
    assert (reply.status, reply.headers["Cache-Control"]) == (200, "no-store")
    (held,) = reply.body["quotes"]
    assert (held["number"], held["contact"], held["state"]) == (quote["number"], CONTACT, "declined")
    assert [each["totals"] for each in held["revisions"]] == [quote["totals"]]
    assert [event["kind"] for event in held["history"]] == ["issued", "declined"]
    assert held["history"][1]["data"]["note"] == "too dear"
    assert reply.body["found"] is True
    assert reply.body["explanation"]
    for hidden in ("economics", "because", "plan", "needs_owner", "margin"):
        assert f'"{hidden}"' not in reply.text


def test_nothing_held_is_an_answer(service: Service):
    """Somebody who asks must be told so; the document addresses nobody, and erasing says it found nothing."""
    owner = service.caller("owner")
    reply = owner.post("/v1/customers/export", {"phone": "+353 1 555 0199"})
    assert (reply.status, reply.body["quotes"], reply.body["enquiries"]) == (200, [], [])
    assert (reply.body["found"], reply.body["explanation"]) == (False, [])
    done = owner.post("/v1/customers/erasure", {"phone": "+353 1 555 0199"})
    assert (done.status, done.body["found"], done.body["quotes"]) == (200, False, [])


def test_erasing_tells_whoever_has_the_quote_open(service: Service):
    """412 with what happened; the quote says when, and has no link any more."""
    owner, desk = service.caller("owner"), service.caller("desk")
    quote = issued(desk)
    done = owner.post("/v1/customers/erasure", {"quote": quote["number"]})
    assert (done.status, done.body["quotes"], done.body["kept"]) == (200, [quote["number"]], [])
    assert done.body["found"] is True
    assert (done.body["is_out_of_file"], done.body["kept_because"]) == (True, "")
    path = f"/v1/quotes/{quote['id']}"
    late = desk.send("PUT", f"{path}/contact", b'{"name": "Quillfeather"}', If_Match='"1"')
    assert late.status == 412
    (told,) = late.body["meanwhile"]
    assert told.startswith("owner key erased how the customer is reached")
    now = desk.get(path).body
    assert (now["contact"], now["link"]) == ({"name": "", "phone": "", "email": ""}, "")
    assert now["erased_at"] == done.body["at"]
    client = service.app.test_client()
    with client.get(quote["link"].removeprefix("http://localhost")) as gone:
        assert gone.status_code == 404
    sheet = desk.get(f"{path}/document", Accept="application/json").body
    assert sheet["customer"]["text"] == "erased on 2 Mar 2026"


def test_what_was_accepted_is_kept_and_why_is_said(service: Service):
    """Until it is asked for."""
    owner = service.caller("owner")
    quote = issued(owner)
    said = {"decision": "accepted", "revision": 1, "name": "Quillfeather", "how": "counter"}
    owner.post(f"/v1/quotes/{quote['id']}/decisions", said, If_Match='"1"')
    kept = owner.post("/v1/customers/erasure", {"email": CONTACT["email"]}).body
    assert (kept["kept"], kept["quotes"]) == ([quote["number"]], [])
    assert "agreed" in kept["kept_because"]
    erased = owner.post("/v1/customers/erasure", {"email": CONTACT["email"], "accepted": True}).body
    assert (erased["kept"], erased["quotes"]) == ([], [quote["number"]])
    sheet = owner.get(f"/v1/quotes/{quote['id']}/document", Accept="application/json").body
    assert sheet["decided"].startswith("Accepted by (name erased) on ")


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"email": "a@example.org", "phone": "+353 1 555 0100"},
        {"phone": "010"},
        {"email": ""},
        {"name": "Quillfeather"},
        {"email": None},
    ],
)
@pytest.mark.parametrize("what", ["export", "erasure"])
def test_who_is_not_said_clearly_is_refused(shared: Service, what: str, body: dict[str, Any]):
    """By nothing, by two things, by too little."""
    assert shared.caller("owner").post(f"/v1/customers/{what}", body).status == 422


@pytest.mark.parametrize("what", ["export", "erasure"])
def test_a_quote_that_is_not_there_is_not_found(shared: Service, what: str):
    """A slip of the pen is no answer to a customer."""
    assert shared.caller("owner").post(f"/v1/customers/{what}", {"quote": "2026-99999"}).status == 404


@pytest.mark.parametrize("scope", ["desk", "form"])
@pytest.mark.parametrize("what", ["export", "erasure"])
def test_only_the_owner_may(shared: Service, what: str, scope: str):
    """All about somebody at once is not for everybody at work."""
    assert shared.caller(scope).post(f"/v1/customers/{what}", {"quote": "1"}).status == 403
