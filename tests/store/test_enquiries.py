"""Enquiries at rest: whole, found again, counted for the limits."""

from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from quoter.problems import ChangedMeanwhile
from quoter.records.enquiries import Enquiry, EnquiryFilter
from quoter.records.quotes import Contact
from quoter.store.database import Store
from quoter.store.enquiries import Enquiries
from quoter.store.quotes import Quotes
from quoter.store.shared_secrets import Secrets

from .records import AT, a_quote

ENQUIRY = Enquiry(
    id="019caae4-4a40-7000-8000-000000000000",
    reference="",
    received_at=AT,
    through="0123456789ab",
    origin="https://shop.example",
    locale="en-IE",
    book="small",
    book_version=1,
    book_digest="0" * 64,
    device_words="maker slate slate",
    job={"device": "slate", "repairs": [{"procedure": "battery"}]},
    result={"currency": "EUR", "totals": {"gross": "0.10"}, "title": "Ärmel „ß“ ١ 電池 😀"},
    noticed='=1+1\n"x" ⁦',
    contact=Contact(name="Zażółć", phone="+48 22 555 01 63", email="z@example.org"),
    may_be_contacted=True,
    filled_sha256="f" * 64,
    sender="5" * 64,
)


def an_enquiry(number: int, **changes: Any) -> Enquiry:
    """An enquiry with an id and a form of its own."""
    own = {"id": f"019caae4-4a40-7000-8000-{number:012}", "filled_sha256": f"{number:064}"}
    return replace(ENQUIRY, **own | changes)


def test_an_enquiry_comes_back_whole(store: Store):
    """By its id, its reference and its form, to the last sign."""
    kept = Enquiries(store).add(ENQUIRY)
    assert kept == replace(ENQUIRY, reference="A2026-00001")
    again = Enquiries(store)
    assert again.get(kept.id) == again.by_reference("A2026-00001") == again.by_form("f" * 64) == kept


def test_references_count_within_the_year(store: Store):
    """Apart from the numbers of quotes."""
    Quotes(store).add(a_quote(), "slate")
    enquiries = Enquiries(store)
    kept = [enquiries.add(an_enquiry(1)), enquiries.add(an_enquiry(2, received_at="2027" + AT[4:]))]
    assert [each.reference for each in kept] == ["A2026-00001", "A2027-00001"]


def test_a_change_is_the_next_version_of_what_was_seen(store: Store):
    """Or it is none; what was asked stays as it was."""
    enquiries = Enquiries(store)
    Quotes(store).add(a_quote(), "slate")
    seen = enquiries.add(ENQUIRY)
    quoted = replace(seen, version=2, standing="quoted", quote=a_quote().id)
    enquiries.change(replace(quoted, noticed="something else"))
    assert enquiries.get(seen.id) == enquiries.of_quote(a_quote().id) == quoted
    with pytest.raises(ChangedMeanwhile):
        enquiries.change(replace(seen, version=2, standing="closed", closed_because="junk"))
    assert enquiries.get(seen.id) == quoted


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ({}, [3, 2, 1]),
        ({"limit": 2}, [3, 2]),
        ({"after": an_enquiry(3).id}, [2, 1]),
        ({"standing": "closed"}, [2]),
        ({"customer": "zazolc"}, [3, 2]),
        ({"customer": "555 0163"}, [3, 2]),
        ({"customer": "%"}, []),
        ({"words": "TABLET"}, [1]),
        ({"device": "slate"}, [3, 2, 1]),
        ({"reference": " a2026-00002 "}, [2]),
        ({"quote": "none"}, []),
    ],
)
def test_enquiries_are_found(store: Store, wanted: dict[str, Any], found: list[int]):
    """The newest first, by all that is asked for."""
    enquiries = Enquiries(store)
    enquiries.add(an_enquiry(1, contact=Contact(name="Ana"), device_words="maker tablet"))
    enquiries.add(an_enquiry(2, standing="closed", closed_because="junk"))
    enquiries.add(an_enquiry(3))
    ids = [each.id for each in enquiries.find(EnquiryFilter(**{"limit": 20, **wanted}))]
    assert ids == [an_enquiry(number).id for number in found]
    assert (enquiries.count("new"), enquiries.count("closed"), enquiries.count("quoted")) == (2, 1, 0)


def test_the_last_but_so_many_are_known(store: Store):
    """By sender and by key, until senders are forgotten."""
    enquiries = Enquiries(store)
    times = [f"2026-03-02T09:3{minute}:00.000000Z" for minute in range(3)]
    for number, at in enumerate(times):
        enquiries.add(an_enquiry(number, received_at=at))
    enquiries.add(an_enquiry(9, sender="6" * 64, through="other", received_at=times[0]))
    assert [enquiries.nth_from("5" * 64, number) for number in (1, 3, 4)] == [times[2], times[0], None]
    assert [enquiries.nth_through("0123456789ab", number) for number in (1, 3, 4)] == [times[2], times[0], None]
    enquiries.forget_senders(before=times[2])
    assert [enquiries.nth_from("5" * 64, number) for number in (1, 2)] == [times[2], None]
    assert enquiries.nth_through("0123456789ab", 3) == times[0]


def test_secrets_are_made_once(store: Store, tmp_path: Path):
    """And are the same for every process and after a restart; each name has its own."""
    made = Secrets(store).of("forms")
    with closing(Store(tmp_path / "quoter.db")) as other:
        assert Secrets(other).of("forms") == made
        assert Secrets(other).of("senders") != made
    assert len(made) == 32
