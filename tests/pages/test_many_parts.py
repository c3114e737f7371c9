"""A book with 5,000 parts is scrolled and edited without lag."""

import csv
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from .editing import EditorPage
from .nursery import ROOT
from .running import Service, running_service

PARTS = 5_000
MOST_DRAWN = 80


@pytest.fixture
def big_service(tmp_path: Path) -> Iterator[Service]:
    """The service with a book of 5,000 parts."""
    shutil.copytree(ROOT / "rates", tmp_path / "rates")
    path = tmp_path / "rates/ballyquarn/parts.csv"
    with path.open(newline="") as file:
        header, *rows = csv.reader(file)
    more = [
        [f"P{number}-{rows[number % len(rows)][0]}", *rows[number % len(rows)][1:]]
        for number in range(PARTS - len(rows))
    ]
    with path.open("w", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([header, *rows, *more])
    with running_service(tmp_path / "quoter.db", tmp_path / "rates/ballyquarn") as running:
        yield running


def test_five_thousand_parts_scroll_and_edit(browser: Browser, big_service: Service) -> None:
    """Only what can be seen is drawn, wherever the keys lead."""
    big_service.call("POST", "/v1/books/ballyquarn/draft", {})
    with browser.new_context(viewport={"width": 1280, "height": 800}) as context:
        page = context.new_page()
        page.goto(f"{big_service.address}/owner/books/ballyquarn")
        page.get_by_label("Key", exact=True).fill(big_service.keys["owner"])
        page.get_by_role("button", name="Sign in").click()
        editor = EditorPage(page, page.url).opened("parts")
        grid = page.locator(".grid")
        expect(grid).to_have_attribute("aria-rowcount", str(PARTS + 1))
        assert page.locator(".grid .row").count() < MOST_DRAWN

        editor.go(2, "sku")
        for key in ("PageDown", "ArrowDown", "ArrowRight", "Delete", "PageUp", "Home"):
            editor.press(key)
            assert page.locator(".grid .row").count() < MOST_DRAWN
        while page.locator("#undo").is_enabled():
            editor.press("Control+Z")

        editor.press("Control+End")
        expect(editor.cell(PARTS + 1, "condition")).to_be_focused()
        editor.press("Home", "ArrowRight")
        page.keyboard.type("The last one")
        editor.press("Enter")
        editor.save()
        rows = big_service.call("GET", "/v1/books/ballyquarn/draft/tables/parts").json["rows"]
        assert rows[-1]["cells"]["title"] == "The last one"
