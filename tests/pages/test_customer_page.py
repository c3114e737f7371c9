"""The customer's page: read, accepted and declined with no account, no cookie and no script."""

import urllib.parse
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pypdfium2
import pytest
from playwright.sync_api import Browser, Page, expect

from .nursery import ROOT
from .quoting import LAW, Quoted, issued, under
from .running import Service, later_service, running_service

OWN = {"Sec-Fetch-Site": "same-origin", "Content-Type": "application/x-www-form-urlencoded"}


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Of the service."""
    return tmp_path_factory.mktemp("customers") / "quoter.db"


@pytest.fixture(scope="module")
def service(database: Path) -> Iterator[Service]:
    """One for all: each customer has a quote of their own."""
    with running_service(database, ROOT / "rates/ballyquarn") as running:
        yield running


@pytest.fixture
def customer(browser_without_scripts: Page) -> Page:
    """Somebody with the link and a browser that runs no scripts."""
    return browser_without_scripts


def sent(service: Service, path: str, headers: dict[str, str], **form: str) -> int:
    """The status of what a form gets."""
    return service.ask("POST", path, urllib.parse.urlencode(form).encode(), headers).status


@pytest.mark.parametrize(("locale", "language", "direction"), [("de-AT", "de", "ltr"), ("ar", "ar", "rtl")])
def test_a_quote_is_accepted_in_the_customers_language(
    customer: Page, service: Service, locale: str, language: str, direction: str
) -> None:
    """With the price as their locale writes it, and the name that they gave."""
    shown = issued(service, locale=locale)
    customer.goto(service.address + shown.customer_path)
    page = customer.locator("html")
    expect(page).to_have_attribute("lang", language)
    expect(page).to_have_attribute("dir", direction)
    expect(customer.locator(".headline")).to_contain_text(shown.gross)
    customer.locator('a[href*="/accept"]').click()
    expect(page).to_have_attribute("lang", language)
    expect(customer.locator(".headline")).to_contain_text(shown.gross)
    customer.locator("#name").fill("Ödön Beispiel")
    customer.locator("[name=read]").check()
    customer.locator("#decide button").click()
    expect(customer.locator("[data-state]")).to_have_attribute("data-state", "accepted")
    expect(customer.locator("[data-state]")).to_contain_text("Ödön Beispiel")
    assert customer.context.cookies() == []
    now = shown.fresh()
    decision = now["decision"]
    assert (now["state"], decision["name"], decision["how"]) == ("accepted", "Ödön Beispiel", "link")


def test_another_language_is_kept_on_the_way(customer: Page, service: Service) -> None:
    """It is in the address, so that nothing need be remembered."""
    shown = issued(service, locale="en-IE")
    customer.goto(service.address + shown.customer_path)
    customer.locator("#language").select_option("ja")
    customer.locator(".language button").click()
    expect(customer.locator("html")).to_have_attribute("lang", "ja")
    customer.locator('a[href*="/decline"]').click()
    expect(customer.locator("html")).to_have_attribute("lang", "ja")


def test_a_quote_is_declined_and_may_be_accepted_after_all(customer: Page, service: Service) -> None:
    """As long as it holds."""
    shown = issued(service)
    customer.goto(service.address + shown.customer_path)
    customer.get_by_role("link", name="Decline").click()
    customer.get_by_label("Your name").fill("Orla Example")
    customer.get_by_role("button", name="Decline the quote").click()
    expect(customer.locator("[data-state]")).to_contain_text("Declined by Orla Example")
    assert shown.fresh()["state"] == "declined"
    expect(customer.get_by_role("link", name="Accept")).to_be_visible()
    expect(customer.get_by_role("link", name="Decline")).to_have_count(0)


def test_more_than_was_agreed_is_agreed_to_expressly(customer: Page, service: Service) -> None:
    """The extra stands in plain view and is ticked by itself; up to the ceiling is another choice."""
    shown = issued(service).decide("accepted").revise("The cell is swollen.", findings=["swollen-cell"])
    customer.goto(f"{service.address}{shown.customer_path}/accept")
    expect(customer.locator(".consent")).to_contain_text("€42.00")
    customer.get_by_label("Your name").fill("Orla Example")
    customer.get_by_label("I have read the quote").check()
    customer.get_by_label("I agree to pay €42.00 more").check()
    customer.get_by_label("Do what is needed").check()
    customer.get_by_role("button", name="Accept the quote").click()
    decision = shown.fresh()["decision"]
    assert (decision["extra"], decision["up_to"], decision["how"]) == ("42.00", "ceiling", "link")


def test_what_a_revision_changes_stands_before_the_question(customer: Page, service: Service) -> None:
    """Against what was agreed to, not against one in between that nobody agreed to; and only what is not the same."""
    shown = issued(service).decide("accepted")
    before = shown.gross
    shown.revise("another frame", findings=["bent-frame"]).revise("The cell is swollen.", findings=["swollen-cell"])
    customer.goto(service.address + shown.customer_path)
    changes = customer.locator("#changes")
    expect(changes.get_by_role("columnheader").nth(1)).to_contain_text("Revision 1")
    expect(changes.get_by_role("columnheader").nth(2)).to_contain_text("Revision 3")
    disposal = changes.get_by_role("row").filter(has_text="Disposal: Swollen cell")
    expect(disposal).to_contain_text("+ new")
    expect(disposal).to_contain_text("4.50")
    expect(changes.get_by_role("row").filter(has_text="Battery, Kessoway 5")).to_have_count(0)
    total = changes.locator("tfoot .gross")
    for text in (before, shown.gross, "€42.00"):
        expect(total).to_contain_text(text)
    expect(changes.locator(".terms")).to_have_count(0)
    accept = customer.get_by_role("link", name="Accept")
    assert changes.bounding_box()["y"] < accept.bounding_box()["y"]  # type: ignore[index]
    accept.click()
    expect(changes.locator("tfoot .gross")).to_contain_text("€42.00")


def test_a_warranty_that_a_revision_changes_is_marked_in_words(customer: Page, service: Service) -> None:
    """Nothing was agreed, so it is the one before that it is compared with; a first revision with none."""
    shown = issued(service)
    customer.goto(service.address + shown.customer_path)
    expect(customer.locator("#changes")).to_have_count(0)
    shown.revise("a cheaper part", repairs=[{"procedure": "battery", "grade": "compatible"}])
    customer.goto(service.address + shown.customer_path)
    row = customer.locator("#changes .terms tbody tr")
    expect(row).to_contain_text("≠ changed")
    old, new = row.get_by_role("cell").all_inner_texts()
    assert old != new
    customer.goto(f"{service.address}{shown.customer_path}?language=de")
    assert row.get_by_role("cell").all_inner_texts() != [old, new]


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ({"name": "Orla Example", "read": "yes"}, "higher price"),
        ({"name": " ", "read": "yes", "agreed": "yes"}, "your name"),
        ({"name": "Orla Example", "agreed": "yes"}, "have read"),
        ({"name": "x" * 201, "read": "yes", "agreed": "yes"}, "your name"),
    ],
)
def test_what_is_missing_is_said_and_nothing_is_recorded(service: Service, form: dict[str, str], said: str) -> None:
    """A browser would ask for it itself; the service does not rely on that."""
    shown = issued(service).decide("accepted").revise("The cell is swollen.", findings=["swollen-cell"])
    body = urllib.parse.urlencode({**form, "extra": "42.00"}).encode()
    answer = service.ask("POST", f"{shown.customer_path}/accept", body, OWN)
    assert answer.status == 422
    assert said in answer.body.decode()
    assert shown.fresh()["state"] == "issued"


@pytest.mark.parametrize("name", ["\0", "a\nb", "\u200b", "\u202eA", "   ", "–"])
def test_who_decides_has_a_name_that_can_be_read(service: Service, name: str) -> None:
    """An invisible signature is none."""
    shown = issued(service)
    assert sent(service, f"{shown.customer_path}/accept", OWN, name=name, read="yes") == 422
    assert shown.fresh()["state"] == "issued"


def test_who_clicks_twice_has_decided_once_and_is_not_told_off(service: Service) -> None:
    """The second click finds the answer that the first one gave."""
    shown = issued(service)
    address, form = f"{shown.customer_path}/accept", {"name": "A. Example", "read": "yes"}
    with ThreadPoolExecutor(2) as pool:
        answers = list(pool.map(lambda _: sent(service, address, OWN, **form), range(2)))
    assert answers == [303, 303]
    assert shown.fresh()["version"] == 2


def test_a_form_of_another_site_leaves_nothing_filled_in(service: Service) -> None:
    """So that the next click on the true page is the customer's own."""
    shown = issued(service)
    written = urllib.parse.urlencode({"name": "Mallory", "read": "yes", "up_to": "ceiling"}).encode()
    forged = OWN | {"Sec-Fetch-Site": "cross-site"}
    answer = service.ask("POST", f"{shown.customer_path}/accept", written, forged)
    assert answer.status == 403
    assert b"Mallory" not in answer.body
    assert b'value="yes" required checked' not in answer.body


def test_where_the_law_wants_a_call_the_page_asks_for_one(customer: Page, service: Service, database: Path) -> None:
    """A consent beyond the limit by phone or message alone: declining is still possible here."""
    revised = issued(service).decide("accepted").revise("The cell is swollen.", findings=["swollen-cell"])
    shown = under(LAW, revised, database)
    customer.goto(service.address + shown.customer_path)
    expect(customer.locator("[data-state]")).to_contain_text("call us or write to us")
    expect(customer.get_by_role("link", name="Accept")).to_have_count(0)
    expect(customer.get_by_role("link", name="Decline")).to_be_visible()
    form = {"name": "Orla Example", "read": "yes", "agreed": "yes", "extra": "42.00"}
    assert sent(service, f"{shown.customer_path}/accept", OWN, **form) == 303
    assert shown.fresh()["state"] == "issued"


def test_notices_are_in_the_customers_language_and_say_who_has_not_reviewed_them(
    customer: Page, service: Service, database: Path
) -> None:
    """Whoever reads another language gets the text of that, as far as the profile has it."""
    shown = under(LAW, issued(service, locale="de-DE"), database)
    customer.goto(service.address + shown.customer_path)
    expect(customer.locator("main")).to_contain_text("Alles Gespeicherte kann verloren gehen.")
    expect(customer.locator(".mark-of-law")).to_be_visible()
    customer.goto(f"{service.address}{shown.customer_path}?language=fr")
    expect(customer.locator("main")).to_contain_text("Everything stored on it may be lost.")


def test_an_amount_that_was_not_shown_is_not_agreed_to(service: Service) -> None:
    """Whatever the form says."""
    shown = issued(service).decide("accepted").revise("The cell is swollen.", findings=["swollen-cell"])
    form = {"name": "Orla Example", "read": "yes", "agreed": "yes", "extra": "1.00"}
    assert sent(service, f"{shown.customer_path}/accept", OWN, **form) == 409
    assert shown.fresh()["state"] == "issued"


@pytest.mark.parametrize("headers", [{"Sec-Fetch-Site": "cross-site"}, {"Origin": "https://elsewhere.example.org"}, {}])
def test_no_other_site_decides_for_a_customer(service: Service, headers: dict[str, str]) -> None:
    """The link alone is not enough: the form must come from the page."""
    shown = issued(service)
    kind = {"Content-Type": OWN["Content-Type"]}
    path = f"{shown.customer_path}/accept"
    assert sent(service, path, {**kind, **headers}, name="Orla Example", read="yes") == 403
    assert shown.fresh()["state"] == "issued"


def test_a_revision_that_was_superseded_says_so_and_leads_to_the_newest(customer: Page, service: Service) -> None:
    """Nothing can be decided there, neither by the page nor by its form."""
    shown = issued(service)
    path = shown.customer_path
    shown.revise("The cell is swollen.", findings=["swollen-cell"])
    customer.goto(service.address + path)
    expect(customer.locator("[data-state]")).to_have_attribute("data-state", "superseded")
    expect(customer.locator('a[href*="/accept"], a[href*="/decline"]')).to_have_count(0)
    assert sent(service, f"{path}/accept", OWN, name="Orla Example", read="yes") == 303
    assert shown.fresh()["state"] == "issued"
    customer.locator("#newest").click()
    expect(customer.locator(".headline")).to_contain_text(shown.gross)
    expect(customer.locator(".reason")).to_contain_text("The cell is swollen.")


def test_a_quote_that_was_withdrawn_says_so(customer: Page, service: Service) -> None:
    """And how to reach the shop."""
    shown = issued(service).decide("withdrawn")
    customer.goto(service.address + shown.customer_path)
    panel = customer.locator("[data-state]")
    expect(panel).to_have_attribute("data-state", "withdrawn")
    expect(panel.locator('a[href^="tel:"]')).to_be_visible()
    expect(customer.locator('a[href*="/accept"]')).to_have_count(0)


def test_an_expired_quote_cannot_be_accepted(customer: Page, service: Service, database: Path) -> None:
    """Forty days later: it holds for thirty."""
    shown = issued(service)
    with later_service(database, 40) as later:
        customer.goto(later.address + shown.customer_path)
        panel = customer.locator("[data-state]")
        expect(panel).to_have_attribute("data-state", "expired")
        expect(panel.locator('a[href^="mailto:"]')).to_be_visible()
        expect(customer.locator('a[href*="/accept"], a[href*="/decline"]')).to_have_count(0)
        assert sent(later, f"{shown.customer_path}/accept", OWN, name="Orla Example", read="yes") == 303
    assert shown.fresh()["state"] == "issued"


def test_the_quote_is_a_file_to_keep(service: Service) -> None:
    """In the language that was chosen; a revision that is not there has none."""
    shown = issued(service, locale="de-DE")
    answer = service.ask("GET", f"{shown.customer_path}/quote.pdf?language=fr")
    assert (answer.status, answer.headers["Content-Type"]) == (200, "application/pdf")
    assert answer.headers["X-Robots-Tag"] == "noindex, nofollow"
    with pypdfium2.PdfDocument(answer.body) as document:
        text = document[0].get_textpage().get_text_range()
    assert shown.data["number"] in text
    assert "99,95" in text
    assert service.ask("GET", f"{shown.customer_path[:-1]}2/quote.pdf").status == 404


def test_nothing_of_the_shops_own_is_shown_and_nobody_else_learns_of_it(service: Service) -> None:
    """No search engine, no cache, no site that the page leads to; and the desk sees the very same page."""
    shown = issued(service)
    answer = service.ask("GET", shown.customer_path)
    assert answer.headers["X-Robots-Tag"] == "noindex, nofollow"
    assert answer.headers["Cache-Control"] == "no-store"
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert answer.headers["Set-Cookie"] is None
    text = answer.body.decode()
    assert '<meta name="robots" content="noindex, nofollow">' in text
    for internal in ("24.90", "QK5-CEL-G", "/desk", "/sign-in", "csrf", "demo owner"):
        assert internal not in text
    assert _as_staff(service, shown) == text


def _as_staff(service: Service, shown: Quoted) -> str:
    """What somebody gets who is signed in."""
    form = urllib.parse.urlencode({"key": service.keys["owner"]}).encode()
    signed_in = service.ask("POST", "/sign-in", form, OWN)
    cookie = signed_in.headers["Set-Cookie"].split(";")[0]
    return service.ask("GET", shown.customer_path, None, {"Cookie": cookie}).body.decode()


@pytest.mark.parametrize("path", ["/q/nothing", "/q/nothing/1", "/q/nothing/1/accept", "/q/{token}/2", "/q/{token}/0"])
def test_a_link_that_leads_nowhere_says_nothing_else(service: Service, path: str) -> None:
    """Whether there ever was such a quote stays open."""
    token = issued(service).customer_path.split("/")[2]
    answer = service.ask("GET", path.format(token=token))
    assert answer.status == 404
    assert answer.headers["X-Robots-Tag"] == "noindex, nofollow"
    assert token not in answer.body.decode()
    assert "Otterquay" not in answer.body.decode()


def test_the_page_is_read_on_a_phone_with_scripts_as_well(browser: Browser, service: Service) -> None:
    """It is no wider than the screen, and the browser complains about nothing."""
    shown = issued(service, locale="ar")
    complaints: list[str] = []
    with browser.new_context(viewport={"width": 360, "height": 740}) as context:
        page = context.new_page()
        page.on("console", lambda told: complaints.append(told.text))
        page.goto(service.address + shown.customer_path)
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert complaints == []
