"""The price list of a book: every device, offer and grade, for a consumer without findings."""

import datetime as dt
from decimal import Decimal

import pytest
from builders import TODAY, a_book, a_job, a_part, a_profile, a_row

from quoter.engine.compose import price_of
from quoter.engine.price_list import entry_job, list_entry, price_list
from quoter.engine.tax import rates_change_on, rates_since
from quoter.job import Job, Repair

BOOK = a_book(
    devices=[a_row("slate"), a_row("tab")],
    offers=[
        {"device": device, "procedure": procedure}
        for device, procedure in (("slate", "clean"), ("slate", "battery"), ("tab", "battery"), ("tab", "port"))
    ],
    parts=[
        a_part("B1", cost=30, devices="slate tab"),
        a_part("B2", cost=12, grade="compatible"),
        a_part("B3", cost=99, grade="compatible"),
        a_part("P1", slot="port"),
    ],
    menu=[{"procedure": "battery", "grade": "compatible", "net": 40}],
)


def test_every_device_offer_and_grade_has_an_entry():
    """In the order of devices.csv and offers.csv; a repair about no part, or without one that fits, has one entry."""
    entries = [(each.device, each.procedure, each.grade) for each in price_list(BOOK, TODAY)]
    assert entries == [
        ("slate", "clean", None),
        ("slate", "battery", "genuine"),
        ("slate", "battery", "compatible"),
        ("tab", "battery", "genuine"),
        ("tab", "port", None),
    ]


def test_an_entry_is_the_price_of_that_repair_alone():
    """Net: 12 minutes; 30 + 18; the menu's 40. The price is that of the same job."""
    totals = [each.totals for each in price_list(BOOK, TODAY) if each.totals]
    assert [total.net for total in totals] == [12, 48, 40, 48]
    assert totals[2] == price_of(a_job(repairs=[Repair("battery", grade="compatible")]), BOOK).totals


def test_what_cannot_be_priced_says_why():
    """No port fits the tab."""
    (refused,) = (each for each in price_list(BOOK, TODAY) if each.totals is None)
    assert (refused.device, refused.procedure, refused.grade, refused.reason) == ("tab", "port", None, "part-required")
    assert refused.refused
    assert "port" in refused.refused


def test_an_entry_that_cannot_be_priced_names_its_grade():
    """No part of this grade fits."""
    entry = list_entry("slate", "battery", "rare", BOOK, TODAY)
    assert (entry.grade, entry.totals) == ("rare", None)


def test_an_entry_stands_for_the_plainest_job():
    """A consumer who waits their turn and pays by card, told in the language of the book."""
    job = entry_job("slate", "battery", "genuine", BOOK, TODAY)
    assert job == Job(
        device="slate",
        repairs=(Repair("battery", "genuine"),),
        date=TODAY,
        parts={},
        findings=(),
        customer_kind="consumer",
        urgency="standard",
        discount=None,
        payment="other",
        locale=BOOK.locale,
    )


def test_the_list_is_of_a_day():
    """From 2027 the tax is 10 %."""
    book = a_book(tax={"rates": {"std": [("VAT", "0.20", "2000-01-01"), ("VAT", "0.10", "2027-01-01")]}})
    gross = [[each.totals.gross for each in price_list(book, dt.date(year, 6, 1))] for year in (2026, 2027)]
    assert gross == [
        [Decimal("57.60"), Decimal("43.20"), Decimal("14.40")],
        [Decimal("52.80"), Decimal("39.60"), Decimal("13.20")],
    ]


def test_an_entry_says_when_its_parts_come():
    """The slowest decides; what is about no part waits for none."""
    book = a_book(parts=[a_part("B1", lead_days=4), a_part("P1", slot="port")])
    days = {each.procedure: each.lead_days for each in price_list(book, TODAY)}
    assert (days["battery"], days["clean"]) == (4, 0)


STARTS = {"std": [("VAT", "0.20", "2000-01-01"), ("VAT", "0.10", "2027-01-01")], "low": [("VAT", "0.05", "2026-07-01")]}


@pytest.mark.parametrize(
    ("day", "since", "change"),
    [
        ("1999-12-31", None, "2000-01-01"),
        ("2000-01-01", "2000-01-01", "2026-07-01"),
        ("2026-06-30", "2000-01-01", "2026-07-01"),
        ("2026-07-01", "2026-07-01", "2027-01-01"),
        ("2026-12-31", "2026-07-01", "2027-01-01"),
        ("2027-01-01", "2027-01-01", None),
    ],
)
def test_tax_rates_hold_from_a_day_until_another(day: str, since: str | None, change: str | None):
    """Of all codes together."""
    profile = a_profile(rates=STARTS)
    dates = [dt.date.fromisoformat(each) if each else None for each in (since, change)]
    assert [
        rates_since(dt.date.fromisoformat(day), profile),
        rates_change_on(dt.date.fromisoformat(day), profile),
    ] == dates
