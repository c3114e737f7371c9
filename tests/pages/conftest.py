"""What tests of pages share: a service of their own, a browser, somebody who is signed in."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from .editing import EditorPage
from .nursery import ROOT
from .running import CHROMIUM, Service, patient_browser, running_service

SignIn = Callable[[], Page]
Desk = Callable[[str], Page]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium as it is installed here."""
    if CHROMIUM is None:
        pytest.skip("no Chromium is installed, and these tests need a browser")
    with patient_browser() as launched:
        yield launched


@pytest.fixture
def service(tmp_path: Path) -> Iterator[Service]:
    """A service with the two demonstration books and a new database."""
    with running_service(tmp_path / "quoter.db", ROOT / "rates/ballyquarn", ROOT / "rates/peddrick-mills") as running:
        yield running


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A browser that knows nothing yet."""
    with browser.new_context(viewport={"width": 1280, "height": 800}) as opened:
        yield opened


@pytest.fixture
def browser_without_scripts(browser: Browser) -> Iterator[Page]:
    """A browser that knows nothing yet and runs no scripts."""
    with browser.new_context(java_script_enabled=False) as opened:
        yield opened.new_page()


@pytest.fixture
def sign_in(browser: Browser, service: Service) -> Iterator[SignIn]:
    """A browser of its own that is signed in and has an empty page open. What its pages complain about fails the test.

    The key is exchanged by a request alone: `test_signing_in.py` does it as people do.
    """
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def signed_in() -> Page:
        opened = browser.new_context(viewport={"width": 1280, "height": 800})
        contexts.append(opened)
        opened.grant_permissions(["clipboard-read", "clipboard-write"])
        page = opened.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda told: complaints.append(told.text) if "Content Security" in told.text else None)
        answer = opened.request.post(
            f"{service.address}/sign-in",
            form={"key": service.keys["owner"]},
            headers={"Origin": service.address},
            max_redirects=0,
        )
        assert answer.status == 303
        return page

    yield signed_in
    for opened in contexts:
        opened.close()
    assert complaints == []


@pytest.fixture
def desk(sign_in: SignIn, service: Service) -> Desk:
    """Somebody who is signed in, with a page open; each time with a browser of their own."""

    def opened(path: str) -> Page:
        page = sign_in()
        page.goto(service.address + path)
        return page

    return opened


@pytest.fixture
def editor(sign_in: SignIn, service: Service) -> EditorPage:
    """The editor with a new draft of the first book."""
    assert service.call("POST", "/v1/books/ballyquarn/draft", {}).status == 201
    return EditorPage(sign_in(), f"{service.address}/owner/books/ballyquarn").opened("parts")
