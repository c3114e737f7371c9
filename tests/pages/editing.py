"""The editor as a person at the keyboard uses it."""

import re
from dataclasses import dataclass

from playwright.sync_api import Locator, Page, expect

_CHECKED = re.compile(r"fault|warning|nothing found")


@dataclass(frozen=True)
class EditorPage:
    """A page with the editor of a draft at an address."""

    page: Page
    address: str

    def opened(self, table: str) -> "EditorPage":
        """With a table on the screen and checked."""
        self.page.goto(f"{self.address}#{table}")
        expect(self.page.locator(".grid")).to_have_attribute("aria-label", table)
        expect(self.page.locator("#check .tally")).to_have_text(_CHECKED)
        return self

    def cell(self, row: int, column: str) -> Locator:
        """A cell by the row's number as a spreadsheet counts and the name of the column."""
        return self.page.locator(f'.grid [role=row][aria-rowindex="{row}"] [role=gridcell]').nth(self._place(column))

    def _place(self, column: str) -> int:
        heads = self.page.locator(".grid .heads .cell").all_inner_texts()
        return [head.rstrip("*") for head in heads].index(column)

    def go(self, row: int, column: str) -> "EditorPage":
        """The focus on a cell, by keys alone."""
        self.page.locator(".grid [data-active]").focus()
        self.press("Control+Home", *["ArrowDown"] * (row - 2), *["ArrowRight"] * self._place(column))
        expect(self.cell(row, column)).to_be_focused()
        return self

    def press(self, *keys: str) -> None:
        """Keys, one after the other."""
        for key in keys:
            self.page.keyboard.press(key)

    def write(self, row: int, column: str, text: str) -> "EditorPage":
        """A text into a cell, by keys alone."""
        self.go(row, column)
        self.page.keyboard.type(text)
        self.press("Enter")
        return self

    def paste(self, text: str) -> None:
        """From the clipboard of the machine."""
        self.page.evaluate("text => navigator.clipboard.writeText(text)", text)
        self.press("Control+V")

    def save(self) -> None:
        """By the keyboard, until it is saved and checked."""
        with self.page.expect_response(lambda answer: answer.url.endswith("/draft/check")):
            self.press("Control+S")
        expect(self.page.locator("#unsaved")).to_have_text("All saved")
        expect(self.page.locator("#check .tally")).to_have_text(_CHECKED)

    @property
    def save_button(self) -> Locator:
        """That says how much is not saved."""
        return self.page.locator("#save")

    @property
    def note(self) -> Locator:
        """What is said about the cell with the focus."""
        return self.page.locator("#note")
