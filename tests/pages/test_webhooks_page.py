"""The owner's page of webhooks, in a real browser against a real service and a real receiver."""

from pathlib import Path

import pytest
from background.receivers import receiving, status
from playwright.sync_api import Page, expect
from standardwebhooks.webhooks import Webhook as Reference

from .conftest import Desk
from .running import Service
from .webhook_states import JOB, NOWHERE, PATH, give_up, registered


def hook(page: Page, number: int = 0):
    """A webhook on the page."""
    return page.locator("li[data-id]").nth(number)


def test_a_webhook_is_registered_and_tried_by_keyboard(desk: Desk, service: Service) -> None:
    """Its secret is shown once, can be copied, and is the one that announcements are signed with."""
    with receiving() as receiver:
        page = desk(PATH)
        page.get_by_label("Address", exact=True).focus()
        page.keyboard.type(receiver.address)
        for key in ("Tab", "Space"):  # quote.issued is ticked already: this takes it off
            page.keyboard.press(key)
        page.get_by_label("Note").last.fill("the accounts")
        page.keyboard.press("Enter")
        expect(page.locator("#secret")).to_be_focused()
        secret = page.locator("#secret output").inner_text()
        page.get_by_role("button", name="Copy").click()
        page.wait_for_function("async (it) => (await navigator.clipboard.readText()) === it", arg=secret)
        page.get_by_role("button", name="I have it").click()
        expect(hook(page)).to_contain_text("the accounts")
        assert secret not in page.content()
        expect(hook(page).get_by_label("a quote is issued")).not_to_be_checked()
        page.get_by_role("button", name="Try it").focus()
        page.keyboard.press("Enter")
        expect(page.locator("#told")).to_contain_text("The last attempt says what came of it")
        while service.call("GET", "/v1/webhooks").json["webhooks"][0]["last_attempt"] is None:
            page.wait_for_timeout(100)
        page.reload()
        expect(hook(page)).to_contain_text("arrived (204)")
        assert Reference(secret).verify(receiver.got[0].body, receiver.got[0].headers)["type"] == "webhook.trial"


def test_what_did_not_arrive_is_sent_again(desk: Desk, service: Service, tmp_path: Path) -> None:
    """One by one and all at once, under the same ids."""
    with receiving(status(500)) as receiver:
        registered(service, receiver.address)
        for _ in range(3):
            service.call("POST", "/v1/quotes", JOB)
        receiver.wait_for(3)
        page = desk(PATH)
        expect(hook(page)).to_contain_text("failing")
        give_up(tmp_path / "quoter.db")
        receiver.answers[:] = [status(204)]
        failed = len(receiver.got)
        page.reload()
        expect(hook(page).locator("tbody tr")).to_have_count(3)
        page.get_by_role("button", name="Send again").first.click()
        expect(page.locator("#told")).to_have_text("It is on its way again.")
        expect(hook(page).locator("tbody tr")).to_have_count(2)
        page.get_by_role("button", name="Send all 2 again").click()
        expect(page.locator("#told")).to_have_text("2 are on their way again.")
        receiver.wait_for(failed + 3)
    assert set(receiver.ids[:failed]) == set(receiver.ids[failed:])


@pytest.mark.parametrize(
    ("meanwhile", "said"), [(1, "It is on its way again."), (2, "Nothing was left to be sent again.")]
)
def test_how_many_are_sent_again_is_said_in_words_that_fit(
    desk: Desk, service: Service, tmp_path: Path, meanwhile: int, said: str
) -> None:
    """Also where somebody else has sent some of them meanwhile; for one alone there is no button for all."""
    with receiving(status(500)) as receiver:
        path = registered(service, receiver.address)
        for _ in range(2):
            service.call("POST", "/v1/quotes", JOB)
        receiver.wait_for(2)
        desk_page = desk(PATH)
        give_up(tmp_path / "quoter.db")
        receiver.answers[:] = [status(204)]
        desk_page.reload()
        places = [each["place"] for each in service.call("GET", f"{path}/deliveries").json["deliveries"]]
        for place in places[:meanwhile]:
            service.call("POST", f"/v1/deliveries/{place}/sending")
        desk_page.get_by_role("button", name="Send all 2 again").click()
        expect(desk_page.locator("#told")).to_have_text(said)


def test_a_webhook_that_has_given_up_is_not_healthy(desk: Desk, service: Service, tmp_path: Path) -> None:
    """Failing, while its last attempt did not arrive; one dead delivery is not "all 1"."""
    with receiving(status(500)) as receiver:
        registered(service, receiver.address)
        service.call("POST", "/v1/quotes", JOB)
        receiver.wait_for(1)
        page = desk(PATH)
        give_up(tmp_path / "quoter.db")
        page.reload()
        expect(hook(page).locator(".state")).to_have_text("failing")
        expect(hook(page).get_by_role("button", name="Send again")).to_be_visible()
        expect(hook(page).get_by_role("button", name="Send all")).to_have_count(0)


def test_a_webhook_is_paused_changed_and_ended(desk: Desk, service: Service) -> None:
    """Ending asks first; leaving it changes nothing."""
    path = registered(service, NOWHERE)
    page = desk(PATH)
    hook(page).get_by_role("button", name="Pause").click()
    expect(hook(page)).to_contain_text("by hand")
    hook(page).get_by_role("button", name="Resume").click()
    expect(hook(page)).to_contain_text("healthy")
    expect(hook(page).get_by_role("button", name="Pause")).to_be_visible()
    hook(page).get_by_text("Change what it is told").click()
    hook(page).get_by_label("a quote expires undecided").check()
    hook(page).get_by_role("button", name="Save").click()
    expect(page.locator("#told")).to_contain_text("is changed")
    assert service.call("GET", path).json["events"] == ["quote.expired", "quote.issued"]
    hook(page).get_by_role("button", name="End").click()
    page.get_by_role("button", name="Leave it").click()
    assert service.call("GET", path).status == 200
    hook(page).get_by_role("button", name="End").click()
    page.get_by_role("button", name="End it").click()
    expect(page.locator("#told")).to_contain_text("has ended")
    expect(page.locator("main")).to_contain_text("Nobody is told anything yet.")
    assert service.call("GET", path).status == 404


def test_a_new_secret_asks_for_how_long_both_count(desk: Desk, service: Service) -> None:
    """0 hours end the old one at once; a question that is left changes nothing."""
    path = registered(service, NOWHERE)
    tag = service.call("GET", path).headers["ETag"]
    page = desk(PATH)
    hook(page).get_by_role("button", name="New secret").click()
    page.get_by_label("Hours with both").fill("")
    page.get_by_role("button", name="Leave it").click()
    assert service.call("GET", path).headers["ETag"] == tag
    hook(page).get_by_role("button", name="New secret").click()
    page.get_by_label("Hours with both").fill("48")
    page.get_by_role("button", name="Make a new secret").click()
    expect(page.locator("#secret output")).to_contain_text("whsec_")
    page.get_by_role("button", name="I have it").click()
    expect(hook(page)).to_contain_text("signs as well until")


def test_who_was_not_quick_enough_is_told(desk: Desk, service: Service) -> None:
    """And nothing is overwritten."""
    path = registered(service, NOWHERE)
    page = desk(PATH)
    tag = service.call("GET", path).headers["ETag"]
    service.call("PATCH", path, {"note": "somebody else's"}, If_Match=tag)
    hook(page).get_by_role("button", name="Pause").click()
    expect(page.locator("#told")).to_contain_text("Load the page again")
    assert service.call("GET", path).json["paused_at"] is None


def test_an_address_into_a_closed_network_is_refused_at_the_form(desk: Desk) -> None:
    """With the reason, and with what was written still there."""
    page = desk(PATH)
    page.get_by_label("Address", exact=True).fill("https://10.0.0.8/told")
    page.get_by_role("button", name="Register").click()
    expect(page.locator("#register .told")).to_contain_text("not on the open internet")
    expect(page.get_by_label("Address", exact=True)).to_have_value("https://10.0.0.8/told")


def test_the_page_is_the_owners(service: Service) -> None:
    """Others are shown the way in."""
    answer = service.ask("GET", PATH)
    assert (answer.status, answer.headers["Location"]) == (303, "/sign-in?next=/owner/webhooks")
