"""Every page in every state that looks different, for the check of accessibility and for screenshots."""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from .desk_states import DESK_STATES
from .editing import EditorPage
from .enquiry_states import ENQUIRY_STATES
from .nursery import ROOT
from .quote_states import QUOTE_STATES
from .running import Service, running_service
from .webhook_states import WEBHOOK_STATES

WIDTHS = {1280: 800, 820: 1100, 390: 844}
SCHEMES = ("light", "dark")

BOOK = "ballyquarn"


@dataclass(frozen=True)
class Scene:
    """A service with a little history, and a page of somebody who is signed in."""

    service: Service
    page: Page
    folder: Path

    def go(self, path: str) -> None:
        """To a page."""
        self.page.goto("about:blank")
        self.page.goto(self.service.address + path)

    def editor(self, table: str = "parts") -> EditorPage:
        """The editor of a draft as it was opened."""
        self.page.goto("about:blank")
        path = f"/v1/books/{BOOK}/draft"
        draft = self.service.call("GET", path)
        if draft.status == 200:
            self.service.call("DELETE", path, If_Match=draft.headers["ETag"])
        self.service.call("POST", path, {})
        return EditorPage(self.page, f"{self.service.address}/owner/books/{BOOK}").opened(table)

    def set(self, sku: str, column: str, text: str) -> None:
        """Somebody else changes a part."""
        rows = self.service.call("GET", f"/v1/books/{BOOK}/draft/tables/parts")
        row = next(each["id"] for each in rows.json["rows"] if each["cells"]["sku"] == sku)
        edit = {"do": "set", "table": "parts", "row": row, "cells": {column: text}}
        path = f"/v1/books/{BOOK}/draft"
        assert self.service.call("PATCH", path, {"edits": [edit]}, If_Match=rows.headers["ETag"]).status == 200

    def publish(self, reason: str, hourly_rate: str, counts_from: str | None = None) -> None:
        """A version with another bench rate."""
        path = f"/v1/books/{BOOK}/draft"
        draft = self.service.call("POST", path, {})
        edit = {"do": "set", "table": "book.toml", "key": "labour.bench_rate", "value": hourly_rate}
        edited = self.service.call("PATCH", path, {"edits": [edit]}, If_Match=draft.headers["ETag"])
        wanted = {"reason": reason, "counts_from": counts_from}
        published = self.service.call("POST", f"{path}/publication", wanted, If_Match=edited.headers["ETag"])
        assert published.status == 201


States = tuple[Callable[[Scene], None], ...]


@contextmanager
def scene(browser: Browser) -> Iterator[Scene]:
    """A service with three versions of a book, the last of which waits, and a browser that is signed in."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        books = (ROOT / "rates/ballyquarn", ROOT / "rates/peddrick-mills")
        with running_service(folder / "quoter.db", *books) as service, browser.new_context() as context:
            context.grant_permissions(["clipboard-read", "clipboard-write"])
            page = context.new_page()
            page.goto(f"{service.address}/sign-in")
            page.get_by_label("Key", exact=True).fill(service.keys["owner"])
            page.get_by_role("button", name="Sign in").click()
            opened = Scene(service, page, folder)
            opened.publish("the heater bench costs more since October", "3.20")
            opened.publish("winter rates", "3.40", "2031-01-01T00:00:00Z")
            yield opened


def signing_in(scene: Scene) -> None:
    """The form, seen by somebody who is signed out."""
    scene.page.context.clear_cookies()
    scene.go("/owner")


def refused(scene: Scene) -> None:
    """The form after a wrong key; then signed in again."""
    signing_in(scene)
    scene.page.get_by_label("Key", exact=True).fill("quoter_wrong_key")
    scene.page.get_by_role("button", name="Sign in").click()


def signed_in(scene: Scene) -> None:
    """The list of books, with a draft."""
    scene.page.get_by_label("Key", exact=True).fill(scene.service.keys["owner"])
    scene.page.get_by_role("button", name="Sign in").click()
    scene.service.call("POST", "/v1/books/ballyquarn/draft", {})
    scene.go("/owner")


def history(scene: Scene) -> None:
    """With what a version changed."""
    scene.go(f"/owner/books/{BOOK}/history")
    scene.page.get_by_text("What it changed").nth(1).click()
    expect(scene.page.locator("details[open] .loaded")).not_to_contain_text("Loading")


def using_again(scene: Scene) -> None:
    """The question before an earlier version is used again."""
    scene.go(f"/owner/books/{BOOK}/history")
    scene.page.get_by_role("button", name="Use version 1 again").click()
    scene.page.get_by_label("from a moment on").check()
    scene.page.get_by_label("Date and time").fill("2031-07-01T09:00")


def no_draft(scene: Scene) -> None:
    """A book without a draft."""
    scene.go("/owner/books/peddrick-mills")


def nothing(scene: Scene) -> None:
    """A book that is not there."""
    scene.go("/owner/books/nowhere")


def parts(scene: Scene) -> None:
    """A table as it is opened."""
    scene.editor().go(5, "devices")


def settings(scene: Scene) -> None:
    """The document of settings."""
    scene.editor("book.toml").go(16, "value")


def fault(scene: Scene) -> None:
    """A fault that was saved, and others that were not."""
    editor = scene.editor()
    editor.write(3, "cost", "1O.40")
    editor.write(4, "devices", "kesoway-5")
    editor.save()
    editor.write(6, "title", "")
    editor.go(5, "title")
    editor.press("Delete")
    scene.page.get_by_role("button", name="Next fault").click()
    expect(editor.note).to_contain_text("Fault")


def writing(scene: Scene) -> None:
    """A selected block, then a cell that is being written, with codes to choose from."""
    editor = scene.editor()
    editor.write(3, "cost", "14.10")
    editor.go(4, "devices")
    editor.press("F2")


def selected(scene: Scene) -> None:
    """A block that is selected, with unsaved rows."""
    editor = scene.editor()
    editor.go(3, "sku")
    scene.page.get_by_role("button", name="Insert a row below").click()
    scene.page.keyboard.type("QK6-CEL-G")
    editor.press("Enter", "ArrowUp", "ArrowUp", "Shift+ArrowDown", "Shift+ArrowDown", "Shift+ArrowRight")


def filtered(scene: Scene) -> None:
    """Rows that were filtered."""
    scene.editor()
    scene.page.get_by_label("Rows with these words").fill("display dunnec")


def too_wide(scene: Scene) -> None:
    """A block with more columns than there is room for."""
    editor = scene.editor()
    editor.go(2, "warranty")
    editor.paste("part-365\t0.01\tnew\tour remark\tordered\npart-180\t0.02\tnew\t\tnot ordered\n")
    expect(scene.page.get_by_role("dialog")).to_be_visible()


def conflict(scene: Scene) -> None:
    """Somebody else was quicker."""
    editor = scene.editor()
    editor.write(3, "cost", "14.10")
    scene.set("QK4-CEL-C", "cost", "13.90")
    scene.set("QK5-CEL-G", "title", "Battery, Kessoway 5, from its maker")
    editor.press("Control+S")
    expect(scene.page.locator("#notices")).to_contain_text("quicker")
    editor.go(3, "cost")


def comparison(scene: Scene) -> None:
    """What the draft changes."""
    editor = scene.editor()
    editor.write(3, "cost", "14.10")
    editor.write(4, "title", "Battery, Kessoway 5, from its maker")
    editor.save()
    scene.page.locator("#comparison summary").click()
    expect(scene.page.locator("#comparison .loaded")).to_contain_text("14.10")


def measuring(scene: Scene) -> None:
    """An effect under way."""
    scene.editor()
    scene.page.locator("#effect summary").click()
    scene.page.get_by_role("button", name="Measure the effect").click()
    expect(scene.page.locator("#effect .loaded")).not_to_be_empty()


def measured(scene: Scene) -> None:
    """An effect with its figures and pictures."""
    if not scene.page.locator("#effect .loaded").count():
        measuring(scene)
    expect(scene.page.locator("#effect")).to_contain_text("The whole price list")
    scene.page.locator("#effect img").first.scroll_into_view_if_needed()


def publication(scene: Scene) -> None:
    """From a moment on."""
    scene.editor()
    scene.page.locator("#publication summary").click()
    scene.page.get_by_label("Why the rates change").fill("summer prices")
    scene.page.get_by_label("from a moment on").check()
    scene.page.get_by_label("Date and time").fill("2031-07-01T09:00")


def importing(scene: Scene) -> None:
    """A file before it is brought in."""
    editor = scene.editor()
    editor.write(3, "cost", "14.1O")
    editor.write(4, "cost", "25.00")
    editor.save()
    file = scene.folder / "from the workshop.zip"
    file.write_bytes(scene.service.call("GET", f"/v1/books/{BOOK}/draft/export?format=zip").body)
    scene.editor()
    scene.page.locator("#files summary").click()
    scene.page.locator("#file").set_input_files(file)
    scene.page.get_by_role("button", name="See what it would change").click()
    expect(scene.page.get_by_role("dialog")).to_contain_text("Bring in")


def discarding(scene: Scene) -> None:
    """The question before the draft is discarded."""
    scene.editor()
    scene.page.locator("#discard summary").click()
    scene.page.get_by_role("button", name="Discard the draft…").click()


def calculations(scene: Scene) -> None:
    """An answer with its working, and a form with a field left out."""
    scene.go("/owner/calculations")
    form = scene.page.locator(".calculation").nth(1)
    form.get_by_label("Cost").fill("60")
    form.get_by_label("Wanted margin").fill("0.4")
    form.get_by_role("button").click()
    expect(form.locator(".answer")).to_contain_text("Working")
    scene.page.locator(".calculation").nth(2).get_by_role("button").click()


OWNER_STATES: States = (
    signing_in,
    refused,
    signed_in,
    history,
    using_again,
    no_draft,
    nothing,
    parts,
    settings,
    fault,
    writing,
    selected,
    filtered,
    too_wide,
    conflict,
    comparison,
    measuring,
    measured,
    publication,
    importing,
    discarding,
    calculations,
)
"""In this order: the first ones are signed out."""

STATES: dict[str, States] = {
    "owner": OWNER_STATES,
    "desk": DESK_STATES,
    "quotes": QUOTE_STATES,
    "enquiries": ENQUIRY_STATES,
    "webhooks": WEBHOOK_STATES,
}
"""By the part of the house: those of a part are brought about one after the other, each part in a scene of its own."""
