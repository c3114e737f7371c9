"""The owner's Tuesday evening, in a real browser against a real service."""

import re
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Browser, Dialog, Page, expect

from .editing import EditorPage
from .running import Service

SignIn = Callable[[], Page]

JOB = {"device": "kessoway-5", "repairs": [{"procedure": "charge-port"}]}


def gross(service: Service) -> str:
    """What the job costs now."""
    answer = service.call("POST", "/v1/prices", JOB).json
    total: str = answer["totals"]["gross"]
    return total


def test_a_draft_is_opened_changed_checked_published_and_taken_back(sign_in: SignIn, service: Service) -> None:
    """A mistake by keyboard is seen and mended; what is published counts for the next job, and can be undone."""
    before = gross(service)
    page = sign_in()
    page.goto(f"{service.address}/owner")
    page.get_by_role("link", name="Open a draft of Ballyquarn").click()
    page.get_by_role("button", name="Open a draft").click()
    # Opening reloads the page; to go to an address of the same page before that would cancel it.
    expect(page.locator("#undo")).to_be_visible()
    editor = EditorPage(page, f"{service.address}/owner/books/ballyquarn").opened("difficulty")

    editor.write(3, "hourly_rate", "fifty")
    expect(editor.save_button).to_have_text("Save 1 change")
    editor.save()
    expect(editor.cell(3, "hourly_rate")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#check li")).to_contain_text("not a number")
    page.locator("#check li a").click()
    expect(editor.cell(3, "hourly_rate")).to_be_focused()
    expect(editor.note).to_contain_text("Fault: not a number")
    page.locator("#publication summary").click()
    expect(page.locator("#publication button")).to_be_disabled()

    for row in range(2, 6):
        editor.write(row, "hourly_rate", "199.00")
    editor.save()
    expect(page.locator("#check")).to_contain_text("No faults")
    page.get_by_label("Why the rates change").fill("dearer hours")
    page.get_by_role("button", name="Publish").click()
    page.wait_for_url("**/history")
    expect(page.locator(".version").first).to_contain_text("dearer hours")
    assert gross(service) != before

    page.get_by_role("button", name="Use version 1 again").click()
    page.locator("#again-reason").fill("that was too much")
    page.get_by_role("button", name="Publish it again").click()
    expect(page.locator(".version").first).to_contain_text("(version 1 again)")
    assert gross(service) == before


def test_a_block_is_pasted_undone_and_done_again(editor: EditorPage) -> None:
    """Cells in quotes are read as a spreadsheet writes them; undo takes back the whole block."""
    editor.go(3, "title")
    old = editor.cell(3, "title").inner_text()
    editor.paste('"Cell, ""new"""\tbattery\nSecond\tbattery\n')
    expect(editor.cell(3, "title")).to_have_text(re.compile('^Cell, "new"'))
    expect(editor.cell(4, "title")).to_have_text(re.compile("^Second"))
    expect(editor.save_button).to_have_text("Save 2 changes")
    editor.press("Control+Z")
    expect(editor.cell(3, "title")).to_have_text(old)
    expect(editor.save_button).to_be_disabled()
    editor.press("Control+Y")
    expect(editor.cell(4, "title")).to_have_text(re.compile("^Second"))


def test_a_block_that_runs_over_the_end_adds_rows(editor: EditorPage, service: Service) -> None:
    """They are saved as new rows in their order."""
    editor.go(2, "sku")
    editor.press("Control+ArrowDown")
    cells = "battery\tgenuine\tkessoway-4\t9.00\t\t0.50\t0\t\t\t0.01"
    rows = "\n".join(f"NEW-{number}\tNew {number}\t{cells}" for number in range(3))
    editor.paste(rows)
    expect(editor.page.locator(".grid")).to_have_attribute("aria-rowcount", "101")
    editor.save()
    found = service.call("GET", "/v1/books/ballyquarn/draft/tables/parts").json["rows"]
    assert [row["cells"]["sku"] for row in found[-3:]] == ["NEW-0", "NEW-1", "NEW-2"]


def test_a_block_that_is_too_wide_shows_what_would_be_lost(editor: EditorPage) -> None:
    """And pastes nothing unless that is wanted."""
    editor.go(2, "condition")
    editor.paste("new\tlost cell")
    dialog = editor.page.get_by_role("dialog")
    expect(dialog).to_contain_text("lost cell")
    dialog.get_by_role("button", name="Paste nothing").click()
    expect(editor.save_button).to_be_disabled()


def test_a_selected_block_is_copied_as_a_spreadsheet_takes_it(editor: EditorPage) -> None:
    """Shift and arrows select."""
    editor.go(2, "sku")
    editor.press("Shift+ArrowDown", "Shift+ArrowRight", "Control+C")
    copied = editor.page.evaluate("navigator.clipboard.readText()")
    assert copied == "QK4-CEL-G\tBattery, Kessoway 4, maker's\nQK4-CEL-C\tBattery, Kessoway 4"


def test_keys_move_write_and_cancel(editor: EditorPage) -> None:
    """As in any spreadsheet."""
    editor.go(2, "sku")
    for key, row, column in (
        ("End", 2, "condition"),
        ("Home", 2, "sku"),
        ("Control+End", 99, "condition"),
        ("Control+Home", 2, "sku"),
        ("Tab", 2, "title"),
        ("Shift+Tab", 2, "sku"),
    ):
        editor.press(key)
        expect(editor.cell(row, column)).to_be_focused()
    editor.press("F2")
    editor.page.keyboard.type("XX")
    editor.press("Escape")
    expect(editor.cell(2, "sku")).to_have_text("QK4-CEL-G")
    expect(editor.cell(2, "sku")).to_be_focused()
    editor.press("Delete")
    expect(editor.cell(2, "sku")).to_have_attribute("aria-invalid", "true")
    expect(editor.note).to_contain_text("must not be blank")


def test_escape_and_tab_leave_the_table(editor: EditorPage) -> None:
    """Nobody is caught in it."""
    editor.go(2, "sku")
    editor.press("Escape", "Tab")
    expect(editor.page.locator(".grid :focus")).to_have_count(0)


def test_rows_are_added_moved_and_deleted(editor: EditorPage, service: Service) -> None:
    """And saved in the order that is on the screen."""
    editor.go(3, "sku")
    editor.press("Alt+ArrowUp")
    editor.page.get_by_role("button", name="Insert a row below").click()
    editor.page.keyboard.type("BETWEEN")
    editor.press("Enter")
    editor.go(5, "sku")
    editor.page.get_by_role("button", name="The row: delete").click()
    editor.save()
    found = service.call("GET", "/v1/books/ballyquarn/draft/tables/parts").json["rows"]
    assert [row["cells"]["sku"] for row in found[:4]] == ["QK4-CEL-C", "BETWEEN", "QK4-CEL-G", "QK5-CEL-C"]


def test_a_filter_shows_rows_with_all_words(editor: EditorPage) -> None:
    """Meanwhile no row is added or moved, and it says why."""
    editor.page.get_by_label("Rows with these words").fill("display dunnec genuine")
    expect(editor.page.locator("#found")).to_have_text("3 of 98 rows.")
    expect(editor.page.get_by_role("button", name="Move the row up")).to_be_disabled()
    expect(editor.page.locator("#order-note")).to_contain_text("clear the filter")
    editor.page.get_by_label("Rows with these words").fill("")
    expect(editor.page.locator(".grid")).to_have_attribute("aria-rowcount", "99")


def test_two_editors_never_overwrite_each_other(editor: EditorPage, sign_in: SignIn) -> None:
    """The second is told what changed, keeps what it wrote, and sees where both wrote."""
    second = EditorPage(sign_in(), editor.address).opened("parts")
    second.write(3, "cost", "77.77")
    second.write(2, "cost", "66.66")
    editor.write(3, "cost", "11.11")
    editor.write(4, "title", "Renamed meanwhile")
    editor.save()

    second.press("Control+S")
    notice = second.page.locator("#notices")
    expect(notice).to_contain_text("Somebody else was quicker")
    expect(notice).to_contain_text("Renamed meanwhile")
    expect(notice).to_contain_text("theirs “11.11”, yours “77.77”")
    expect(second.cell(3, "cost")).to_have_text(re.compile("^77.77"))
    expect(second.cell(3, "cost")).to_have_attribute("data-kind", re.compile("collision"))
    expect(second.cell(2, "cost")).to_have_text(re.compile("^66.66"))
    expect(second.cell(4, "title")).to_have_text("Renamed meanwhile")

    second.go(3, "cost")
    second.page.get_by_role("button", name="Take theirs").click()
    expect(second.cell(3, "cost")).to_have_text("11.11")
    second.save()
    expect(second.cell(2, "cost")).to_have_text("66.66")


def test_another_draft_gets_nothing_of_the_old_one(editor: EditorPage, service: Service) -> None:
    """Its rows have the same ids and are others; what was written is told instead."""
    editor.write(3, "cost", "77.77")
    path = "/v1/books/ballyquarn/draft"
    service.call("DELETE", path, If_Match=service.call("GET", path).headers["ETag"])
    service.call("POST", path, {})
    editor.press("Control+S")
    expect(editor.page.locator("#notices")).to_contain_text("parts · QK4-CEL-C: cost “77.77”")
    expect(editor.cell(3, "cost")).to_have_text("13.40")
    expect(editor.save_button).to_be_disabled()


def test_leaving_with_unsaved_changes_asks_first(editor: EditorPage) -> None:
    """Whoever says no stays where they are."""
    editor.write(2, "cost", "1.00")
    asked: list[str] = []

    def stay(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.dismiss()

    editor.page.once("dialog", stay)
    with editor.page.expect_event("dialog"):
        editor.page.get_by_role("link", name="Rate books").first.click(no_wait_after=True)
    expect(editor.save_button).to_have_text("Save 1 change")
    assert asked == ["beforeunload"]
    editor.save()


def test_publication_from_a_moment_shows_it_in_utc(editor: EditorPage, service: Service) -> None:
    """The clocks are the shop's: in Dublin summer time is an hour ahead."""
    page = editor.page
    page.locator("#publication summary").click()
    page.get_by_label("from a moment on").check()
    page.get_by_label("Date and time in Europe/Dublin").fill("2031-07-01T09:00")
    expect(page.locator("#publish-utc")).to_have_text("In UTC: 2031-07-01 08:00")
    page.get_by_label("Why the rates change").fill("summer prices")
    page.get_by_role("button", name="Publish").click()
    page.wait_for_url("**/history")
    expect(page.locator(".version").first).to_contain_text("waiting")
    newest = service.call("GET", "/v1/books/ballyquarn/versions").json["versions"][0]
    assert newest["counts_from"] == "2031-07-01T08:00:00.000000Z"


def test_a_file_is_looked_at_before_it_is_brought_in(editor: EditorPage, service: Service, tmp_path: Path) -> None:
    """The dry run shows what would differ; bringing in does it."""
    editor.write(2, "cost", "21.75")
    editor.save()
    changed = tmp_path / "changed.zip"
    changed.write_bytes(service.call("GET", "/v1/books/ballyquarn/draft/export?format=zip").body)
    editor.write(2, "cost", "20.50")
    editor.save()
    page = editor.page
    page.locator("#files summary").click()
    page.locator("#file").set_input_files(changed)
    page.get_by_role("button", name="See what it would change").click()
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("21.75")
    expect(dialog).to_contain_text("The file has no faults")
    dialog.get_by_role("button", name="Bring in").click()
    expect(editor.cell(2, "cost")).to_have_text("21.75")


def test_the_effect_is_measured_while_the_page_may_be_loaded_again(editor: EditorPage) -> None:
    """Progress is a bar and a text; the figures come with pictures that have a text."""
    editor.write(2, "cost", "21.75")
    editor.save()
    page = editor.page
    page.locator("#effect summary").click()
    page.get_by_role("button", name="Measure the effect").click()
    expect(page.locator("#effect .loaded")).not_to_be_empty()
    page.reload()
    page.locator("#effect summary").click()
    expect(page.locator("#effect")).to_contain_text("The whole price list")
    for picture in page.locator("#effect img").all():
        assert picture.get_attribute("alt")


def test_a_draft_is_discarded_after_a_question(editor: EditorPage, service: Service) -> None:
    """Whoever says no keeps it."""
    page = editor.page
    page.locator("#discard summary").click()
    page.get_by_role("button", name="Discard the draft…").click()
    page.get_by_role("button", name="Keep it").click()
    assert service.call("GET", "/v1/books/ballyquarn/draft").status == 200
    page.get_by_role("button", name="Discard the draft…").click()
    page.get_by_role("button", name="Discard it").click()
    expect(page.get_by_role("button", name="Open a draft")).to_be_visible()
    assert service.call("GET", "/v1/books/ballyquarn/draft").status == 404


def test_settings_are_lines_that_can_be_changed(editor: EditorPage, service: Service) -> None:
    """Two lines of one key are not saved: one of them would be lost."""
    editor.opened("book.toml")
    editor.write(20, "value", "3.20")
    editor.page.get_by_role("button", name="Insert a row below").click()
    editor.page.keyboard.type("labour.bench_rate")
    editor.press("Enter", "Control+S")
    expect(editor.page.locator("#notices")).to_contain_text("Two lines of book.toml have the key labour.bench_rate")
    editor.press("Control+Z", "Control+Z")
    editor.save()
    lines = service.call("GET", "/v1/books/ballyquarn/draft/tables/book.toml").json["rows"]
    assert {"key": "labour.bench_rate", "value": "3.20"} in [line["cells"] for line in lines]


def test_a_setting_says_what_it_is_for(editor: EditorPage) -> None:
    """Beside the table, as a column does; its value, in words of its own line."""
    editor.opened("book.toml").go(20, "value")
    expect(editor.note).to_contain_text("labour.bench_rate an hour of dwell")
    expect(editor.note).to_contain_text("(a number from 0)")


def test_the_law_profile_is_a_document_beside_the_others(editor: EditorPage, service: Service) -> None:
    """A fault in it leads to its line; a book that names none has no such document."""
    navigation = editor.page.locator("#tables")
    expect(navigation.get_by_role("link", name="Law")).to_be_visible()
    editor.opened("law").write(5, "value", "offer")
    editor.save()
    expect(editor.page.locator("#check li")).to_contain_text("law/ireland.toml")
    editor.page.locator("#check li a").click()
    expect(editor.cell(5, "value")).to_be_focused()
    editor.write(5, "value", "estimate")
    editor.save()
    expect(editor.page.locator("#check")).to_contain_text("No faults")
    draft = "/v1/books/ballyquarn/draft"
    unnamed = {"edits": [{"do": "delete", "table": "book.toml", "key": "law_profile"}]}
    tag = service.call("GET", draft).headers["ETag"]
    assert service.call("PATCH", draft, unnamed, If_Match=tag).status == 200
    editor.page.reload()
    expect(navigation.get_by_role("link", name="Tax")).to_be_visible()
    expect(navigation.get_by_role("link", name="Law")).to_have_count(0)


def test_the_price_list_is_one_click_away(sign_in: SignIn, service: Service) -> None:
    """As a file that a spreadsheet opens."""
    page = sign_in()
    page.goto(f"{service.address}/owner")
    with page.expect_download() as downloading:
        page.get_by_role("link", name="Price list of Ballyquarn").click()
    assert downloading.value.suggested_filename == "price-list.csv"
    assert downloading.value.path().read_text().startswith("device,maker,model")


def test_without_javascript_the_page_says_what_is_missing(browser: Browser, service: Service) -> None:
    """Signing in works all the same."""
    service.call("POST", "/v1/books/ballyquarn/draft", {})
    with browser.new_context(java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(f"{service.address}/owner/books/ballyquarn")
        page.get_by_label("Key", exact=True).fill(service.keys["owner"])
        page.get_by_role("button", name="Sign in").click()
        assert page.url.endswith("/owner/books/ballyquarn")
        said = page.locator("noscript p")
        expect(said).to_be_visible()
        assert "needs JavaScript" in (said.text_content() or "")
        expect(page.locator(".sheet")).to_be_hidden()
