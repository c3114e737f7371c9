"""axe-core finds nothing on any page in any state, in light and dark, on a desk, a tablet and a phone; and no page is
wider than its screen: the table scrolls inside itself."""

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from .states import SCHEMES, STATES, WIDTHS, Scene, scene

QUICK = ("measuring",)
"""States that pass by themselves: they are looked at once."""

CONTRAST = "color-contrast"

TOLD = {"resultTypes": ["violations"]}
"""axe would put together what it has seen of all that is right, too, which takes longer than to look at it."""

RULES: dict[tuple[int, str], dict[str, Any]] = {
    (1280, "light"): {},
    (1280, "dark"): {"runOnly": [CONTRAST]},
    (820, "light"): {"rules": {CONTRAST: {"enabled": False}}},
    (390, "light"): {},
    (390, "dark"): {"runOnly": [CONTRAST]},
}
"""What axe looks at in a width and scheme. A scheme changes nothing but colours, and a tablet has those of the others;
contrasts take half of the time."""


@pytest.mark.parametrize("part", STATES)
def test_no_page_has_a_violation(part: str, browser: Browser) -> None:
    """Every state is brought about once and looked at in all sizes and schemes."""
    found: list[str] = []
    with scene(browser) as opened:
        for state in STATES[part]:
            opened.page.set_viewport_size({"width": 1280, "height": 800})
            state(opened)
            found += violations(opened, state.__name__)
    assert not found, "\n".join(found)


def violations(opened: Scene, name: str) -> list[str]:
    """What axe has to say, a line each."""
    found = []
    for width, height in WIDTHS.items():
        for scheme in SCHEMES:
            opened.page.set_viewport_size({"width": width, "height": height})
            opened.page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            wide = opened.page.evaluate("document.documentElement.scrollWidth")
            found += [f"{name} {width}: {wide} wide"] if wide > width else []
            if (width, scheme) in RULES:
                for each in Axe().run(opened.page, options=TOLD | RULES[width, scheme]).response["violations"]:
                    targets = [node["html"][:160] for node in each["nodes"][:3]]
                    found.append(f"{name} {width} {scheme}: {each['id']}: {targets}")
            if name in QUICK:
                return found
    return found
