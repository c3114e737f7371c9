"""Enquiries as use cases: without a web, with a clock that is set."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from quoter.job import job_from
from quoter.problems import (
    ChangedMeanwhile,
    Conflict,
    EnquiryRefused,
    JobRefused,
    QuoteRefused,
    TooManyRequests,
)
from quoter.records.access import StoredKey
from quoter.records.enquiries import EnquiryFilter
from quoter.records.quotes import Contact, IssuedQuote, QuoteFilter
from quoter.service.enquiries.asking import Asked
from quoter.service.enquiries.enquiring import Enquiring, EnquiryLimits
from quoter.service.enquiries.senders import sender_of
from quoter.store.enquiries import Enquiries
from quoter.store.shared_secrets import Secrets

from .desk import BATTERY, DESK, Desk, a_desk

FORM = replace(DESK, id="f0", name="the form", scope="form")
CONTACT = Contact(name=" Aoife Example ", phone="٠٨٧ 555 0100")


class Visiting:
    """Visitors of a shop's site, and the desk that reads what they ask."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.told = desk, list[tuple[str, str, Mapping[str, Any]]]()
        self.enquiries = Enquiries(desk.store)
        self.use = Enquiring(
            quoting=desk.quoting,
            enquiries=self.enquiries,
            secrets=Secrets(desk.store),
            together=desk.store.write,
            now=desk.now,
            limits=EnquiryLimits(hourly_from_address=2, daily_through_key=3),
            announce=self._announce,
        )

    def _announce(self, kind: str, about: str, body: Mapping[str, Any]) -> None:
        self.told.append((kind, about, body))

    def token(self, key: StoredKey = FORM) -> str:
        """Of a form that was opened long enough ago."""
        token = self.use.begin(key).token
        self.desk.forward(seconds=4)
        return token

    def asked(self, **members: Any) -> Asked:
        """A form about a battery that is filled in as it should be, with what is said otherwise."""
        job = self.desk.job(**members.pop("job", {}))
        said = {"contact": CONTACT, "may_be_contacted": True, "address": "192.0.2.7"} | members
        return Asked(job=job, published=self.desk.quoting.shelf.named(None), **said)

    def count(self) -> int:
        """How many are kept."""
        return len(self.use.find(EnquiryFilter(limit=100)))

    def quotes(self) -> list[IssuedQuote]:
        """Those that were issued."""
        return self.desk.quoting.find(QuoteFilter(limit=100))


@pytest.fixture
def visiting(tmp_path: Path) -> Iterator[Visiting]:
    """A site whose visitors ask, with an empty database."""
    with a_desk(tmp_path) as desk:
        yield Visiting(desk)


def test_an_enquiry_is_kept_tidily_and_announced_once(visiting: Visiting):
    """Without blanks around, digits as everybody dials them; who wants to be told hears nothing of who asked."""
    token = visiting.token()
    made = visiting.use.make(visiting.asked(token=token), FORM)
    assert made.contact == Contact(name="Aoife Example", phone="087 555 0100")
    assert visiting.use.make(visiting.asked(token=token), FORM).id == made.id
    ((kind, about, body),) = visiting.told
    assert (kind, about) == ("enquiry.received", f"/v1/enquiries/{made.id}")
    assert body == {
        "enquiry": made.id,
        "reference": made.reference,
        "device": "kessoway-5",
        "currency": "EUR",
        "gross": made.result["totals"]["gross"],
        "received_at": made.received_at,
    }


def test_what_announcing_cannot_keep_is_not_kept(visiting: Visiting):
    """The enquiry and its announcement are one transaction."""

    def fail(kind: str, about: str, body: Mapping[str, Any]) -> None:
        raise RuntimeError(kind)

    with pytest.raises(RuntimeError):
        replace(visiting.use, announce=fail).make(visiting.asked(token=visiting.token()), FORM)
    assert visiting.count() == 0


def test_everything_that_is_wrong_is_told_at_once(visiting: Visiting):
    """The job's own faults too, and nothing is kept."""
    asked = visiting.asked(job={"device": "nothing"}, contact=Contact(email="x"), may_be_contacted=False)
    with pytest.raises(JobRefused) as refused:
        visiting.use.make(asked, FORM)
    assert [each.pointer for each in refused.value.refusals] == [
        "/contact/email",
        "/may_be_contacted",
        "/token",
        "/job/device",
    ]
    with pytest.raises(EnquiryRefused) as alone:
        visiting.use.make(visiting.asked(homepage="x", contact=Contact()), FORM)
    assert alone.value.code == "looks-automatic"
    assert visiting.count() == 0


@pytest.mark.parametrize(
    ("seconds", "reason"),
    [(0, "too-early"), (2.999, "too-early"), (3, None), (43_199, None), (43_200, "form-expired")],
)
def test_a_form_is_good_between_two_moments(visiting: Visiting, seconds: float, reason: str | None):
    """Which the token names."""
    form = visiting.use.begin(FORM)
    opened = visiting.desk.time
    for moment, after in ((form.usable_from, 3), (form.usable_until, 43_200)):
        assert dt.datetime.fromisoformat(moment) == opened + dt.timedelta(seconds=after)
    visiting.desk.forward(seconds=seconds)
    if reason is None:
        assert visiting.use.make(visiting.asked(token=form.token), FORM).reference == "A2026-00001"
        return
    with pytest.raises(EnquiryRefused) as refused:
        visiting.use.make(visiting.asked(token=form.token), FORM)
    assert refused.value.code == reason
    assert (refused.value.wait_seconds > 0) is (reason == "too-early")


def test_a_token_is_good_for_its_key_and_its_database_alone(visiting: Visiting, tmp_path: Path):
    """Whoever else signs one."""
    (tmp_path / "other").mkdir()
    with a_desk(tmp_path / "other") as other:
        foreign = Visiting(other).token()
    for token in (foreign, visiting.token(replace(FORM, id="f1")), "", "....", "1772443800000.x.y"):
        with pytest.raises(EnquiryRefused) as refused:
            visiting.use.make(visiting.asked(token=token), FORM)
        assert refused.value.code == ("form-unknown" if token else "invalid-value")


def test_limits_hold_for_addresses_and_for_keys(visiting: Visiting):
    """The desk has none; what is refused may come again when it is said."""
    make = visiting.use.make
    for _ in range(2):
        make(visiting.asked(token=visiting.token()), FORM)
    with pytest.raises(TooManyRequests) as hourly:
        make(visiting.asked(token=visiting.token()), FORM)
    assert 3_590 <= hourly.value.wait_seconds <= 3_600
    make(visiting.asked(token=visiting.token(), address="2001:db8:0:1::1"), FORM)
    with pytest.raises(TooManyRequests) as daily:
        make(visiting.asked(token=visiting.token(), address="2001:db8:0:2::1"), FORM)
    assert 86_380 <= daily.value.wait_seconds <= 86_400
    make(visiting.asked(), DESK)
    make(visiting.asked(token=visiting.token(replace(FORM, id="f1")), address="198.51.100.1"), replace(FORM, id="f1"))
    visiting.desk.forward(seconds=daily.value.wait_seconds)
    make(visiting.asked(token=visiting.token()), FORM)


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("192.0.2.7", "192.0.2.7", True),
        ("192.0.2.7", "192.0.2.8", False),
        ("192.0.2.7", "::ffff:192.0.2.7", True),
        ("2001:db8:0:1::1", "2001:db8:0:1:ffff::2", True),
        ("2001:db8:0:1::1", "2001:db8:0:2::1", False),
        ("fe80::1%eth0", "fe80::2%eth1", True),
        ("unix", "unknown", True),
    ],
)
def test_a_sender_is_an_address_or_a_network(one: str, other: str, same: bool):
    """Of IPv6 the first 64 bits (RFC 6177); an IPv4 address is one, however it is written (RFC 4291, 2.5.5.2)."""
    assert (sender_of(one, b"x") == sender_of(other, b"x")) is same
    assert sender_of(one, b"x") != sender_of(one, b"y")


def test_a_sender_that_is_not_known_is_nobody():
    """Nor limited by the address."""
    assert sender_of("", b"x") == ""


def test_a_quote_is_priced_with_the_rates_of_today(visiting: Visiting):
    """And linked, in one transaction."""
    made = visiting.use.make(visiting.asked(token=visiting.token()), FORM)
    visiting.desk.forward(days=40)
    quote = visiting.use.quote(made, DESK)
    assert quote.job["date"] == "2026-04-11"
    assert (quote.contact, quote.issued_by) == (made.contact, DESK.name)
    after = visiting.use.get(made.id)
    assert (after.standing, after.quote, after.version) == ("quoted", quote.id, 2)
    assert visiting.use.of_quote(quote.id) == after


def test_a_quote_that_is_refused_leaves_the_enquiry_as_it_was(visiting: Visiting):
    """And no number of a quote is lost."""
    diagnosis = {"device": "kessoway-4", "repairs": [{"procedure": "diagnosis"}]}
    made = visiting.use.make(visiting.asked(job=diagnosis), DESK)
    with pytest.raises(QuoteRefused):
        visiting.use.quote(made, DESK)
    assert visiting.use.get(made.id) == made
    assert visiting.use.quote(made, DESK, told=["diagnosis-fee"]).number == "2026-00001"


def test_there_is_one_quote_of_an_enquiry(visiting: Visiting):
    """Whichever way it is made."""
    made = visiting.use.make(visiting.asked(), DESK)
    quote = visiting.use.quote(made, DESK)
    job, published = job_from(BATTERY | {"date": "2026-03-02"}), visiting.desk.quoting.shelf.named(None)
    with pytest.raises(ChangedMeanwhile):
        visiting.use.quote(made, DESK)
    with pytest.raises(Conflict, match=quote.number):
        visiting.use.quote(visiting.use.get(made.id), DESK)
    with pytest.raises(Conflict, match=quote.number):
        visiting.use.issue_for(made.id, job, published, DESK, contact=CONTACT)
    assert [each.id for each in visiting.quotes()] == [quote.id]


def test_what_was_put_aside_may_still_get_a_quote(visiting: Visiting):
    """Somebody calls back."""
    made = visiting.use.make(visiting.asked(), DESK)
    closed = visiting.use.close(made, "no-answer")
    assert visiting.use.close(closed, "no-answer") == closed
    assert visiting.use.waiting() == 0
    visiting.use.quote(closed, DESK)
    after = visiting.use.get(made.id)
    assert (after.standing, after.closed_because) == ("quoted", None)
    with pytest.raises(Conflict):
        visiting.use.close(after, "junk")
