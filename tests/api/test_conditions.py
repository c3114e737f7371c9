"""Preconditions: what the caller has seen, and what they have already (RFC 9110 section 13)."""

import pytest

from quoter.api.http.conditions import matches

from .owning import BENCH_RATE, BOOK, DRAFT, Owner
from .running import BATTERY, Service


@pytest.mark.parametrize(
    ("header", "strongly", "weakly"),
    [
        ('"1"', True, True),
        ('W/"1"', False, True),
        ('"2"', False, False),
        ("1", False, False),
        ('"2", "1"', True, True),
        (' "2" ,, W/"1",', False, True),
        ('"2""1"', False, False),
        ('"1" "2"', False, False),
        ('w/"1"', False, False),
        ('"a,b", "1"', True, True),
        ("*", True, True),
        (" * ", True, True),
        ('"*"', False, False),
        ('*, "1"', False, False),
        ("", False, False),
        ('"1', False, False),
    ],
)
def test_a_tag_is_among_others(header: str, strongly: bool, weakly: bool):
    """If-Match compares strongly, If-None-Match weakly (RFC 9110 sections 8.8.3, 13.1.1 and 13.1.2)."""
    assert matches(header, '"1"') is strongly
    assert matches(header, '"1"', weakly=True) is weakly


READABLE = [
    "/v1/quotes/{quote}",
    "/v1/quotes/{quote}?locale=de",
    "/v1/devices/kessoway-5",
    f"{BOOK}/versions/1",
    DRAFT,
    f"{DRAFT}/tables/parts",
    "/openapi.json",
]


@pytest.mark.parametrize("path", READABLE)
def test_who_has_it_already_is_not_sent_it_again(service: Service, path: str):
    """304 with the same ETag and without a body; HEAD alike; another tag gets the whole."""
    owner = Owner(service)
    owner.open()
    quote = owner.caller.post("/v1/quotes", BATTERY).body["id"]
    path = path.format(quote=quote)
    whole = owner.caller.get(path)
    tag = whole.headers["ETag"]
    for had in (tag, f"W/{tag}", f'"x", {tag}', "*"):
        reply = owner.caller.get(path, If_None_Match=had)
        assert (reply.status, reply.content, reply.headers["ETag"]) == (304, b"", tag)
        assert "Content-Type" not in reply.headers
        assert owner.caller.send("HEAD", path, If_None_Match=had).status == 304
    assert owner.caller.get(path, If_None_Match='"x"').content == whole.content


def test_what_has_changed_is_sent(service: Service):
    """Quotes and drafts after each change; a quote also when its last day is over, which changes no version."""
    owner = Owner(service)
    owner.open()
    quote = owner.caller.post("/v1/quotes", BATTERY)
    place = quote.headers["Location"]
    owner.caller.send("POST", f"{place}/link", If_Match='"1"')
    assert owner.caller.get(place, If_None_Match='"1"').body["version"] == 2
    old = owner.tag
    owner.edit(BENCH_RATE | {"value": "3.20"})
    assert owner.caller.get(DRAFT, If_None_Match=old).body["revision"] == 2
    assert owner.caller.get(place, If_None_Match='"2"').status == 304
    service.clock.forward(days=365)
    reply = owner.caller.get(place, If_None_Match='"2"')
    assert (reply.status, reply.body["state"]) == (200, "expired")


def test_a_language_of_its_own_is_said_to_vary(service: Service):
    """Who keeps an answer keeps it for this reader's language alone (RFC 9110 section 12.5.5)."""
    desk = service.caller("desk")
    place = desk.post("/v1/quotes", BATTERY).headers["Location"]
    for path in (place, "/v1/devices/kessoway-5"):
        assert "Accept-Language" in desk.get(path).headers["Vary"].split(", ")
        assert "Accept-Language" in desk.get(path, If_None_Match="*").headers["Vary"].split(", ")


@pytest.mark.parametrize("seen", ['"1"', '"7", "1"', "*", '"1" , W/"1"'])
def test_what_was_seen_may_be_one_of_several(service: Service, seen: str):
    """Also any: whoever says so knows what they do."""
    desk = service.caller("desk")
    place = desk.post("/v1/quotes", BATTERY).headers["Location"]
    changed = desk.send("PUT", f"{place}/contact", b'{"name": "A. Example"}', If_Match=seen)
    assert (changed.status, changed.headers["ETag"]) == (200, '"2"')


@pytest.mark.parametrize("seen", ['W/"1"', "1", '"2"', '"0", "3"', ""])
def test_what_is_not_strongly_the_same_was_not_seen(service: Service, seen: str):
    """412, and nothing is overwritten: of a quote, and of a draft."""
    owner = Owner(service)
    owner.open()
    place = owner.caller.post("/v1/quotes", BATTERY).headers["Location"]
    refused = owner.caller.send("PUT", f"{place}/contact", b'{"name": "A. Example"}', If_Match=seen)
    assert (refused.status, refused.body["type"]) == (412, "/problems/changed-meanwhile")
    owner.tag = f"W/{owner.tag}"
    assert owner.edit(BENCH_RATE | {"value": "3.20"}).status == 412
    assert owner.caller.get(place).body["version"] == 1


def test_what_a_key_has_opened_is_not_kept_by_a_browser(service: Service):
    """Whoever signs in next on the same machine, or nobody, must not find it (RFC 9111 section 5.2.2.5)."""
    owner = service.caller("owner")
    place = owner.post("/v1/quotes", BATTERY).headers["Location"]
    for path in (place, f"{place}/history", "/v1/quotes", "/v1/enquiries", "/v1/devices", "/v1/webhooks"):
        for tag in ("", "*"):
            assert owner.get(path, If_None_Match=tag).headers["Cache-Control"] == "no-store"
