"""Devices: found in two or three keystrokes, and what is offered for each."""

import csv

import pytest

from .problems import pointers
from .running import RATES, Caller, Service
from .test_quotes import pages

with (RATES / "ballyquarn" / "devices.csv").open(newline="") as _file:
    CODES = [row["code"] for row in csv.DictReader(_file)]


@pytest.fixture(scope="module")
def form(shared: Service) -> Caller:
    """The web form."""
    return shared.caller("form")


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("words=kess dial", ["kessoway-dial"]),
        ("words=DIAL", ["kessoway-dial", "jelluth-dial"]),
        ("words=sheet 13", ["tolvarn-sheet-13"]),
        ("words=brunthel wearable", ["jelluth-dial", "jelluth-strap"]),
        ("words=none", []),
        ("kind=tablet", ["dunnec-slab-8", "dunnec-slab-11", "tolvarn-sheet-10", "tolvarn-sheet-13"]),
        ("kind=tablet&words=dunnec", ["dunnec-slab-8", "dunnec-slab-11"]),
        ("kind=toaster", []),
        ("limit=100", CODES),
    ],
)
def test_devices_are_found_by_all_their_words(form: Caller, query: str, found: list[str]):
    """In the owner's order."""
    devices = form.get(f"/v1/devices?{query.replace(' ', '%20')}").body["devices"]
    assert [device["code"] for device in devices] == found


@pytest.mark.parametrize("limit", [1, 5, 6, 9, 18, 100])
def test_devices_are_paged_to_the_end(form: Caller, limit: int):
    """Each once, whether or not the last page is full."""
    found = pages(form, f"/v1/devices?limit={limit}")
    assert [device["code"] for page in found for device in page] == CODES
    assert len(found) == -(-len(CODES) // limit)


def test_a_cursor_of_another_list_is_refused(form: Caller):
    """It would begin again from the start, without end."""
    link = form.get("/v1/devices?limit=1").headers["Link"]
    cursor = link.partition("after=")[2].partition(">")[0]
    assert pointers(form.get(f"/v1/devices?kind=tablet&after={cursor}"), 422, "invalid-request") == ["/after"]


def test_a_device_comes_with_what_is_offered_for_it(form: Caller):
    """Procedures in the owner's order, the parts that fit with the preferred first, the findings that concern it."""
    device = form.get("/v1/devices/tolvarn-2").body
    offered = {each["procedure"]: each for each in device["procedures"]}
    wanted = "battery screen charge-port back-glass camera speaker reseal diagnosis"
    assert list(offered) == wanted.split()
    assert [part["sku"] for part in offered["screen"]["parts"]] == ["OT2-DSP-G", "OT2-DSP-C"]
    assert (offered["reseal"]["slot"], offered["reseal"]["parts"]) == (None, [])
    findings = {each["code"]: each for each in device["findings"]}
    assert findings["leaking-or-hot-cell"]["stops"]
    assert findings["leaking-or-hot-cell"]["caution"]
    assert not findings["seized-screw"]["stops"]


def test_what_is_offered_depends_on_the_book(form: Caller):
    """The branches do not offer the same."""
    here, there = (form.get(f"/v1/devices/kessoway-4?book={book}").text for book in ("ballyquarn", "peddrick-mills"))
    assert here != there


def test_a_device_is_described_in_the_language_of_whoever_asks(form: Caller):
    """As far as the book has it; a warning also in words for the customer."""
    german = form.get("/v1/devices/kessoway-5?locale=de-AT").body
    findings = {each["code"]: each for each in german["findings"]}
    assert findings["swollen-cell"]["title"] == "Geblähter Akku"
    english = {each["code"]: each for each in form.get("/v1/devices/kessoway-5?locale=en").body["findings"]}
    stop = english["leaking-or-hot-cell"]
    assert stop["caution"].startswith("Not quoted and not worked on.")
    assert stop["caution_for_customer"].startswith("We cannot work on this device")
    assert english["seized-screw"]["caution_for_customer"] is None
    assert german["year"] == 2021
    assert pointers(form.get("/v1/devices/kessoway-5?locale=en-ZZ"), 422, "invalid-request") == ["/locale"]
