"""The line drops after the service has done what was asked: who tries again gets it once."""

import re
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page, Route, expect

from .quoting import issued
from .running import Service

Desk = Callable[[str], Page]

NOT_TWICE = "The service did not answer. Try again: it is not done twice."


class Line:
    """Between a page and the service: lets some answers arrive nowhere, and notes under which name each was asked."""

    def __init__(self, page: Page, address: re.Pattern[str], drops: int = 1) -> None:
        self.names: list[str] = []
        self.statuses: list[int] = []
        self._left = drops
        page.route(address, self._pass)

    def _pass(self, route: Route) -> None:
        if route.request.method != "POST":
            route.continue_()
            return
        self.names.append(route.request.headers["idempotency-key"])
        response = route.fetch()
        self.statuses.append(response.status)
        self._left -= 1
        if self._left >= 0:
            route.abort("connectionreset")
        else:
            route.fulfill(response=response)


def numbers(service: Service) -> list[str]:
    """Of all quotes."""
    quotes: list[dict[str, Any]] = service.call("GET", "/v1/quotes").json["quotes"]
    return [quote["number"] for quote in quotes]


def walk_in(page: Page) -> None:
    """A battery for a device."""
    page.get_by_role("combobox", name="Device").fill("kessoway 5")
    expect(page.locator("#devices [role=option]").first).to_have_attribute("aria-selected", "true")
    page.keyboard.press("Enter")
    page.get_by_role("checkbox", name="Battery").check()


def issue(page: Page) -> None:
    """As soon as there is a price."""
    button = page.get_by_role("button", name="Issue quote")
    expect(button).to_have_attribute("aria-disabled", "false")
    button.click()


def test_a_quote_is_issued_once(desk: Desk, service: Service) -> None:
    """Also when the page was loaded again before the second attempt; its name is given up with the answer."""
    page = desk("/desk")
    line = Line(page, re.compile("/v1/quotes[?]"), drops=2)
    walk_in(page)
    issue(page)
    expect(page.get_by_text(NOT_TWICE)).to_be_visible()
    issue(page)
    expect(page.get_by_role("button", name="Issue quote")).to_have_attribute("aria-disabled", "false")
    expect(page.get_by_text(NOT_TWICE)).to_be_visible()
    page.reload()
    issue(page)
    page.wait_for_url("**/desk/quotes/*")
    assert (line.statuses, len(set(line.names)), len(numbers(service))) == ([201] * 3, 1, 1)
    page.goto(f"{service.address}/desk")
    walk_in(page)
    issue(page)
    page.wait_for_url("**/desk/quotes/*")
    assert (len(set(line.names)), len(numbers(service))) == (2, 2)


def test_what_is_changed_before_it_is_sent_again_is_another_request(desk: Desk, service: Service) -> None:
    """It must not be answered with a quote of something else."""
    page = desk("/desk")
    line = Line(page, re.compile("/v1/quotes[?]"))
    walk_in(page)
    issue(page)
    expect(page.get_by_text(NOT_TWICE)).to_be_visible()
    page.get_by_role("checkbox", name="Swollen cell").check()
    issue(page)
    page.wait_for_url("**/desk/quotes/*")
    assert (len(set(line.names)), len(numbers(service))) == (2, 2)
    assert service.call("GET", f"/v1{page.url.split('/desk')[1]}").json["job"]["findings"] == ["swollen-cell"]


def test_the_next_customer_does_not_get_the_quote_of_the_one_before(desk: Desk, service: Service) -> None:
    """Cleared after a dropped line, the same wish is somebody else's."""
    page = desk("/desk")
    line = Line(page, re.compile("/v1/quotes[?]"))
    walk_in(page)
    issue(page)
    expect(page.get_by_text(NOT_TWICE)).to_be_visible()
    page.get_by_role("button", name="Clear").click()
    page.get_by_role("dialog").get_by_role("button", name="Clear").click()
    walk_in(page)
    issue(page)
    page.wait_for_url("**/desk/quotes/*")
    assert (len(set(line.names)), len(numbers(service))) == (2, 2)


def test_a_decision_is_recorded_once(desk: Desk, service: Service) -> None:
    """Without the name, the second attempt would be told that somebody else was quicker."""
    quote = issued(service)
    page = desk(quote.path)
    line = Line(page, re.compile("/decisions$"))
    page.locator("#decide input[value=declined]").check()
    page.locator("#decide [name=name]").fill("Orla Example")
    page.locator("#decide .actions button").click()
    expect(page.get_by_text(NOT_TWICE)).to_be_visible()
    page.locator("#decide .actions button").click()
    expect(page.get_by_text("The decision is recorded.")).to_be_visible()
    assert line.statuses == [201, 201]
    events = service.call("GET", f"/v1/quotes/{quote.data['id']}/history").json["events"]
    assert [event["kind"] for event in events] == ["issued", "declined"]
