"""What the form of a revision makes of a job, asked in the browser that runs it."""

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from .nursery import ROOT
from .running import running_service


@pytest.fixture(scope="module")
def page(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """Any page of a service."""
    database = tmp_path_factory.mktemp("jobs") / "quoter.db"
    with running_service(database, ROOT / "rates/ballyquarn") as service, browser.new_page() as opened:
        opened.goto(f"{service.address}/sign-in")
        yield opened


def asked(page: Page, name: str, *given: Any) -> Any:
    """What a function of the module gives."""
    call = "async ([name, given]) => (await import('/assets/js/quotes/revision_job.js'))[name](...given)"
    return page.evaluate(call, [name, list(given)])


@pytest.mark.parametrize(
    ("text", "places", "shifted"),
    [
        ("10", -2, "0.1"),
        ("7.5", -2, "0.075"),
        ("7,5", -2, "0.075"),
        ("0.125", -2, "0.00125"),
        ("100", -2, "1"),
        ("0", -2, "0"),
        ("0.075", 2, "7.5"),
        ("0.10", 2, "10"),
        ("1", 2, "100"),
        ("0.00125", 2, "0.125"),
        ("a tenth", -2, "a tenth"),
        ("-5", -2, "-5"),
    ],
)
def test_percent_and_share_differ_by_two_places(page: Page, text: str, places: int, shifted: str) -> None:
    """Without a floating point between; what is no number is left for the service to refuse."""
    assert asked(page, "shifted", text, places) == shifted


@pytest.mark.parametrize(
    ("newer", "mine", "together"),
    [
        (["a"], ["a", "b"], ["a", "b"]),
        (["a", "c"], ["a", "b"], ["a", "c", "b"]),
        (["a", "c"], [], ["c"]),
        ([], ["a", "b"], ["b"]),
        (["a", "b"], ["a", "b"], ["a", "b"]),
    ],
)
def test_findings_of_two_desks_come_together(
    page: Page, newer: list[str], mine: list[str], together: list[str]
) -> None:
    """Both began with the finding a; what either added stays, what either struck out goes."""
    base = {"findings": ["a"], "urgency": "standard"}
    others = {"findings": newer, "urgency": "express"}
    changes = asked(page, "changesIn", {"findings": mine, "urgency": "standard"}, base)
    assert asked(page, "onTopOf", others, base, changes) == {"findings": together, "urgency": "express"}
