"""A quote at the desk: read, revised and decided on, as people at two desks do it."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from .conftest import Desk
from .nursery import ROOT
from .quoting import LAW, issued, under
from .running import Service, running_service


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Of the service."""
    return tmp_path_factory.mktemp("desk") / "quoter.db"


@pytest.fixture(scope="module")
def service(database: Path) -> Iterator[Service]:
    """One for all: each test has a quote of its own."""
    with running_service(database, ROOT / "rates/ballyquarn") as running:
        yield running


def test_a_swollen_cell_after_opening_is_revised_side_by_side(desk: Desk, service: Service) -> None:
    """What it adds is marked in words, what was agreed is weighed, and the reason stands with the new revision.

    The swollen cell's risk and disposal are the book's: 0.05 x 140.00 is loaded, 4.50 is charged as it is.
    """
    shown = issued(service).decide("accepted")
    page = desk(f"{shown.path}/revise")
    page.get_by_label("Swollen cell").check()
    preview = page.locator("#preview")
    disposal = preview.get_by_role("row").filter(has_text="Disposal: Swollen cell")
    expect(disposal).to_contain_text("+ new")
    expect(disposal).to_contain_text("4.50")
    expect(preview.get_by_role("row").filter(has_text="Labour: Battery")).to_contain_text("≠ changed")
    expect(preview.get_by_role("row").filter(has_text="Battery, Kessoway 5")).not_to_contain_text("changed")
    expect(preview).to_contain_text("passes what was agreed by €42.00")
    page.get_by_role("button", name="Issue the revision").click()
    expect(page.get_by_role("alert")).to_contain_text("Write why")
    page.get_by_label("Why the quote is revised").fill("The cell is swollen.")
    page.get_by_role("button", name="Issue the revision").click()
    page.wait_for_url(f"**{shown.path}")
    expect(page.locator("#head")).to_contain_text("Waiting for consent")
    expect(page.locator("#body")).to_contain_text("The cell is swollen.")
    now = shown.fresh()
    assert (now["revision"], now["job"]["findings"], now["reason"]) == (2, ["swollen-cell"], "The cell is swollen.")
    assert now["needs_consent"]["extra"] == "42.00"


def test_a_cell_that_must_not_be_worked_on_stops_the_revision(desk: Desk, service: Service) -> None:
    """What to do now stands there in place of figures, which would be those of another job; nothing can be issued."""
    page = desk(f"{issued(service).path}/revise")
    stopping = page.locator(".finding", has_text="stops the job")
    expect(stopping).to_have_count(1)
    page.get_by_label("Bent frame").check()
    expect(page.locator("#preview .gross")).to_be_visible()
    stopping.get_by_role("checkbox").check()
    alarm = page.get_by_role("alert")
    expect(alarm).to_contain_text("Stop. Do this now.")
    expect(alarm).to_contain_text(str(stopping.locator(".caution").text_content()))
    expect(page.locator("#preview")).to_be_empty()
    issue = page.get_by_role("button", name="Issue the revision")
    expect(issue).to_be_disabled()
    stopping.get_by_role("checkbox").uncheck()
    expect(page.locator("#preview .gross")).to_be_visible()
    expect(alarm).to_have_count(0)
    expect(issue).to_be_enabled()


def test_the_caution_of_a_finding_is_shown_where_it_is_newly_ticked(desk: Desk, service: Service) -> None:
    """What was seen before has been said before."""
    page = desk(f"{issued(service, findings=['bent-frame']).path}/revise")
    swollen = page.locator(".finding", has_text="Swollen cell")
    expect(page.locator(".finding .caution:visible")).to_have_count(0)
    swollen.get_by_role("checkbox").check()
    expect(swollen.locator(".caution")).to_be_visible()
    expect(page.locator(".finding .caution:visible")).to_have_count(1)


def test_a_warranty_that_becomes_another_is_marked_in_words(desk: Desk, service: Service) -> None:
    """With the terms of both, as a line is whose price changes; one that stays is not among them."""
    page = desk(f"{issued(service).path}/revise")
    page.get_by_label("Part for: Battery").select_option("grade:compatible")
    row = page.locator("#preview .terms").get_by_role("row").filter(has_text="Battery")
    expect(row).to_contain_text("≠ changed")
    cells = row.get_by_role("cell").all_inner_texts()
    assert len(set(cells)) == 2
    page.get_by_label("Part for: Battery").select_option("grade:genuine")
    page.get_by_label("Express").check()
    expect(page.locator("#preview .gross")).to_be_visible()
    expect(page.locator("#preview .terms")).to_have_count(0)


def test_what_is_ticked_and_explained_at_once_is_compared_also_after_a_conflict(desk: Desk, service: Service) -> None:
    """Typing the reason does not take the comparison back, and a conflict brings a new one."""
    shown = issued(service)
    page = desk(f"{shown.path}/revise")
    shown.decide("accepted")
    page.get_by_label("Swollen cell").check()
    page.get_by_label("Why the quote is revised").fill("swollen")
    page.get_by_role("button", name="Issue the revision").click()
    expect(page.get_by_role("alert")).to_contain_text("Somebody else was quicker")
    expect(page.locator("#preview")).to_contain_text("passes what was agreed by €42.00")
    expect(page.locator("#preview")).not_to_contain_text("Change something")


def test_a_notice_that_must_be_told_is_asked_for_in_the_customers_language(desk: Desk, service: Service) -> None:
    """A diagnosis is paid work in the demo book, and its law wants that to be told before."""
    shown = issued(service, locale="de-DE")
    page = desk(f"{shown.path}/revise")
    page.get_by_text("Add a repair").click()
    page.get_by_label("Diagnosis").check()
    notice = page.locator("#notices [name=told]")
    expect(page.locator("#notices [lang=de]")).to_have_count(1)
    page.get_by_label("Why the quote is revised").fill("the fault must be found first")
    page.get_by_role("button", name="Issue the revision").click()
    expect(page.get_by_role("alert")).to_contain_text("Tell the customer first")
    expect(notice).to_be_focused()
    notice.check()
    page.get_by_role("button", name="Issue the revision").click()
    page.wait_for_url(f"**{shown.path}")
    assert shown.fresh()["told"] == ["diagnosis-fee"]


def test_what_is_not_touched_stays_as_it_was_asked_for(desk: Desk, service: Service) -> None:
    """A part chosen by its grade stays so; a discount in percent is a share in the job."""
    shown = issued(service, findings=["bent-frame"])
    page = desk(f"{shown.path}/revise")
    page.get_by_label("Percent").fill("7.5")
    page.locator("[name=discount_reason]").fill("second visit")
    page.get_by_label("Why the quote is revised").fill("a second visit")
    page.get_by_role("button", name="Issue the revision").click()
    page.wait_for_url(f"**{shown.path}")
    job = shown.fresh()["job"]
    assert job["discount"] == {"rate": "0.075", "reason": "second visit"}
    assert job["repairs"] == [{"procedure": "battery", "grade": "genuine"}]
    assert job["findings"] == ["bent-frame"]


def test_two_desks_on_one_quote_lose_nothing(desk: Desk, service: Service) -> None:
    """The second gets what the first has done, keeps what it typed, and goes on from there."""
    shown = issued(service)
    first, second = desk(f"{shown.path}/revise"), desk(f"{shown.path}/revise")
    for page, finding, reason in ((first, "Swollen cell", "swollen"), (second, "Bent frame", "bent, too")):
        page.get_by_label(finding).check()
        page.get_by_label("Why the quote is revised").fill(reason)
        page.get_by_role("button", name="Issue the revision").click()
        if page is first:
            first.wait_for_url(f"**{shown.path}")
    expect(second.get_by_role("alert")).to_contain_text("Somebody else was quicker")
    expect(second.get_by_role("alert")).to_contain_text("revision 2: swollen")
    expect(second.get_by_label("Why the quote is revised")).to_have_value("bent, too")
    second.get_by_role("button", name="Look at the new version").click()
    expect(second.get_by_label("Swollen cell")).to_be_checked()
    expect(second.get_by_label("Bent frame")).to_be_checked()
    expect(second.locator("#preview")).to_contain_text("Total with tax")
    second.get_by_role("button", name="Issue the revision").click()
    second.wait_for_url(f"**{shown.path}")
    now = shown.fresh()
    assert (now["revision"], now["job"]["findings"]) == (3, ["swollen-cell", "bent-frame"])


def test_a_decision_against_an_older_version_is_a_conflict(desk: Desk, service: Service) -> None:
    """What was written stays; the decisions are those of the new version, and the amount is agreed to anew."""
    shown = issued(service).decide("accepted")
    page = desk(shown.path)
    page.get_by_label("Withdrawn").check()
    page.get_by_label("Who decided").fill("Somebody Example")
    page.locator("#note").fill("wants the device back")
    shown.revise("The cell is swollen.", findings=["swollen-cell"])
    page.get_by_role("button", name="Record the decision").click()
    expect(page.get_by_role("alert")).to_contain_text("The cell is swollen.")
    page.get_by_role("button", name="Look at the new version").click()
    expect(page.locator("#head")).to_contain_text("Waiting for consent")
    expect(page.locator("#note")).to_have_value("wants the device back")
    expect(page.get_by_label("Withdrawn")).to_be_checked()
    page.get_by_role("button", name="Record the decision").click()
    expect(page.locator("#head")).to_contain_text("Withdrawn by Somebody Example")
    assert shown.fresh()["state"] == "withdrawn"


def test_a_consent_names_the_amount_and_is_sent_with_it(desk: Desk, service: Service) -> None:
    """Nothing is recorded before the amount is confirmed."""
    shown = issued(service).decide("accepted").revise("The cell is swollen.", findings=["swollen-cell"])
    page = desk(shown.path)
    page.get_by_label("Accepted").check()
    page.get_by_role("button", name="Record the decision").click()
    expect(page.get_by_role("alert")).to_contain_text("must agree")
    assert shown.fresh()["state"] == "issued"
    page.get_by_label("The customer agrees to €42.00 more than agreed before.").check()
    page.get_by_label("How", exact=True).select_option("phone")
    page.get_by_role("button", name="Record the decision").click()
    expect(page.locator("#head")).to_contain_text("Accepted by Orla Example")
    expect(page.locator("#head")).to_contain_text("by phone")
    decision = shown.fresh()["decision"]
    assert (decision["extra"], decision["how"], decision["contact"]) == ("42.00", "phone", "+353 1 555 0177")


def test_where_the_law_asks_for_a_number_it_is_asked_for(desk: Desk, service: Service, database: Path) -> None:
    """And the ways that it leaves are the only ones: this one wants a call or a message."""
    revised = issued(service).decide("accepted").revise("The cell is swollen.", findings=["swollen-cell"])
    shown = under(LAW, revised, database)
    page = desk(shown.path)
    page.get_by_label("Accepted").check()
    expect(page.get_by_label("How", exact=True)).to_have_value("phone")
    expect(page.get_by_label("How", exact=True).locator("option[value=counter]")).to_be_disabled()
    page.get_by_label("The customer agrees to €42.00 more than agreed before.").check()
    page.get_by_label("Number or address at which they said so").fill("")
    page.get_by_role("button", name="Record the decision").click()
    expect(page.get_by_role("alert")).to_contain_text("Write the number")
    page.get_by_label("Number or address at which they said so").fill("+353 1 555 0188")
    page.get_by_role("button", name="Record the decision").click()
    expect(page.locator("#head")).to_contain_text("Accepted by Orla Example")
    decision = shown.fresh()["decision"]
    assert (decision["extra"], decision["how"], decision["contact"]) == ("42.00", "phone", "+353 1 555 0188")


def test_a_limit_before_tax_says_so(desk: Desk, service: Service, database: Path) -> None:
    """A tenth more than the net: 88.06 times 1.10 is 96.866, which is rounded down."""
    law = LAW | {"excess": {"share": "0.10", "of": "net", "from": False}}
    shown = under(law, issued(service), database)
    page = desk(shown.path)
    page.get_by_label("Accepted").check()
    expect(page.get_by_label("The price, €99.95. A later price up to €96.86 before tax")).to_be_checked()
    page.get_by_role("button", name="Record the decision").click()
    expect(page.locator("#head")).to_contain_text("Without asking again, up to €96.86 before tax.")


def test_an_acceptance_up_to_the_ceiling_covers_what_the_bench_finds(desk: Desk, service: Service) -> None:
    """Then a revision is accepted without asking again."""
    shown = issued(service)
    page = desk(shown.path)
    page.get_by_label("Accepted").check()
    page.get_by_label(re.compile("Up to the ceiling")).check()
    page.get_by_role("button", name="Record the decision").click()
    expect(page.locator("#head")).to_contain_text("Accepted by")
    page.get_by_role("link", name="Revise the quote").click()
    page.get_by_label("Swollen cell").check()
    expect(page.locator("#preview")).to_contain_text("accepted without asking again")


def test_only_what_can_be_decided_is_offered(desk: Desk, service: Service) -> None:
    """An accepted quote may be withdrawn; one that was withdrawn only revised."""
    shown = issued(service).decide("accepted")
    page = desk(shown.path)
    choices = page.locator("#decide [name=decision]")
    expect(choices).to_have_count(1)
    page.get_by_label("Withdrawn").check()
    page.get_by_role("button", name="Record the decision").click()
    expect(page.locator("#head")).to_contain_text("Withdrawn by")
    expect(choices).to_have_count(0)
    expect(page.get_by_role("link", name="Revise the quote")).to_be_visible()


def test_the_contact_is_changed_and_the_history_says_so(desk: Desk, service: Service) -> None:
    """In words, and by whom."""
    shown = issued(service)
    page = desk(shown.path)
    page.get_by_label("Phone").fill("+353 1 555 0199")
    page.get_by_role("button", name="Save the contact").click()
    expect(page.get_by_role("status")).to_contain_text("saved")
    expect(page.locator(".history li").first).to_contain_text("changed how the customer is reached")
    assert shown.fresh()["contact"]["phone"] == "+353 1 555 0199"


def test_a_contact_that_two_desks_change_keeps_what_each_wrote(desk: Desk, service: Service) -> None:
    """Fields that the second has not touched follow the first; nothing is put back by saving."""
    shown = issued(service)
    first, second = desk(shown.path), desk(shown.path)
    first.get_by_label("Phone").fill("+353 1 555 0101")
    first.get_by_role("button", name="Save the contact").click()
    expect(first.get_by_role("status")).to_contain_text("saved")
    second.get_by_label("Email").fill("new@example.org")
    second.get_by_role("button", name="Save the contact").click()
    expect(second.get_by_role("alert")).to_contain_text("changed how the customer is reached")
    second.get_by_role("button", name="Look at the new version").click()
    expect(second.get_by_label("Phone")).to_have_value("+353 1 555 0101")
    expect(second.get_by_label("Email")).to_have_value("new@example.org")
    second.get_by_role("button", name="Save the contact").click()
    expect(second.get_by_role("status")).to_contain_text("saved")
    contact = shown.fresh()["contact"]
    assert (contact["phone"], contact["email"]) == ("+353 1 555 0101", "new@example.org")


def test_the_preview_is_in_the_language_of_the_desk(desk: Desk, service: Service) -> None:
    """Whatever the browser's own is: amounts stand as German writes them."""
    shown = issued(service)
    page = desk(shown.path)
    page.locator(".language select").select_option("de")
    page.locator(".language button").click()
    page.goto(f"{service.address}{shown.path}/revise")
    page.locator('[name=finding][value="swollen-cell"]').check()
    expect(page.locator("#preview .gross")).to_contain_text("141,95")


def test_a_new_link_ends_the_old_one_after_a_question(desk: Desk, service: Service) -> None:
    """Leaving it changes nothing. The link is copied as it stands there, and as a QR code."""
    shown = issued(service)
    page = desk(shown.path)
    page.get_by_role("button", name="Copy the link").click()
    expect(page.get_by_role("status")).to_contain_text("copied")
    old = page.evaluate("navigator.clipboard.readText()")
    assert old == page.locator("#link .address").inner_text()
    assert service.ask("GET", old.removeprefix(service.address)).status == 200
    page.get_by_role("button", name="Make a new link").click()
    page.get_by_role("button", name="Leave it").click()
    assert service.ask("GET", old.removeprefix(service.address)).status == 200
    page.get_by_role("button", name="Make a new link").click()
    page.get_by_role("dialog").get_by_role("button", name="Make a new link").click()
    expect(page.get_by_role("status")).to_contain_text("new link")
    assert service.ask("GET", old.removeprefix(service.address)).status == 404
    page.locator(".qr").scroll_into_view_if_needed()
    page.wait_for_function("document.querySelector('.qr').naturalWidth > 0")


def test_an_earlier_revision_is_shown_as_it_was(desk: Desk, service: Service) -> None:
    """With the way to the newest, and nothing to decide."""
    shown = issued(service)
    before = shown.gross
    shown.revise("The cell is swollen.", findings=["swollen-cell"])
    page = desk(f"{shown.path}?revision=1")
    expect(page.locator("#body .totals:not(.surprises) .gross")).to_contain_text(before)
    expect(page.locator("#decide")).to_have_count(0)
    page.get_by_role("link", name="To the newest").click()
    expect(page.locator("#body .totals:not(.surprises) .gross")).to_contain_text(shown.gross)


def test_the_papers_of_each_revision_are_there(desk: Desk, service: Service) -> None:
    """As PDF, and as a page to print."""
    shown = issued(service, locale="de-DE")
    page = desk(shown.path)
    address = page.get_by_role("link", name="Quote as PDF").get_attribute("href")
    cookies = "; ".join(f"{each['name']}={each['value']}" for each in page.context.cookies())
    answer = service.ask("GET", str(address), None, {"Cookie": cookies})
    assert (answer.headers["Content-Type"], answer.body[:5]) == ("application/pdf", b"%PDF-")
    with page.expect_popup() as opened:
        page.get_by_role("link", name="To print").click()
    expect(opened.value.locator("html")).to_have_attribute("lang", "de")
    expect(opened.value.locator("body")).to_contain_text(shown.data["number"])


def test_the_bench_copy_is_in_the_language_of_the_desk(desk: Desk, service: Service) -> None:
    """Neither in the customer's, nor in that of the browser."""
    page = desk(issued(service, locale="de-DE").path)
    page.locator(".language select").select_option("fr")
    page.locator(".language button").click()
    expect(page.locator("html")).to_have_attribute("lang", "fr")
    with page.expect_popup() as opened:
        page.locator('a[href*="copy=bench"]').click()
    expect(opened.value.locator("html")).to_have_attribute("lang", "fr")


def test_what_a_decision_rests_on_is_read_by_the_shop_alone(desk: Desk, service: Service) -> None:
    """Who, when, how, where, how much more, how far, the note and who wrote it down: of every decision, for good."""
    shown = issued(service).decide("accepted").revise("The cell is swollen.", findings=["swollen-cell"])
    said = {"name": "Una Example", "how": "phone", "contact": "+353 1 555 0144", "note": "asked to be called after six"}
    shown.decide("accepted", **said, extra="42.00", up_to="ceiling")
    page = desk(shown.path)
    proof, ceiling = page.locator("#head .proof"), shown.fresh()["formatted"]["agreement"]["limit"]
    for text in ("Una Example", "by phone", "+353 1 555 0144", "€42.00", ceiling, "asked to be called after six"):
        expect(proof).to_contain_text(text)
    expect(proof.locator("div", has_text="Recorded")).to_contain_text("demo owner")
    customers = service.ask("GET", shown.customer_path).body.decode()
    assert "555 0144" not in customers
    assert "called after six" not in customers
    shown.decide("withdrawn", name="Finn Example")
    page.reload()
    expect(proof).to_contain_text("Finn Example")
    expect(page.locator(".history .proof").nth(0)).to_contain_text("Finn Example")
    expect(page.locator(".history .proof").nth(1)).to_contain_text("asked to be called after six")
    expect(page.locator(".history .proof").nth(2)).to_contain_text("at the counter")


def test_a_key_leads_to_the_next_walk_in(desk: Desk, service: Service) -> None:
    """From a quote and from the list, also out of a field; it stands beside the link."""
    for path in (issued(service).path, "/desk/quotes"):
        page = desk(path)
        expect(page.get_by_role("link", name="New quote")).to_have_attribute("aria-keyshortcuts", "F2")
        page.locator("#phone, #customer").first.focus()
        page.keyboard.press("F2")
        page.wait_for_url("**/desk")
        expect(page.get_by_role("combobox", name="Device")).to_be_focused()


def test_the_desk_is_for_staff(service: Service) -> None:
    """Others are shown the way in, and the address that they wanted is kept."""
    shown = issued(service)
    for path in ("/desk/quotes", shown.path, f"{shown.path}/revise", f"{shown.path}/qr.svg"):
        answer = service.ask("GET", path, None, {"Host": "quotes.example.org"})
        assert (answer.status, answer.headers["Location"].split("?")[0]) == (303, "/sign-in")
