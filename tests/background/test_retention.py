"""Contact data whose time is over, erased by a look that is taken by hand and by one that a thread takes."""

import datetime as dt
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from service.desk import Desk, a_desk
from service.holding import a_contact, a_customers_quote, an_enquiry, files_of

from quoter.background.retention import Retention
from quoter.records.quotes import Contact
from quoter.service.customers import Customers
from quoter.store.customers import Customers as Records

A_WHILE_SECONDS = 20


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A desk with a quote that has been over for 180 days and an enquiry that is older."""
    with a_desk(tmp_path) as opened:
        an_enquiry(opened, "Quillfeather")
        quote = a_customers_quote(opened, "Quillfeather")
        opened.time = dt.datetime.fromisoformat(quote.expires_at) + dt.timedelta(days=180)
        yield opened


def retention(desk: Desk, keep_days: int = 180) -> Retention:
    """What looks, with the desk's clock."""
    return Retention(Customers(Records(desk.store), desk.quotes, desk.now), keep_days)


def test_what_is_due_is_erased_and_gone_from_the_files(desk: Desk):
    """Both the quote and the enquiry; a second look, also by another process, finds nothing more."""
    assert retention(desk).erase_due() == 2
    assert b"Quillfeather" not in files_of(desk.store.path)
    assert retention(desk).erase_due() == 0


def test_a_day_before_only_what_came_earlier_is_due(desk: Desk):
    """The quote holds a day longer."""
    desk.forward(days=-1)
    assert retention(desk).erase_due() == 1


@pytest.mark.parametrize("keep_days", [0, 10_000])
def test_who_sent_an_enquiry_is_forgotten_after_a_day(desk: Desk, keep_days: int):
    """Though nobody asks anything any more, and however long contacts are kept."""
    with desk.store.write() as database:
        database.execute("update enquiries set sender = 'a hash of where it came from'")
    retention(desk, keep_days).erase_due()
    assert [row["sender"] for row in desk.store.rows("select sender from enquiries")] == [""]


def test_with_0_days_all_is_kept(desk: Desk):
    """Until somebody asks, however long that takes."""
    desk.forward(days=10_000)
    assert retention(desk, 0).erase_due() == 0
    assert b"Quillfeather" in files_of(desk.store.path)


def test_the_service_looks_at_its_start(desk: Desk):
    """In a thread of its own, which ends with it."""
    (quote,) = desk.store.rows("select id from quotes")
    until = time.monotonic() + A_WHILE_SECONDS
    with retention(desk).at_work():
        while desk.quoting.get(quote["id"]).contact != Contact() and time.monotonic() < until:
            time.sleep(0.02)
    assert desk.quoting.get(quote["id"]).contact == Contact() != a_contact("Quillfeather")
