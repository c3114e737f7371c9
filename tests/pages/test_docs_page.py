"""The page on the API: read without scripts; with them each call is tried out, under a strict policy."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Locator, Page, expect

from .nursery import ROOT
from .running import Service, running_service
from .states import SCHEMES


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """A service with one book, for all tests of this page."""
    with running_service(tmp_path_factory.mktemp("docs") / "quoter.db", ROOT / "rates/ballyquarn") as running:
        yield running


@pytest.fixture
def page(browser: Browser, service: Service) -> Iterator[Page]:
    """The page with the desk's key filled in. What the browser complains about fails the test."""
    complaints: list[str] = []
    with browser.new_context(viewport={"width": 1280, "height": 900}) as context:
        context.grant_permissions(["clipboard-read", "clipboard-write"])
        opened = context.new_page()
        opened.on("pageerror", lambda error: complaints.append(str(error)))
        opened.on("console", lambda told: complaints.append(told.text) if "Content Security" in told.text else None)
        opened.goto(f"{service.address}/docs")
        opened.get_by_label("Key", exact=True).fill(service.keys["desk"])
        yield opened
    assert complaints == []


def opened(page: Page, operation: str) -> Locator:
    """The section of an operation, unfolded."""
    section = page.locator(f"section[data-operation={operation}]")
    section.locator("summary").first.click()
    return section


def trying(page: Page, operation: str) -> Locator:
    """The section of an operation, with its form open."""
    section = opened(page, operation)
    section.get_by_text("Try it", exact=True).click()
    return section


def test_a_call_is_sent_and_its_answer_shown(page: Page) -> None:
    """Status, time, body and headers."""
    section = trying(page, "priceJobs")
    section.get_by_role("button", name="Send", exact=True).click()
    expect(section.locator(".status")).to_contain_text("200 The price")
    expect(section.locator(".status")).to_contain_text(" ms")
    body = json.loads(section.get_by_role("region", name="Body of the answer").inner_text())
    assert body["currency"] == "EUR"
    section.get_by_text("Headers (").click()
    expect(section.get_by_role("region", name="Headers")).to_contain_text("application/json")


def test_what_was_made_is_filled_in_where_it_is_needed_next(page: Page) -> None:
    """The id of a quote, and its ETag as If-Match: it can be decided on at once, by keyboard."""
    issuing = trying(page, "issueQuote")
    issuing.get_by_role("button", name="Send", exact=True).click()
    expect(issuing.locator(".status")).to_contain_text("201")
    deciding = trying(page, "decideQuote")
    expect(deciding.get_by_label("If-Match")).to_have_value('"1"')
    deciding.get_by_label("Body, JSON").press("Control+Enter")
    expect(deciding.locator(".status")).to_contain_text("201 The quote after it")


def test_a_problem_leads_to_what_it_means(page: Page) -> None:
    """The page of its type."""
    section = trying(page, "priceJobs")
    section.get_by_label("Body, JSON").fill('{"device": "brick", "repairs": [{"procedure": "battery"}]}')
    section.get_by_role("button", name="Send", exact=True).click()
    expect(section.locator(".status")).to_contain_text("422")
    section.get_by_role("link", name="/problems/unknown-code").last.click()
    expect(page.get_by_role("heading", name="What to do")).to_be_visible()


@pytest.mark.parametrize(
    ("operation", "label", "value", "said"),
    [
        ("priceJobs", "Body, JSON", "{", "The body is no JSON"),
        ("readDevice", "code", "", "Fill in code."),
        ("priceJobs", "Key", "", "Fill in a key"),
    ],
)
def test_what_cannot_be_sent_is_said_before(page: Page, operation: str, label: str, value: str, said: str) -> None:
    """Without asking the service."""
    section = trying(page, operation)
    (page if label == "Key" else section).get_by_label(label, exact=label != "code").first.fill(value)
    section.get_by_role("button", name="Send", exact=True).click()
    expect(section.locator(".status")).to_contain_text(said)


def test_the_same_call_is_copied_for_a_shell_without_the_key(page: Page, service: Service) -> None:
    """With what has been filled in, quoted."""
    section = trying(page, "listDevices")
    section.get_by_label("words").fill("it's 5")
    section.get_by_role("button", name="Copy for curl").click()
    page.wait_for_function("async () => (await navigator.clipboard.readText()).startsWith('curl')")
    copied = page.evaluate("navigator.clipboard.readText()")
    assert copied == f"curl \\\n  -H \"Authorization: Bearer $KEY\" \\\n  '{service.address}/v1/devices?words=it%27s+5'"


def test_the_key_is_kept_nowhere(page: Page) -> None:
    """Neither stored nor there after the page was left."""
    assert page.evaluate("[localStorage.length, sessionStorage.length, document.cookie]") == [0, 0, ""]
    page.reload()
    expect(page.get_by_label("Key", exact=True)).to_have_value("")


def test_calls_are_found_by_words(page: Page) -> None:
    """In path, id, summary and description; the others are hidden, in the list as well."""
    page.get_by_label("Find a call").fill("REVISION preview")
    shown = page.locator("section[data-operation]:visible")
    assert shown.evaluate_all("found => found.map(each => each.dataset.operation)") == ["previewRevision"]
    expect(page.locator("section.topic:visible h2")).to_have_text(["Quotes"])
    expect(page.get_by_role("status").first).to_contain_text("1 of ")


def test_it_is_read_without_scripts(browser_without_scripts: Page, service: Service) -> None:
    """Every call, with examples; nothing is there that does nothing."""
    page = browser_without_scripts
    page.goto(f"{service.address}/docs")
    expect(page.locator("#tools")).to_be_hidden()
    opened(page, "readDevice").get_by_text("For example, application/json").click()
    expect(page.get_by_role("region", name="An answer of readDevice")).to_contain_text('"kessoway-5"')


@pytest.mark.parametrize(("wanted", "found"), [("if-match", "decideQuote"), ("idempotency", "registerWebhook")])
def test_calls_are_found_by_the_headers_that_they_take(page: Page, wanted: str, found: str) -> None:
    """And those that take no such header are not."""
    page.get_by_label("Find a call").fill(wanted)
    expect(page.locator(f"section[data-operation={found}]")).to_be_visible()
    expect(page.locator("section[data-operation=listDevices]")).to_be_hidden()


def test_the_page_is_short_until_something_is_opened(page: Page) -> None:
    """A line or two a call, by what they are about; the shortest screens scroll some ten times."""
    page.set_viewport_size({"width": 360, "height": 640})
    assert page.evaluate("document.documentElement.scrollHeight") < 9000
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    expect(page.get_by_text("Try it", exact=True).first).to_be_attached()  # once the description has come
    page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
    page.wait_for_function("document.querySelectorAll('.trying form').length > 40")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    scrolled = (
        """[...document.querySelectorAll(".call .scroll")].filter((each) => each.scrollWidth > each.clientWidth)"""
    )
    assert page.evaluate(f"{scrolled}.map((each) => each.ariaLabel)") == []
    beside = """[...document.querySelectorAll(".call > h3")].filter((each) =>
        each.querySelector(".method").scrollWidth > each.querySelector(".method").clientWidth)"""
    assert page.evaluate(f"{beside}.length") == 0


@pytest.mark.parametrize("fragment", ["decideQuote", "schema-Webhook"])
def test_an_address_opens_what_it_leads_to(page: Page, service: Service, fragment: str) -> None:
    """A call or a document, which are folded otherwise."""
    table = page.locator(f"section.call:has(#{fragment}) table, div#{fragment} table").first
    expect(table).to_be_hidden()
    page.goto(f"{service.address}/docs#{fragment}")
    expect(table).to_be_visible()


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("width", [1280, 390])
def test_there_is_no_violation(page: Page, scheme: str, width: int) -> None:
    """With an answer shown; and the page is not wider than the screen."""
    section = trying(page, "issueQuote")
    section.get_by_role("button", name="Send", exact=True).click()
    expect(section.locator(".status")).to_contain_text("201")
    page.get_by_label("Find a call").fill("quotes")
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert [each["id"] for each in Axe().run(page).response["violations"]] == []


def test_nothing_is_fetched_from_anywhere_else(browser: Browser, service: Service) -> None:
    """No third party."""
    with browser.new_page() as page:
        asked: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        page.goto(f"{service.address}/docs", wait_until="networkidle")
    assert any(url.endswith("/static/js/docs/panel.js") for url in asked)
    assert [url for url in asked if not url.startswith((service.address, "data:"))] == []


def test_its_modules_are_short() -> None:
    """Files that somebody reads."""
    modules = list(Path(ROOT / "quoter/api/description/static/js/docs").glob("*.js"))
    assert modules
    assert [each.name for each in modules if len(each.read_text().splitlines()) > 200] == []
