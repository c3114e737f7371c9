"""Writes pictures of every page and state to a folder: python -m tests.pages.screenshots DIR [STATE ...]"""

import sys
from pathlib import Path

from playwright.sync_api import Page

from .form_states import FORM_STATES, FORM_WIDTHS, visited
from .running import patient_browser
from .states import SCHEMES, STATES, WIDTHS, scene

SIGNED_OUT = ("signing_in", "refused", "signed_in")


def main(folder: Path, wanted: list[str]) -> None:
    """All of them, or those that are wanted."""
    folder.mkdir(parents=True, exist_ok=True)
    with patient_browser() as browser:
        for part, states in STATES.items():
            with scene(browser) as opened:
                for place, state in enumerate(states):
                    if wanted and state.__name__ not in (*wanted, *SIGNED_OUT):
                        continue
                    opened.page.set_viewport_size({"width": 1280, "height": 800})
                    state(opened)
                    _photograph(opened.page, folder, f"{part}-{place:02}-{state.__name__}", WIDTHS)
        with visited(browser) as visit:
            for place, visited_state in enumerate(FORM_STATES):
                if not wanted or visited_state.__name__ in wanted:
                    visit.page.set_viewport_size({"width": 1000, "height": 900})
                    visited_state(visit)
                    _photograph(visit.page, folder, f"form-{place:02}-{visited_state.__name__}", FORM_WIDTHS)


def _photograph(page: Page, folder: Path, name: str, widths: dict[int, int]) -> None:
    for width, height in widths.items():
        for scheme in SCHEMES:
            page.set_viewport_size({"width": width, "height": height})
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            page.wait_for_timeout(150)
            page.screenshot(path=folder / f"{name}-{width}-{scheme}.png", full_page=True)
    print(name)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
