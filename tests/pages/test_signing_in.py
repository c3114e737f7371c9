"""Signing in and out: the session's cookie, and what forged requests get."""

import re
from collections.abc import Callable
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Page, expect

from .running import Answer, Service

SignIn = Callable[[], Page]


def posted(service: Service, path: str, form: dict[str, str], **headers: str) -> Answer:
    """A form, sent as a browser does from the service's own page unless the headers say otherwise."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    sent = named or {"Sec-Fetch-Site": "same-origin"}
    content = {"Content-Type": "application/x-www-form-urlencoded"}
    return service.ask("POST", path, urlencode(form).encode(), sent | content)


def signed_in(service: Service) -> tuple[str, str]:
    """The cookie and the token of a new session."""
    answer = posted(service, "/sign-in", {"key": service.keys["owner"]})
    assert answer.status == 303
    cookie = answer.headers["Set-Cookie"].partition(";")[0]
    page = service.ask("GET", "/owner", headers={"Cookie": cookie}).body.decode()
    found = re.search(r'name="csrf" content="([^"]+)"', page)
    assert found is not None
    return cookie, found[1]


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(service: Service) -> None:
    """And says nothing of the key."""
    answer = posted(service, "/sign-in", {"key": service.keys["owner"], "next": "/owner/calculations"})
    cookie = answer.headers["Set-Cookie"]
    assert answer.headers["Location"] == "/owner/calculations"
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= {part.strip() for part in cookie.split(";")}
    assert service.keys["owner"] not in cookie


@pytest.mark.parametrize("key", ["", "nonsense", "quoter_a_b", "quoter_000000000000_nothing"])
def test_every_wrong_key_gets_the_same_answer(service: Service, key: str) -> None:
    """Nobody learns how wrong it was."""
    answer = posted(service, "/sign-in", {"key": key})
    assert answer.status == 403
    assert b"This key does not count" in answer.body
    assert answer.headers["Set-Cookie"] is None


def test_the_key_of_a_web_form_opens_no_page(service: Service) -> None:
    """It is right, and yet does not get in."""
    answer = posted(service, "/sign-in", {"key": service.keys["form"]})
    assert answer.status == 403
    assert b"it belongs to a web form" in answer.body
    assert answer.headers["Set-Cookie"] is None


def test_a_key_of_the_desk_does_not_open_the_owners_pages(service: Service) -> None:
    """It leads to the desk, and the owner's pages say whose they are."""
    answer = posted(service, "/sign-in", {"key": service.keys["desk"], "next": "/owner/calculations"})
    assert (answer.status, answer.headers["Location"]) == (303, "/desk")
    cookie = {"Cookie": answer.headers["Set-Cookie"].partition(";")[0]}
    turned_away = service.ask("GET", "/owner", headers=cookie)
    assert (turned_away.status, turned_away.headers["Location"]) == (303, "/sign-in?next=/owner")
    told = service.ask("GET", "/sign-in?next=/owner", headers=cookie)
    assert told.status == 403
    assert b"That page is for the owner" in told.body


def test_the_demo_opens_its_desk_for_this_machine_alone(service: Service) -> None:
    """Whoever comes by another site's name is asked for a key; the owner's pages always ask."""
    opened = service.ask("GET", "/desk")
    assert opened.status == 200
    assert "HttpOnly" in opened.headers["Set-Cookie"]
    for headers, path in (
        ({"Host": "shop.example:80"}, "/desk"),
        ({"Host": "127.0.0.1.example"}, "/desk"),
        ({}, "/owner"),
    ):
        answer = service.ask("GET", path, headers=headers)
        assert (answer.status, answer.headers["Set-Cookie"]) == (303, None)


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec_Fetch_Site": "cross-site"},
        {"Sec_Fetch_Site": "same-site"},
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
        {"Accept": "text/html"},
    ],
)
def test_a_form_of_another_site_does_not_sign_in(service: Service, headers: dict[str, str]) -> None:
    """Not even with the right key: nobody is to work in somebody else's session."""
    answer = posted(service, "/sign-in", {"key": service.keys["owner"]}, **headers)
    assert answer.status == 403
    assert answer.headers["Set-Cookie"] is None


def test_an_old_browser_signs_in_by_its_origin(service: Service) -> None:
    """Where there is no Sec-Fetch-Site."""
    answer = posted(service, "/sign-in", {"key": service.keys["owner"]}, Origin=service.address)
    assert answer.status == 303


@pytest.mark.parametrize("back", ["https://elsewhere.example/", "//elsewhere.example", "/owner/\\elsewhere", "/docs"])
def test_signing_in_leads_to_the_owners_pages_only(service: Service, back: str) -> None:
    """Whatever the address asks for."""
    answer = posted(service, "/sign-in", {"key": service.keys["owner"], "next": back})
    assert answer.headers["Location"] == "/owner"


@pytest.mark.parametrize(
    "path", ["/owner", "/owner/books/ballyquarn", "/owner/books/ballyquarn/history", "/owner/calculations"]
)
def test_a_signed_out_visitor_is_sent_to_sign_in_and_back(service: Service, path: str) -> None:
    """And no page is kept by the browser."""
    answer = service.ask("GET", path)
    assert answer.status == 303
    assert answer.headers["Location"].startswith("/sign-in?next=/owner")
    assert answer.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    ("wanted", "scope"), [("/owner/calculations", "owner"), ("/desk/quotes", "desk"), ("", "desk")]
)
def test_the_form_says_how_to_make_the_key_that_the_page_needs(service: Service, wanted: str, scope: str) -> None:
    """The owner's pages want another scope than the desk."""
    page = service.ask("GET", f"/sign-in?next={wanted}", headers={"Host": "quotes.example.org"}).body.decode()
    assert f"quoter key new --scope {scope} --name" in page


def test_a_change_without_the_token_of_the_page_is_refused(service: Service) -> None:
    """The cookie alone changes nothing."""
    cookie, token = signed_in(service)
    sent = {"Cookie": cookie, "Content-Type": "application/json"}
    refused = service.ask("POST", "/v1/books/ballyquarn/draft", b"{}", sent)
    assert (refused.status, refused.json["type"]) == (403, "/problems/forged")
    assert service.ask("POST", "/v1/books/ballyquarn/draft", b"{}", {**sent, "X-CSRF-Token": token}).status == 201


def test_signing_out_needs_the_token_and_ends_the_session(service: Service) -> None:
    """From another site it does nothing."""
    cookie, token = signed_in(service)
    own = {"Cookie": cookie, "Sec_Fetch_Site": "same-origin"}
    assert posted(service, "/sign-out", {}, **own).status == 403
    foreign = {"Cookie": cookie, "Sec_Fetch_Site": "cross-site"}
    assert posted(service, "/sign-out", {"csrf": token}, **foreign).status == 403
    assert service.ask("GET", "/owner", headers={"Cookie": cookie}).status == 200
    assert posted(service, "/sign-out", {"csrf": token}, **own).status == 303
    assert service.ask("GET", "/owner", headers={"Cookie": cookie}).status == 303


def test_a_page_has_no_inline_script_and_no_style(service: Service) -> None:
    """The policy forbids them, and they would not work."""
    cookie, _ = signed_in(service)
    service.call("POST", "/v1/books/ballyquarn/draft", {})
    for path in ("/owner", "/owner/books/ballyquarn", "/owner/books/ballyquarn/history", "/owner/calculations"):
        answer = service.ask("GET", path, headers={"Cookie": cookie})
        page = answer.body.decode()
        assert "default-src 'self'" in answer.headers["Content-Security-Policy"]
        assert answer.headers["Cache-Control"] == "no-store"
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)", page)


def test_a_page_that_was_open_long_gets_the_new_token(sign_in: SignIn, service: Service) -> None:
    """A session that was renewed elsewhere costs nothing that was written."""
    page = sign_in()
    page.goto(f"{service.address}/owner/books/ballyquarn")
    page.evaluate("document.querySelector('meta[name=csrf]').content = 'outdated'")
    page.get_by_role("button", name="Open a draft").click()
    expect(page.locator("#undo")).to_be_visible()


def test_a_book_that_is_not_there_is_a_page(sign_in: SignIn, service: Service) -> None:
    """Not a document for programs."""
    page = sign_in()
    answer = page.goto(f"{service.address}/owner/books/nowhere")
    assert answer is not None
    assert answer.status == 404
    expect(page.get_by_role("heading", name="Nothing here")).to_be_visible()


def test_signing_out_by_the_button(sign_in: SignIn, service: Service) -> None:
    """Leads to the form."""
    page = sign_in()
    page.goto(f"{service.address}/owner")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in")
    page.goto(f"{service.address}/owner")
    assert "/sign-in" in page.url
