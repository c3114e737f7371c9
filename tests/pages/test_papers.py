"""The papers of a quote in a browser: read by whoever is signed in, on a phone and at a desk, and printed."""

from io import BytesIO

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page
from pypdf import PdfReader

from .conftest import SignIn
from .running import Service

JOB = {"device": "kessoway-5", "repairs": [{"procedure": "battery"}], "findings": ["swollen-cell"]}


def paper(sign_in: SignIn, service: Service, query: str) -> Page:
    """A paper of a new quote, opened from a link."""
    issued = service.call("POST", "/v1/quotes", JOB)
    assert issued.status == 201
    page = sign_in()
    page.goto(f"{service.address}/v1/quotes/{issued.json['id']}/document?{query}")
    return page


@pytest.mark.parametrize("query", ["copy=customer", "copy=bench", "copy=customer&locale=ar-EG", "copy=bench&locale=ar"])
def test_a_paper_is_a_page_that_everybody_can_read(sign_in: SignIn, service: Service, query: str) -> None:
    """axe-core finds nothing, light or dark; it is no wider than a phone; the policy stops nothing of it."""
    page = paper(sign_in, service, query)
    found = []
    for width in (390, 1280):
        for scheme in ("light", "dark"):
            page.set_viewport_size({"width": width, "height": 800})
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            found += [(each["id"], width, scheme) for each in Axe().run(page).response["violations"]]
    assert found == []


def test_it_is_printed_dark_on_light_on_few_sheets(sign_in: SignIn, service: Service) -> None:
    """Also by somebody whose screen is dark."""
    page = paper(sign_in, service, "copy=customer")
    page.emulate_media(color_scheme="dark", media="print")
    colours = (
        "(({color, backgroundColor}) => [color, backgroundColor])(getComputedStyle(document.querySelector('main')))"
    )
    assert page.evaluate(colours) == ["rgb(27, 33, 39)", "rgb(255, 255, 255)"]
    assert len(PdfReader(BytesIO(page.pdf(format="A4"))).pages) <= 2
