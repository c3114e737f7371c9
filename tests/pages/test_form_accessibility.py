"""axe-core finds nothing in the form of a shop's site in any state, in light and dark, down to 320 px."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from .form_states import FORM_STATES, FORM_WIDTHS, visited
from .hosting import Visit
from .states import SCHEMES

SMALLEST_TARGET = 24
"""CSS pixels on each side (WCAG 2.2, success criterion 2.5.8); a box counts with the label that is tapped for it."""

SMALL_TARGETS = """(smallest) => {
    const root = document.querySelector("repair-enquiry")?.shadowRoot ?? document;
    const targets = [...root.querySelectorAll("button, input, textarea, select, summary, [role=option], label.tick")];
    return targets.filter((each) => each.checkVisibility() && !each.closest("[aria-hidden], .tick *"))
        .map((each) => [each.outerHTML.slice(0, 80), each.getBoundingClientRect()])
        .filter(([, box]) => box.width < smallest || box.height < smallest).map(([text]) => text);
}"""


def test_no_state_of_the_form_has_a_violation(browser: Browser) -> None:
    """Every state is brought about once and looked at in all sizes and schemes."""
    found: list[str] = []
    with visited(browser) as visit:
        for state in FORM_STATES:
            visit.page.set_viewport_size({"width": 1000, "height": 900})
            state(visit)
            found += violations(visit, state.__name__)
        assert visit.complaints == []
    assert not found, "\n".join(found)


def violations(visit: Visit, name: str) -> list[str]:
    """What axe has to say, a line each; what is wider than the screen; what is too small for a finger."""
    found = []
    for width, height in FORM_WIDTHS.items():
        for scheme in SCHEMES:
            visit.page.set_viewport_size({"width": width, "height": height})
            visit.page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
            wide = visit.page.evaluate("document.documentElement.scrollWidth")
            found += [f"{name} {width}: {wide} wide"] if wide > width else []
            for each in Axe().run(visit.page).response["violations"]:
                targets = [node["html"][:160] for node in each["nodes"][:3]]
                found.append(f"{name} {width} {scheme}: {each['id']}: {targets}")
        found += [f"{name} {width}: small: {text}" for text in visit.page.evaluate(SMALL_TARGETS, SMALLEST_TARGET)]
    return found


@pytest.mark.parametrize("has_label", [True, False])
def test_the_check_looks_into_the_shadow(browser: Browser, has_label: bool) -> None:
    """What it finds in the form is found because it looks there."""
    with browser.new_context() as context:
        page = context.new_page()
        page.set_content("<!doctype html><html lang=en><title>T</title><main><h1>T</h1><p id=host></p></main></html>")
        field = "<label>Field <input></label>" if has_label else "<input>"
        page.evaluate("(html) => { host.attachShadow({mode: 'open'}).innerHTML = html; }", field)
        found = [each["id"] for each in Axe().run(page).response["violations"]]
        assert ("label" in found) is not has_label
