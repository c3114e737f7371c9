"""The desk: a walk-in is quoted with one hand, from the keyboard, while the customer waits."""

import re
from collections.abc import Callable, Iterator
from decimal import Decimal

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from .running import Service

Open = Callable[..., Page]


@pytest.fixture
def desk(browser: Browser, service: Service) -> Iterator[Open]:
    """Opens the desk of the demo with a browser of its own. What its pages complain about fails the test."""
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def opened(language: str = "en", **options: object) -> Page:
        settings = {"viewport": {"width": 1280, "height": 800}, "locale": "en-IE", **options}
        context = browser.new_context(**settings)  # type: ignore[arg-type]
        contexts.append(context)
        context.add_cookies([{"name": "quoter_language", "value": language, "url": service.address}])
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda told: complaints.append(told.text) if "Content Security" in told.text else None)
        page.goto(f"{service.address}/desk")
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []


def choose(page: Page, words: str) -> None:
    """Finds a device and takes the best match."""
    page.get_by_role("combobox", name="Device").fill(words)
    expect(page.locator("#devices [role=option]").first).to_have_attribute("aria-selected", "true")
    page.keyboard.press("Enter")
    expect(page.locator("#repairs [data-price]").first).to_have_text(re.compile(r"\d"))


def priced(page: Page) -> None:
    """Waits for the price of what is ticked."""
    expect(page.get_by_role("button", name="Issue quote")).to_have_attribute("aria-disabled", "false")


def shown_total(page: Page) -> Decimal:
    """The total that stands on the page, in euro."""
    text = page.locator("#amount").inner_text()
    return Decimal(text.removeprefix("€").replace(",", ""))


def price(service: Service, **job: object) -> dict[str, object]:
    """What the service says that a job costs."""
    answer = service.call("POST", "/v1/prices", {"device": "kessoway-5", **job})
    assert answer.status == 200
    document: dict[str, object] = answer.json
    return document


def hold_escape(page: Page) -> None:
    """For longer than anybody does by accident."""
    page.keyboard.down("Escape")
    expect(page.locator("#facing")).to_be_hidden()
    page.keyboard.up("Escape")


def test_keys_lead_to_the_findings_and_to_the_contact(desk: Open) -> None:
    """From wherever the keyboard is; before there is a device there is nowhere to go."""
    page = desk()
    device = page.get_by_role("combobox", name="Device")
    for key in ("F4", "F9"):
        page.keyboard.press(key)
        expect(device).to_be_focused()
    choose(page, "kessoway 5")
    page.keyboard.press("F4")
    expect(page.locator("#findings input").first).to_be_focused()
    expect(page.locator("#contact-name")).to_be_hidden()
    page.keyboard.press("F9")
    expect(page.locator("#contact-name")).to_be_focused()
    page.keyboard.type("Orla Example")
    expect(page.locator("#contact-name")).to_have_value("Orla Example")
    page.keyboard.press("F4")
    expect(page.locator("#findings input").first).to_be_focused()
    for key, what in (("F4", "What can be seen"), ("F9", "Contact of the customer")):
        expect(page.locator(".keys li", has_text=key)).to_contain_text(what)


def test_a_walk_in_with_a_swollen_cell_is_quoted_from_the_keyboard_alone(desk: Open, service: Service) -> None:
    """Device, repair, finding, issue: without a key of the service, since this is a demo, and without a pointer."""
    page = desk()
    expect(page.get_by_role("combobox", name="Device")).to_be_focused()
    page.keyboard.type("kessoway 5", delay=15)
    expect(page.locator("#devices [role=option]").first).to_contain_text("Kessoway 5")
    page.keyboard.press("Enter")
    expect(page.get_by_role("checkbox", name="Battery")).to_be_focused()
    page.keyboard.press("1")
    expect(page.get_by_role("radio", name="genuine").first).to_be_checked()
    for _ in range(8):
        page.keyboard.press("ArrowDown")
    expect(page.get_by_role("checkbox", name="Swollen cell")).to_be_focused()
    page.keyboard.press("Space")
    priced(page)
    wanted = price(
        service, repairs=[{"procedure": "battery", "grade": "genuine"}], findings=["swollen-cell"], locale="en-IE"
    )
    expect(page.locator("#amount")).to_have_text(wanted["formatted"]["totals"]["gross"])  # type: ignore[index]
    expect(page.locator("#promises")).to_contain_text("ready in about 1 hr, 18 mins")
    page.keyboard.press("Control+Enter")
    page.wait_for_url("**/desk/quotes/*")
    quotes = service.call("GET", "/v1/quotes").json["quotes"]
    assert [quote["totals"]["gross"] for quote in quotes] == [wanted["totals"]["gross"]]  # type: ignore[index]
    assert page.url.endswith(quotes[0]["id"])


@pytest.mark.parametrize(
    ("typed", "model"),
    [("kesoway 5", "Kessoway 5"), ("dunec slb 11", "Dunnec Slab 11"), ("13 tolvran", "Tolvarn Sheet 13")],
)
def test_a_device_is_found_though_it_is_misspelt(desk: Open, typed: str, model: str) -> None:
    """And the arrows lead through what was found."""
    page = desk()
    field = page.get_by_role("combobox", name="Device")
    field.fill(typed)
    options = page.locator("#devices [role=option]")
    expect(options.first).to_contain_text(model)
    expect(field).to_have_attribute("aria-expanded", "true")
    page.keyboard.press("ArrowUp")
    expect(options.last).to_have_attribute("aria-selected", "true")
    page.keyboard.press("ArrowDown")
    expect(field).to_have_attribute("aria-activedescendant", "device-0")
    page.keyboard.press("Escape")
    expect(page.locator("#devices")).to_be_hidden()


def test_the_field_never_names_another_device_than_the_one_that_is_priced(desk: Open) -> None:
    """What was typed and not taken is given up, by Escape or by going on."""
    page = desk()
    choose(page, "dunnec 21")
    field = page.get_by_role("combobox", name="Device")
    for leave in ("Escape", "Tab"):
        page.keyboard.press("F2")
        page.keyboard.type("kessoway 5")
        expect(page.locator("#devices")).to_be_visible()
        page.keyboard.press(leave)
        expect(field).to_have_value("Tavrilo Dunnec 21")
    page.keyboard.press("F2")
    page.keyboard.type("kessoway 5")
    expect(page.locator("#devices")).to_be_visible()
    page.keyboard.press("Enter")
    expect(field).to_have_value("Quellimar Kessoway 5")


def test_the_prices_are_seen_before_anything_is_ticked(desk: Open, service: Service) -> None:
    """Every repair with every grade, alone; and a finding moves all of them."""
    page = desk()
    choose(page, "kessoway 5")
    for procedure, grade in (("screen", "reclaimed"), ("charge-port", "compatible"), ("diagnosis", "")):
        repair = {"procedure": procedure, **({"grade": grade} if grade else {})}
        before, after = (
            price(service, repairs=[repair], findings=findings, locale="en-IE") for findings in ([], ["liquid"])
        )
        place = page.locator(f'[data-price="{procedure} {grade}"]')
        expect(place).to_have_text(before["formatted"]["totals"]["gross"])  # type: ignore[index]
        page.get_by_role("checkbox", name="Signs of liquid inside").check()
        expect(place).to_have_text(after["formatted"]["totals"]["gross"])  # type: ignore[index]
        page.get_by_role("checkbox", name="Signs of liquid inside").uncheck()


def test_a_cell_that_smokes_gets_no_price_but_what_to_do_now(desk: Open) -> None:
    """Loud, in the place of the price, and nothing can be issued; taken back, the price returns."""
    page = desk()
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    priced(page)
    total = page.locator("#amount").inner_text()
    page.get_by_role("checkbox", name="Leaking, hissing").check()
    alarm = page.locator("#alarm")
    expect(alarm).to_be_visible()
    expect(alarm).to_contain_text("call the fire service")
    page.keyboard.press("F8")
    expect(page.locator("#facing .alarm")).to_contain_text("We cannot work on this device")
    hold_escape(page)
    expect(page.locator("#amount")).to_have_text("–")
    expect(page.get_by_role("button", name="Issue quote")).to_have_attribute("aria-disabled", "true")
    page.get_by_role("checkbox", name="Leaking, hissing").uncheck()
    expect(page.locator("#amount")).to_have_text(total)
    expect(alarm).to_be_hidden()


def test_another_grade_is_chosen_with_a_click(desk: Open) -> None:
    """The table says what it would cost, and that is what it then costs; the keyboard stays where it was."""
    page = desk()
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Screen").check()
    row = page.get_by_role("row", name="Screen: compatible")
    wanted = row.locator(".figure").first.inner_text()
    row.get_by_role("button", name="Choose").click()
    expect(page.locator("#amount")).to_have_text(wanted)
    expect(page.locator("[data-code=screen] input[value=compatible]")).to_be_checked()
    expect(page.get_by_role("button", name="Choose screen: genuine")).to_be_focused()


def test_the_table_of_contingencies_ends_with_the_ceiling(desk: Open, service: Service) -> None:
    """As the service names them."""
    page = desk()
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    priced(page)
    wanted = price(service, repairs=[{"procedure": "battery", "grade": "genuine"}], locale="en-IE")["formatted"]
    rows = page.locator("section", has=page.get_by_role("heading", name="If we find more on opening")).locator(
        "tbody tr"
    )
    shown = [(row.locator("th").inner_text(), row.locator("td").first.inner_text()) for row in rows.all()]
    contingencies = [(each["finding"], each["gross"]) for each in wanted["contingencies"]]  # type: ignore[index,call-overload]
    assert shown[:-1] == contingencies
    assert shown[-1] == ("With all of these, at most", wanted["ceiling"]["gross"])  # type: ignore[index,call-overload]


def test_a_line_says_how_it_came_about(desk: Open) -> None:
    """Every sum with its numbers; of what starts from a purchase price the desk is told nothing."""
    page = desk()
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    page.get_by_role("button", name="Why this price: Labour: Battery").click()
    opened = page.locator(".because:visible")
    expect(opened).to_contain_text("hourly_rate")
    expect(opened.locator(".sum").first).to_contain_text("=")
    expect(page.get_by_role("button", name="Why this price: Battery")).to_have_count(0)
    page.get_by_role("checkbox", name="Signs of liquid").check()
    expect(page.locator("#quote .lines")).to_contain_text("Risk: Signs of liquid inside")
    expect(page.locator(".because:visible")).to_have_count(1)


def test_a_discount_that_makes_no_sense_is_told_at_its_field(desk: Open) -> None:
    """And one beyond the policy says who may issue it, before anybody tries."""
    page = desk()
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    field = page.get_by_label("Discount in %")
    field.fill("1x0")
    expect(page.locator("#fault-discount")).to_be_visible()
    expect(field).to_have_attribute("aria-invalid", "true")
    field.fill("90")
    expect(page.locator("#needs-owner")).to_contain_text("Ask for the owner's key")
    expect(field).not_to_have_attribute("aria-invalid", "true")
    expect(page.get_by_role("button", name="Issue quote")).to_have_attribute("aria-disabled", "true")
    field.fill("5,5")
    priced(page)
    expect(page.locator("#quote .lines")).to_contain_text("Discount")


def test_a_customer_sees_nothing_that_is_not_theirs(desk: Open, service: Service) -> None:
    """Neither part numbers nor reasons nor the form; a click or a tap on Escape does not lead back to them."""
    page = desk()
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    page.get_by_label("Discount in %").fill("90")
    page.get_by_label("Reason for the discount").fill("friend of the owner")
    page.locator(".contact summary").click()
    page.get_by_label("Phone").fill("555 0100")
    expect(page.locator("#needs-owner")).to_be_visible()
    total = page.locator("#amount").inner_text()
    page.keyboard.press("F8")
    facing = page.locator("#facing")
    expect(facing.locator(".amount")).to_contain_text(total)
    for inside in ("QK5-CEL-G", "friend of the owner", "555 0100", "owner", "Why", "Margin"):
        assert inside not in page.locator("body").inner_text()
    for told in ("ready in about", "Warranty", "Other grades of part", "If we find more on opening", "Cautions"):
        expect(facing).to_contain_text(told)
    page.get_by_role("button", name="Hold for a second").click()
    page.keyboard.press("Escape")
    page.keyboard.press("F2")
    page.reload()
    expect(facing.locator(".amount")).to_contain_text(total)
    expect(page.locator("#main")).to_be_hidden()
    hold_escape(page)
    expect(page.locator("#main")).to_be_visible()
    expect(facing).to_be_hidden()


def test_a_customer_reads_their_own_language(desk: Open) -> None:
    """Whatever the desk reads: figures as they write them, and from right to left where that is how they read."""
    page = desk()
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    page.get_by_label("Language of the customer").select_option("de")
    priced(page)
    page.keyboard.press("F8")
    content = page.locator("#facing .content")
    expect(content).to_have_attribute("lang", "de")
    expect(content.locator(".amount")).to_contain_text(re.compile(r"\d,\d\d\s€"))
    expect(content).to_contain_text("Flüssigkeit")
    assert "Signs of liquid" not in content.inner_text()
    hold_escape(page)
    page.get_by_label("Language of the customer").select_option("ar")
    priced(page)
    page.keyboard.press("F8")
    expect(content).to_have_attribute("dir", "rtl")
    expect(page.locator("html")).to_have_attribute("dir", "ltr")


def test_a_double_click_issues_once(desk: Open, service: Service) -> None:
    """So do two presses of the keys."""
    page = desk()
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    priced(page)
    page.get_by_role("button", name="Issue quote").dblclick()
    page.wait_for_url("**/desk/quotes/*")
    assert len(service.call("GET", "/v1/quotes").json["quotes"]) == 1


def test_a_quote_keeps_contact_and_language_of_the_customer(desk: Open, service: Service) -> None:
    """Those that were typed; the desk's own language does not matter."""
    page = desk()
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    page.get_by_label("Language of the customer").select_option("pl")
    page.locator(".contact summary").click()
    page.get_by_label("Name").fill("A. Customer")
    page.get_by_label("Phone").fill("555 0100")
    priced(page)
    page.get_by_role("button", name="Issue quote").click()
    page.wait_for_url("**/desk/quotes/*")
    found = service.call("GET", "/v1/quotes?customer=5550100").json["quotes"]
    quote = service.call("GET", f"/v1/quotes/{found[0]['id']}").json
    assert (quote["contact"]["name"], quote["contact"]["phone"]) == ("A. Customer", "555 0100")
    assert quote["job"]["locale"] == "pl"


def test_what_the_law_wants_said_first_is_ticked_before_it_is_issued(desk: Open, service: Service) -> None:
    """A diagnosis that costs something; only while it is on the job."""
    page = desk()
    choose(page, "kessoway 5")
    first = page.get_by_role("group", name="Tell the customer first")
    page.get_by_role("checkbox", name="Battery").check()
    priced(page)
    expect(first).to_be_hidden()
    page.get_by_role("checkbox", name="Battery").uncheck()
    page.get_by_role("checkbox", name="Diagnosis").check()
    priced(page)
    notice = first.get_by_role("checkbox")
    page.keyboard.press("Control+Enter")
    expect(notice).to_be_focused()
    expect(page.locator("#fault-told")).to_be_visible()
    page.keyboard.press("Space")
    priced(page)
    page.keyboard.press("Control+Enter")
    page.wait_for_url("**/desk/quotes/*")
    issued = service.call("GET", "/v1/quotes").json["quotes"]
    assert len(issued) == 1
    assert service.call("GET", f"/v1/quotes/{issued[0]['id']}").json["told"] == ["diagnosis-fee"]


def test_what_was_typed_survives_a_reload_until_it_is_cleared(desk: Open, service: Service) -> None:
    """Device, ticks, terms and contact."""
    page = desk()
    choose(page, "dunnec 21")
    page.get_by_role("checkbox", name="Screen").check()
    page.locator("[data-code=screen] input[value=compatible]").check()
    page.get_by_role("checkbox", name="Bent frame").check()
    page.get_by_role("radio", name="Express").check()
    page.locator(".contact summary").click()
    page.get_by_label("Name").fill("A. Customer")
    priced(page)
    total = shown_total(page)
    page.reload()
    priced(page)
    assert shown_total(page) == total
    expect(page.get_by_role("combobox", name="Device")).to_have_value("Tavrilo Dunnec 21")
    expect(page.get_by_role("checkbox", name="Bent frame")).to_be_checked()
    expect(page.locator("#contact-name")).to_have_value("A. Customer")
    page.get_by_role("button", name="Clear").click()
    page.get_by_role("dialog").get_by_role("button", name="Clear", exact=True).click()
    expect(page.get_by_role("combobox", name="Device")).to_be_focused()
    page.reload()
    expect(page.get_by_role("combobox", name="Device")).to_have_value("")
    expect(page.get_by_role("checkbox")).to_have_count(0)


def test_the_shop_is_remembered_by_the_browser(desk: Open) -> None:
    """Its devices, its money, its way of stating tax."""
    page = desk()
    page.get_by_label("Shop").select_option("peddrick-mills")
    page.reload()
    expect(page.get_by_label("Shop")).to_have_value("peddrick-mills")
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    expect(page.locator("#amount")).to_contain_text("US$")


def test_nothing_moves_while_the_price_changes(desk: Open) -> None:
    """What is under a finger stays under it. Chromium measures how far things jump; ticking is no excuse here."""
    page = desk()
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    priced(page)
    places = "['#repairs', '#findings', '#issue', '#terms-title'].map((each) => document.querySelector(each)"
    where = f"() => {places}.getBoundingClientRect().y)"
    before = page.evaluate(where)
    page.locator("[data-code=battery] input[value=compatible]").check()
    priced(page)
    page.get_by_role("checkbox", name="Speaker").check()
    priced(page)
    assert page.evaluate(where) == before


def test_the_margin_is_for_keys_that_may_see_it(desk: Open, service: Service) -> None:
    """The desk's key of the demo may not; the owner's may, and issues what the desk may not."""
    page = desk()
    page.goto(f"{service.address}/desk")
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    priced(page)
    expect(page.get_by_text("Margin")).to_have_count(0)
    page.get_by_role("button", name="Sign out").click()
    page.goto(f"{service.address}/sign-in")
    page.get_by_label("Key", exact=True).fill(service.keys["owner"])
    page.get_by_role("button", name="Sign in").click()
    page.goto(f"{service.address}/desk")
    expect(page.get_by_role("combobox", name="Device")).to_have_value("")
    choose(page, "kessoway 5")
    page.get_by_role("checkbox", name="Battery").check()
    expect(page.get_by_text("Margin")).to_be_visible()
    page.get_by_role("button", name="Why this price: Battery, Kessoway 5").click()
    expect(page.locator(".because:visible")).to_contain_text("landed cost")
    page.get_by_label("Discount in %").fill("90")
    expect(page.locator("#needs-owner")).to_contain_text("You are signed in as the owner.")
    page.get_by_role("button", name="Issue quote").click()
    page.wait_for_url("**/desk/quotes/*")


def test_the_page_has_no_inline_script_and_no_style(service: Service) -> None:
    """The policy forbids them, and they would not work."""
    answer = service.ask("GET", "/desk")
    assert answer.headers["Cache-Control"] == "no-store"
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)", answer.body.decode())


def test_without_javascript_the_page_says_what_is_missing(desk: Open) -> None:
    """Instead of a form that does nothing."""
    page = desk(java_script_enabled=False)
    said = page.locator("noscript p")
    expect(said).to_be_visible()
    assert "needs JavaScript" in (said.text_content() or "")
    expect(page.locator("#device")).to_be_hidden()
