"""The desk's list of quotes: found by what somebody on the phone can say."""

import pytest
from playwright.sync_api import Page, expect

from .conftest import Desk
from .quoting import issued
from .running import Service


def test_the_list_follows_what_is_typed_and_a_row_opens_the_quote(desk: Desk, service: Service) -> None:
    """Accents and case do not matter, and the last digits of a phone number are enough."""
    issued(service)
    wanted = issued(service, contact={"name": "Zażółć Łąkowska", "phone": "+48 22 555 01 63"})
    page = desk("/desk/quotes")
    rows = page.locator("#found tbody tr")
    expect(rows).to_have_count(2)
    page.get_by_label("Customer: name, phone or email").fill("lakow")
    expect(rows).to_have_count(1)
    page.get_by_label("Customer: name, phone or email").fill("5550163")
    page.wait_for_url("**5550163**")  # once the list is the one that was asked for
    expect(rows).to_have_count(1)
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{wanted.path}")
    expect(page.get_by_role("heading", level=1)).to_contain_text(wanted.data["number"])


def test_the_list_is_a_plain_form_without_scripts(service: Service, browser_without_scripts: Page) -> None:
    """The number of this year may be said without the year; nothing found says what may help."""
    first = issued(service)
    issued(service, repairs=[{"procedure": "screen"}])
    page = browser_without_scripts
    page.goto(f"{service.address}/desk/quotes")
    page.get_by_label("Number").fill("1")
    page.get_by_role("button", name="Find").click()
    expect(page.locator("#found tbody tr")).to_have_count(1)
    expect(page.locator("#found tbody")).to_contain_text(first.data["number"])
    page.get_by_label("Device").fill("no such device")
    page.get_by_role("button", name="Find").click()
    expect(page.locator("#found")).to_contain_text("What may help")
    expect(page.get_by_label("Device")).to_have_value("no such device")


def test_a_long_list_has_a_next_page(desk: Desk, service: Service) -> None:
    """25 a page, the newest first, and nothing twice."""
    for _ in range(27):
        issued(service)
    page = desk("/desk/quotes?device=kessoway")
    numbers = page.locator("#found tbody a")
    expect(numbers).to_have_count(25)
    seen = numbers.all_inner_texts()
    page.get_by_role("link", name="Earlier quotes").click()
    expect(numbers).to_have_count(2)
    seen += numbers.all_inner_texts()
    assert seen == sorted(set(seen), reverse=True)
    assert len(seen) == 27
    expect(page.get_by_label("Device")).to_have_value("kessoway")


@pytest.mark.parametrize(
    ("query", "numbers"),
    [
        ("state=accepted", ["2"]),
        ("state=issued", ["1"]),
        ("from=2020-01-01&until=2020-12-31", []),
        ("from=2020-01-01", ["2", "1"]),
    ],
)
def test_states_and_days_narrow_the_list(desk: Desk, service: Service, query: str, numbers: list[str]) -> None:
    """Each by itself."""
    issued(service)
    issued(service).decide("accepted")
    page = desk(f"/desk/quotes?{query}")
    found = [text.split("-")[1].lstrip("0") for text in page.locator("#found tbody a").all_inner_texts()]
    assert found == numbers


def test_a_day_that_cannot_be_read_is_named(desk: Desk) -> None:
    """Instead of being left out of the search without a word."""
    page = desk("/desk/quotes?from=tomorrow")
    expect(page.get_by_label("Issued from")).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_role("status")).to_contain_text("2026-03-31")
