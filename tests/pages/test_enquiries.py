"""What visitors ask, at the desk: found, made quotes of, changed first, put aside."""

from playwright.sync_api import Page, expect

from .asking import DIAGNOSIS, NOTICED, asked, asked_by_form
from .conftest import Desk
from .quoting import issued
from .running import Service


def test_a_quote_is_made_of_what_a_visitor_asked_in_one_action(desk: Desk, service: Service) -> None:
    """From the list by keys alone; the quote leads back, and nobody waits any more."""
    wanted = asked_by_form(service, service.address)
    page = desk("/desk/enquiries")
    expect(page.get_by_role("link", name="Enquiries (1)")).to_be_visible()
    page.get_by_label("Customer: name, phone or email").fill("orla")
    page.wait_for_url("**orla**")  # once the list is the one that was asked for
    expect(page.locator("#tally")).to_contain_text("1 enquiry")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{wanted.path}")
    expect(page.locator(".noticed")).to_contain_text("warm when it charges")
    page.get_by_role("button", name="Make the quote").press("Enter")
    page.wait_for_url("**/desk/quotes/*")
    quote = service.call("GET", "/v1/quotes").json["quotes"][0]
    assert quote["contact"] == wanted.data["contact"]
    page.get_by_role("link", name=wanted.data["reference"]).click()
    page.wait_for_url(f"**{wanted.path}")
    expect(page.get_by_role("link", name=quote["number"])).to_be_visible()
    expect(page.get_by_role("link", name="Enquiries", exact=True).first).to_be_visible()


def test_the_visitor_can_be_called_and_written_to(desk: Desk, service: Service) -> None:
    """By links (RFC 3966, RFC 6068); a reference is also an address."""
    reference = asked(service).data["reference"]
    page = desk(f"/desk/enquiries/{reference.lower()}")
    expect(page.get_by_role("link", name="+353 1 555 0177")).to_have_attribute("href", "tel:+35315550177")
    mail = page.get_by_role("link", name="orla@example.org")
    expect(mail).to_have_attribute("href", f"mailto:orla@example.org?subject={reference}")


def test_what_a_visitor_writes_is_text(desk: Desk, service: Service) -> None:
    """Markup is shown as it was written, and runs nothing."""
    said = "<img src=x onerror=alert(1)> {{ 7*7 }}"
    contact = {"name": "<b>Orla</b>", "email": '"><script>@example.org'}
    page = desk(asked(service, noticed=said, contact=contact).path)
    expect(page.locator(".noticed")).to_have_text(said)
    expect(page.locator(".reach")).to_contain_text("<b>Orla</b>")
    assert page.locator("main img, main script").count() == 0


def test_what_must_be_told_is_ticked_first(desk: Desk, service: Service) -> None:
    """Without the tick nothing is issued."""
    page = desk(asked(service, job=DIAGNOSIS).path)
    page.get_by_role("button", name="Make the quote").click()
    expect(page.get_by_role("alert")).to_contain_text("Tick what you have told")
    expect(page.locator("[name=told]")).to_be_focused()
    assert service.call("GET", "/v1/quotes").json["quotes"] == []
    page.locator("[name=told]").check()
    page.get_by_role("button", name="Make the quote").click()
    page.wait_for_url("**/desk/quotes/*")


def test_an_enquiry_is_changed_at_the_desk_first(desk: Desk, service: Service) -> None:
    """Everything is filled in, also after a reload; what is issued from there is the enquiry's quote."""
    wanted = asked(service, job={**DIAGNOSIS, "findings": [], "urgency": "express", "locale": "de-DE"})
    page = desk(wanted.path)
    page.get_by_role("link", name="Change it at the desk first").click()
    _has_what_was_asked(page, wanted.data["reference"])
    page.reload()
    _has_what_was_asked(page, wanted.data["reference"])
    page.locator("#repair-diagnosis").uncheck()
    page.locator("#repair-battery").check()
    expect(page.locator("#issue")).to_have_attribute("aria-disabled", "false")
    page.locator("#issue").click()
    page.wait_for_url("**/desk/quotes/*")
    fresh = wanted.fresh()
    assert fresh["standing"] == "quoted"
    assert page.url.endswith(fresh["quote"]["id"])
    page.goto(f"{service.address}/desk?enquiry={wanted.data['id']}")
    page.wait_for_url(f"**{wanted.path}")


def _has_what_was_asked(page: Page, reference: str) -> None:
    expect(page.locator("#for-enquiry")).to_contain_text(reference)
    expect(page.locator("#repair-diagnosis")).to_be_checked()
    expect(page.get_by_role("radio", name="Express")).to_be_checked()
    expect(page.locator("#customer-language")).to_have_value("de")
    expect(page.locator("#contact-name")).to_have_value("Orla Example")


def test_what_was_typed_at_the_desk_is_not_lost_to_an_enquiry(desk: Desk, service: Service) -> None:
    """It is asked; who keeps what they typed issues no quote of the enquiry."""
    wanted = asked(service)
    page = desk("/desk")
    page.locator("#device").fill("dunnec 21")
    expect(page.locator("#devices [aria-selected=true]")).to_contain_text("Dunnec")
    page.keyboard.press("Enter")
    page.locator("#repair-screen").check()
    page.goto(f"{service.address}/desk?enquiry={wanted.data['id']}")
    page.get_by_role("button", name="Keep what was typed").click()
    expect(page.locator("#repair-screen")).to_be_checked()
    expect(page.locator("#for-enquiry")).to_be_hidden()
    page.goto(f"{service.address}/desk?enquiry={wanted.data['id']}")
    page.get_by_role("button", name="Open the enquiry").click()
    expect(page.locator("#repair-battery")).to_be_checked()
    page.locator("#clear").click()
    page.get_by_role("button", name="Clear").last.click()
    expect(page.locator("#for-enquiry")).to_be_hidden()


def test_an_enquiry_is_put_aside_and_taken_up_again(desk: Desk, service: Service) -> None:
    """With a reason; then it is not listed among those that wait."""
    wanted = asked(service)
    page = desk(wanted.path)
    page.get_by_label("Why no quote is made of it").select_option("no-answer")
    page.get_by_role("button", name="Put it aside").click()
    expect(page.locator("#head")).to_contain_text("does not answer")
    assert wanted.fresh()["closed_because"] == "no-answer"
    page.get_by_role("button", name="Take it up again").click()
    expect(page.locator("#head")).to_contain_text("Nobody has answered it yet.")
    assert wanted.fresh()["standing"] == "new"


def test_nobody_puts_an_enquiry_aside_for_a_reason_they_did_not_choose(desk: Desk, service: Service) -> None:
    """None is chosen beforehand."""
    wanted = asked(service)
    page = desk(wanted.path)
    page.get_by_role("button", name="Put it aside").click()
    expect(page.get_by_role("alert")).to_contain_text("Please choose why")
    assert wanted.fresh()["standing"] == "new"


def test_an_erased_enquiry_waits_for_nobody(desk: Desk, service: Service) -> None:
    """It says when it was erased, is not counted, and offers nothing that needs somebody to answer."""
    wanted = asked(service)
    erased = service.call("POST", "/v1/customers/erasure", {"enquiry": wanted.data["reference"]})
    assert erased.status == 200
    page = desk("/desk/enquiries")
    expect(page.locator("#tally")).to_contain_text("No enquiry waits.")
    page.goto(f"{service.address}/desk/enquiries?standing=any")
    expect(page.locator(".quotes .customer")).to_contain_text("erased on")
    page.goto(service.address + wanted.path)
    expect(page.locator("#head")).to_contain_text("erased on")
    for name in ("Make the quote", "Put it aside", "Take it up again"):
        expect(page.get_by_role("button", name=name)).to_have_count(0)
    seen = f'"{wanted.fresh()["version"]}"'
    again = service.call("POST", f"/v1/enquiries/{wanted.data['id']}/closing", {"because": None}, If_Match=seen)
    assert again.status == 409


def test_the_caution_of_what_was_noticed_comes_first(desk: Desk, service: Service) -> None:
    """A swollen cell may burn."""
    job = NOTICED["job"] | {"repairs": [{"procedure": "screen"}], "findings": ["swollen-cell"]}
    page = desk(asked(service, job=job).path)
    assert page.locator(".cautions li").count() > 1
    expect(page.locator(".cautions li").first).to_contain_text("swollen")


def test_who_is_late_is_told_what_happened(desk: Desk, service: Service) -> None:
    """And no second quote is made."""
    wanted = asked(service)
    page = desk(wanted.path)
    wanted.quote()
    page.get_by_role("button", name="Make the quote").click()
    expect(page.get_by_role("alert")).to_contain_text("A quote was made of the enquiry.")
    page.get_by_role("button", name="Look at the new version").click()
    expect(page.locator("#head")).to_contain_text("A quote was made of it:")
    expect(page.get_by_role("button", name="Make the quote")).to_have_count(0)
    assert len(service.call("GET", "/v1/quotes").json["quotes"]) == 1


def test_the_list_is_a_plain_form_without_scripts(service: Service, browser_without_scripts: Page) -> None:
    """Those that wait; a reference may be said without its year, and is found whatever it stands at."""
    waiting, closed = asked(service), asked(service).put_aside()
    page = browser_without_scripts
    page.goto(f"{service.address}/desk/enquiries")
    rows = page.locator("#found tbody tr")
    expect(rows).to_have_count(1)
    expect(rows).to_contain_text(waiting.data["reference"])
    page.get_by_label("Reference").fill("2")
    page.get_by_role("button", name="Find").click()
    expect(rows).to_have_count(1)
    expect(rows).to_contain_text(closed.data["reference"])
    page.goto(f"{service.address}/desk/enquiries?standing=any")
    expect(rows).to_have_count(2)


def test_a_long_list_has_a_next_page(desk: Desk, service: Service) -> None:
    """25 a page, nothing twice, and a cursor that says nothing; one that is none begins at the beginning."""
    for _ in range(27):
        asked(service)
    page = desk("/desk/enquiries")
    found = page.locator("#found tbody a")
    expect(found).to_have_count(25)
    seen = found.all_inner_texts()
    page.get_by_role("link", name="Earlier enquiries").click()
    expect(found).to_have_count(2)
    assert len({*seen, *found.all_inner_texts()}) == 27
    page.goto(f"{service.address}/desk/enquiries?after=x")
    expect(found).to_have_count(25)


def test_the_difference_is_told_to_the_desk(desk: Desk, service: Service) -> None:
    """Where the quote is for more than was asked."""
    wanted = asked(service)
    more = issued(service, enquiry=wanted.data["id"], repairs=[{"procedure": "battery"}, {"procedure": "screen"}])
    expect(desk(wanted.path).locator("#head")).to_contain_text("more than the visitor was told")
    expect(desk(more.path).locator("#head")).to_contain_text("more than the visitor was told")


def test_an_address_that_leads_to_no_enquiry_says_so(desk: Desk) -> None:
    """With the way to find another one."""
    page = desk("/desk/enquiries/A2026-99999")
    expect(page.get_by_role("heading", level=1)).to_have_text("There is no such enquiry")
