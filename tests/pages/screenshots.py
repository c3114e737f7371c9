"""Writes pictures of every page and state to a folder: python -m tests.pages.screenshots DIR [STATE ...]"""

import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

from .running import ARGUMENTS, CHROMIUM
from .states import SCHEMES, STATES, WIDTHS, Scene, scene

SIGNED_OUT = ("signing_in", "refused", "signed_in")


def main(folder: Path, wanted: list[str]) -> None:
    """All of them, or those that are wanted."""
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, headless=True, args=ARGUMENTS)
        with scene(browser) as opened:
            for place, state in enumerate(STATES):
                if wanted and state.__name__ not in (*wanted, *SIGNED_OUT):
                    continue
                opened.page.set_viewport_size({"width": 1280, "height": 800})
                state(opened)
                _photograph(opened, folder, f"{place:02}-{state.__name__}")
        browser.close()


def _photograph(opened: Scene, folder: Path, name: str) -> None:
    for width, height in WIDTHS.items():
        for scheme in SCHEMES:
            opened.page.set_viewport_size({"width": width, "height": height})
            opened.page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            opened.page.wait_for_timeout(150)
            opened.page.screenshot(path=folder / f"{name}-{width}-{scheme}.png", full_page=True)
    print(name)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
