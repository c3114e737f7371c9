"""The form in a shop's own site: another origin, a strict policy, a real browser."""

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Route, expect

from .hosting import Host, Visit, form_key, running_host
from .nursery import ROOT
from .running import Service, running_service


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One for all of these tests."""
    return tmp_path_factory.mktemp("embedded") / "quoter.db"


@pytest.fixture(scope="module")
def shared(database: Path) -> Iterator[Service]:
    """One service for all of these tests."""
    options = ("--form-requests-a-minute", "6000", "--enquiries-per-hour", "1000")  # all tests ask from one address
    with running_service(database, ROOT / "rates/ballyquarn", options=options) as running:
        yield running


@pytest.fixture(scope="module")
def host() -> Iterator[Host]:
    """The shop's site."""
    with running_host() as running:
        yield running


@pytest.fixture
def visit(browser: Browser, shared: Service, host: Host, database: Path) -> Iterator[Visit]:
    """Somebody on the shop's site, which the form's key is for. What is asked of anybody else fails the test."""
    context = browser.new_context(viewport={"width": 1000, "height": 900})
    visiting = Visit(context.new_page(), shared, host, form_key(database, host.address))
    yield visiting
    assert visiting.foreign() == set()
    assert context.cookies() == []
    assert visiting.complaints == []
    context.close()


def enquiries(service: Service) -> list[dict[str, Any]]:
    """Those that have arrived, the newest first."""
    found: list[dict[str, Any]] = service.call("GET", "/v1/enquiries").json["enquiries"]
    return found


def test_a_visitor_asks_and_gets_a_reference(visit: Visit, shared: Service) -> None:
    """The price is the one of the API; focus goes to the heading of what is told."""
    visit.open().filled()
    expected = shared.call(
        "POST", "/v1/prices", {"device": "kessoway-5", "repairs": [{"procedure": "battery", "grade": "genuine"}]}
    )
    amount = expected.json["formatted"]["totals"]["gross"]
    expect(visit.form.locator(".amount")).to_have_text(f"About {amount}")
    visit.send()
    expect(visit.form.locator("h2")).to_be_focused()
    newest = enquiries(shared)[0]
    expect(visit.form.locator(".reference")).to_have_text(newest["reference"])
    assert newest["contact"] == {"name": "Aoife Example", "phone": "", "email": "aoife@example.org"}
    whole = shared.call("GET", f"/v1/enquiries/{newest['id']}").json
    assert (whole["origin"], whole["noticed"]) == (visit.host.address, "Empty by noon.")


def test_the_price_follows_what_is_ticked(visit: Visit) -> None:
    """The last answer wins, however late an earlier one comes."""
    slow: list[Route] = []

    def late(route: Route) -> None:
        """The first answer is held back until the second has come."""
        if slow:
            route.continue_()
        else:
            slow.append(route)

    visit.open().choose()
    visit.page.route("**/v1/prices", late)
    with visit.page.expect_request("**/v1/prices"):
        visit.tick("repair-battery")
    expect(visit.form.locator(".price")).to_have_attribute("aria-busy", "true")
    visit.tick("repair-screen").priced()
    amount = visit.form.locator(".amount").inner_text()
    with visit.page.expect_response("**/v1/prices"):
        slow[0].continue_()
    visit.page.wait_for_timeout(400)
    expect(visit.form.locator(".amount")).to_have_text(amount)


def test_a_cheaper_grade_costs_less(visit: Visit) -> None:
    """Where there is a choice of grades."""
    visit.open().choose().tick("repair-battery").priced()
    before = visit.form.locator(".amount").inner_text()
    visit.form.locator("input[value=compatible]").first.check()
    expect(visit.form.locator(".amount")).not_to_have_text(before)


def test_two_clicks_make_one_enquiry(visit: Visit, shared: Service) -> None:
    """And so does a third while it is on its way."""
    visit.open().filled()
    before = len(enquiries(shared))
    visit.form.locator("button[type=submit]").dblclick()
    visit.page.keyboard.press("Enter")
    expect(visit.form.locator(".reference")).to_be_visible()
    assert len(enquiries(shared)) == before + 1


@pytest.mark.parametrize("has_arrived", [False, True], ids=["on the way there", "on the way back"])
def test_a_dropped_line_loses_nothing(visit: Visit, shared: Service, has_arrived: bool) -> None:
    """Whether what was sent had arrived or not, sending again makes one enquiry."""
    sent: list[tuple[str | None, str | None]] = []

    def drop(route: Route) -> None:
        sent.append((route.request.headers.get("idempotency-key"), route.request.post_data))
        if len(sent) == 1:
            if has_arrived:
                visit.page.wait_for_timeout(3_200)  # a token is not usable at once
                assert route.fetch().status == 201
            route.abort()
        else:
            route.continue_()

    visit.open().filled()
    before = len(enquiries(shared))
    visit.page.route("**/v1/enquiries", drop)
    visit.send()
    expect(visit.form.locator(".told")).to_contain_text("Nothing you wrote is lost")
    expect(visit.field("email")).to_have_value("aoife@example.org")
    visit.send()
    expect(visit.form.locator(".reference")).to_be_visible()
    assert len(enquiries(shared)) == before + 1
    assert len(set(sent)) == 1  # the same body with the same Idempotency-Key


def test_what_is_sent_at_once_waits_by_itself(visit: Visit) -> None:
    """A token is not usable before a person can have filled in the form."""
    visit.open().choose().tick("repair-battery").priced()
    answers: list[int] = []
    visit.page.on(
        "response", lambda answer: answers.append(answer.status) if answer.url.endswith("/v1/enquiries") else None
    )
    visit.write().send()
    expect(visit.form.locator(".reference")).to_be_visible()
    assert answers[-1] == 201


def test_an_expired_form_is_renewed_by_itself(visit: Visit) -> None:
    """What was typed is kept, and goes with another token."""
    tokens: list[str] = []

    def expire(route: Route) -> None:
        tokens.append(route.request.post_data_json["token"])
        if len(tokens) == 1:
            body = {"type": "/problems/form-expired", "status": 422, "title": "", "detail": "", "errors": []}
            origin = {"Access-Control-Allow-Origin": visit.host.address}
            route.fulfill(status=422, json=body, headers=origin)
        else:
            route.continue_()

    visit.open().filled()
    visit.page.route("**/v1/enquiries", expire)
    visit.send()
    expect(visit.form.locator(".reference")).to_be_visible()
    assert tokens[0] != tokens[1]


def test_who_sends_too_much_is_told_when_to_try_again(visit: Visit) -> None:
    """RFC 6585, section 4, and RFC 9110, section 10.2.3."""
    answer = {"Access-Control-Allow-Origin": "*", "Access-Control-Expose-Headers": "Retry-After", "Retry-After": "130"}
    visit.open().filled()
    visit.page.route("**/v1/enquiries", lambda route: route.fulfill(status=429, json={}, headers=answer))
    visit.send()
    expect(visit.form.locator(".told")).to_contain_text("Please try again in 3 minutes.")
    expect(visit.field("noticed")).to_have_value("Empty by noon.")


def test_what_is_missing_is_told_at_its_field(visit: Visit) -> None:
    """Nothing is sent without consent, which nobody has ticked beforehand."""
    visit.open().choose().tick("repair-battery").priced()
    expect(visit.field("agreed")).not_to_be_checked()
    visit.send()
    expect(visit.field("phone")).to_be_focused()
    for name in ("phone", "agreed"):
        expect(visit.field(name)).to_have_attribute("aria-invalid", "true")
        assert f"fault-{name}" in (visit.field(name).get_attribute("aria-describedby") or "")
        expect(visit.field(f"fault-{name}")).to_be_visible()
    assert not [request for request in visit.asked if request.url.endswith("/v1/enquiries")]


def test_what_the_service_refuses_is_told_at_its_field(visit: Visit) -> None:
    """By the pointer of the problem (RFC 9457)."""
    visit.open().filled()
    visit.field("email").fill("no address")
    visit.send()
    expect(visit.field("fault-email")).to_contain_text("name@example.org")
    expect(visit.field("email")).to_be_focused()


def test_a_finding_that_stops_has_no_price(visit: Visit) -> None:
    """It says what to do now, and how to reach the shop; nothing can be sent."""
    visit.open().choose().tick("repair-battery").priced()
    visit.tick("finding-leaking-or-hot-cell")
    expect(visit.form.locator(".alarm").filter(visible=True)).to_contain_text("Do not charge it")
    expect(visit.form.locator(".alarm").filter(visible=True)).to_have_attribute("role", "alert")
    expect(visit.form.locator(".price")).to_contain_text("+353 1 555 0142")
    expect(visit.form.locator(".price")).not_to_contain_text("€")
    expect(visit.form.locator("button[type=submit]")).to_be_hidden()


def test_another_site_is_told_that_it_is_not_set_up(visit: Visit, database: Path) -> None:
    """Nothing of the shop can be read there (Fetch standard, section 3.2)."""
    visit.key = form_key(database, "https://elsewhere.example")
    visit.open()
    visit.field("device").fill("kessoway")
    expect(visit.form.locator(".told")).to_contain_text("not set up for this site")
    expect(visit.form.locator("[role=option]")).to_have_count(0)
    visit.complaints.clear()  # what the browser says of requests that it did not let through


def test_a_filled_trap_is_emptied(visit: Visit) -> None:
    """A browser that fills in everything sends once more."""
    visit.open().filled()
    visit.page.wait_for_timeout(3_200)
    visit.field("homepage").evaluate("(field) => (field.value = 'https://spam.example')")
    visit.send()
    expect(visit.form.locator(".told")).to_contain_text("once more")
    visit.send()
    expect(visit.form.locator(".reference")).to_be_visible()


def test_styles_do_not_leak_in_or_out(visit: Visit) -> None:
    """A rude page changes nothing in the form but its font; the form changes nothing in the page."""
    look = """(form) => [...form.querySelectorAll("h2, label, input, button"), form].map((each) => {
        const style = getComputedStyle(each);
        const { color, textTransform, letterSpacing, borderTopStyle, backgroundColor, display } = style;
        return [color, textTransform, letterSpacing, borderTopStyle, backgroundColor, display];
    })"""
    outside = "[getComputedStyle(document.querySelector('h1'))].map((style) => [...style].map((name) => style[name]))"
    visit.open()
    plain, around = visit.form.evaluate(look), visit.page.evaluate(outside)
    assert visit.page.evaluate("document.styleSheets.length + document.adoptedStyleSheets.length") == 0
    visit.open(head='<link rel="stylesheet" href="/rude.css">')
    assert visit.form.evaluate(look) == plain
    assert visit.page.evaluate(outside) != around  # the style is rude indeed
    visit.page.goto(visit.host.show("/without", "", visit.policy))
    assert visit.page.evaluate(outside) == around


def test_a_page_changes_colours_by_custom_properties_and_parts(visit: Visit) -> None:
    """Those that docs/form.md names."""
    visit.open()
    visit.page.evaluate(
        """() => {
            const sheet = new CSSStyleSheet();
            sheet.replaceSync(`repair-enquiry { --repair-enquiry-ink: rgb(1, 2, 3); }
                               repair-enquiry::part(heading) { color: rgb(4, 5, 6); }`);
            document.adoptedStyleSheets = [sheet];
        }"""
    )
    expect(visit.form).to_have_css("color", "rgb(1, 2, 3)")
    expect(visit.form.locator("h2")).to_have_css("color", "rgb(4, 5, 6)")


@pytest.mark.parametrize("language", ["de", "ar"])
def test_the_form_speaks_the_language_of_the_page(visit: Visit, language: str) -> None:
    """Of the nearest lang; Arabic from right to left, the price in its formats."""
    visit.open(language=language)
    expect(visit.form).to_have_attribute("lang", language)
    expect(visit.form).to_have_attribute("dir", "rtl" if language == "ar" else "ltr")
    expect(visit.form.locator("label[for=phone]")).to_have_text({"de": "Telefon", "ar": "الهاتف"}[language])


def test_an_attribute_names_the_language_and_the_device(visit: Visit) -> None:
    """Before the page's own language."""
    visit.open(attributes='data-language="fr" data-device="kessoway-5"', language="de")
    expect(visit.form).to_have_attribute("lang", "fr")
    expect(visit.field("device")).to_have_value("Quellimar Kessoway 5")


def test_a_page_that_names_no_device_of_the_shop_lets_the_visitor_search(visit: Visit) -> None:
    """Nothing was sent, so that nothing is said of sending."""
    visit.open(attributes='data-device="nosuch"')
    expect(visit.field("found")).to_contain_text("is not known here")
    expect(visit.form.locator(".told")).to_be_hidden()
    visit.choose().tick("repair-battery").priced()


def test_everything_wrong_is_told_at_once(visit: Visit) -> None:
    """At every field, and nothing is sent."""
    visit.open().choose().tick("repair-battery").priced()
    visit.field("phone").fill("abc")
    visit.field("email").fill("x@")
    visit.send()
    for name in ("phone", "email", "agreed"):
        expect(visit.field(f"fault-{name}")).to_be_visible()
    assert not [request for request in visit.asked if request.url.endswith("/v1/enquiries")]


def test_a_developer_is_warned_of_what_is_set_up_wrongly(visit: Visit, database: Path) -> None:
    """On the console alone: the key of another site, and a script tag in the head, where nothing is shown."""
    visit.key = form_key(database, "https://elsewhere.example")
    with visit.page.expect_console_message(lambda told: told.type == "warning" and "takes no calls" in told.text):
        visit.open()
    expect(visit.form.locator(".told")).to_be_hidden()
    visit.complaints.clear()  # what the browser says of requests that it did not let through
    tag = f'<script src="{visit.service.address}/form.js" data-key="{visit.key}" async></script>'
    with visit.page.expect_console_message(lambda told: told.type == "warning" and "in the head" in told.text):
        visit.page.goto(visit.host.show("/head", "", visit.policy, head=tag))
    visit.complaints.clear()


def test_devices_are_not_asked_for_at_every_letter(visit: Visit) -> None:
    """Nor for words that are answered already; and Enter takes of the newest list alone.

    The page's clock stands still while they type: nobody types so slowly that a rest is taken for the end.
    """
    visit.page.clock.install()
    visit.open()
    field = visit.field("device")
    visit.page.clock.pause_at(dt.datetime.now(dt.UTC) + dt.timedelta(hours=1))
    field.press_sequentially("dunnec pocket")
    field.press("Enter")
    visit.page.clock.resume()
    expect(field).to_have_value("Tavrilo Dunnec Pocket")
    searches = [request for request in visit.asked if "/v1/devices?" in request.url]
    assert len(searches) == 1
    expect(visit.form.locator("fieldset").first).to_be_visible()
    field.fill("Dunnec  POCKET ")
    expect(visit.form.locator("[role=option]").first).to_be_visible()
    assert len([request for request in visit.asked if "/v1/devices?" in request.url]) == 1


def test_kinds_of_device_are_told_in_the_readers_language(visit: Visit) -> None:
    """Not as the rate book codes them."""
    visit.open(language="de")
    visit.field("device").fill("dunnec slab")
    expect(visit.form.locator("[role=option] .about").first).to_contain_text("Tablet,")
    visit.field("device").fill("kessoway 5")
    expect(visit.form.locator("[role=option] .about").first).to_contain_text("Smartphone,")


def test_a_page_places_the_element_itself(visit: Visit) -> None:
    """As often as it wants, with the script tag anywhere."""
    tag = f'<repair-enquiry key="{visit.key}"></repair-enquiry>'
    script = f'<script src="{visit.service.address}/form.js" async></script>'
    visit.page.goto(visit.host.show("/own", tag * 2, visit.policy, head=script))
    expect(visit.page.locator("repair-enquiry .frame h2")).to_have_count(2)


def test_it_works_from_the_keyboard_alone(visit: Visit) -> None:
    """The list of devices as the combobox pattern of the ARIA Authoring Practices Guide wants it."""
    visit.open()
    visit.page.keyboard.press("Tab")
    field = visit.field("device")
    expect(field).to_be_focused()
    visit.page.keyboard.type("dunnec")
    expect(field).to_have_attribute("aria-expanded", "true")
    active = field.get_attribute("aria-activedescendant")
    visit.page.keyboard.press("ArrowDown")
    assert field.get_attribute("aria-activedescendant") != active
    visit.page.keyboard.press("Escape")
    expect(field).to_have_attribute("aria-expanded", "false")
    visit.choose()
    visit.page.keyboard.press("Tab")
    visit.page.keyboard.press("Space")
    visit.priced()


@pytest.fixture
def scriptless(browser: Browser) -> Iterator[BrowserContext]:
    """A browser that runs no scripts."""
    with browser.new_context(java_script_enabled=False) as opened:
        yield opened


def test_the_demo_leads_to_the_form_without_scripts(scriptless: BrowserContext, shared: Service) -> None:
    """By the link in the noscript element of the shop's page; an enquiry arrives."""
    before = len(enquiries(shared))
    page = scriptless.new_page()
    page.goto(f"{shared.address}/demo/site")
    page.get_by_role("link", name="Ask for a price").click()
    page.get_by_label("Your device").fill("kessoway 5")
    page.get_by_role("button", name="Find").click()
    page.get_by_role("link", name="Quellimar Kessoway 5").first.click()
    page.get_by_role("checkbox", name="Battery").check()
    page.get_by_role("button", name="See the price").click()
    expect(page.locator(".headline")).to_contain_text("About €99.95")
    page.get_by_label("Phone").fill("+353 1 555 0188")
    page.get_by_label("I agree").check()
    page.wait_for_timeout(3_200)
    page.get_by_role("button", name="Send the enquiry").click()
    reference = page.locator("#reference").inner_text()
    arrived = enquiries(shared)
    assert (len(arrived), arrived[0]["reference"]) == (before + 1, reference)
    assert scriptless.cookies() == []


def test_the_demo_shows_the_form(visit: Visit) -> None:
    """In the shop's own colours, on the service's own origin."""
    visit.page.goto(f"{visit.service.address}/demo/site?language=de")
    expect(visit.form).to_have_attribute("lang", "de")
    visit.choose().tick("repair-battery").priced()
    expect(visit.form.locator("button[type=submit]")).to_have_css("border-radius", "999px")
