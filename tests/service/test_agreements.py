"""What an agreement reaches to, by hand: limit, covered, consent. Every case is one sum."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from quoter.records.quotes import Agreement, Decision, IssuedQuote
from quoter.service.quotes.agreements import (
    agreement_to,
    consent_needed,
    consent_refusals,
    is_beyond,
    is_covered,
    next_decisions,
)

from .desk import BATTERY, LAW

ISSUED_AT, OVER_AT = "2026-03-02T09:30:00.000000Z", "2026-04-01T23:00:00.000000Z"


def a_quote(gross: str = "100.00", net: str = "80.00", **changes: Any) -> IssuedQuote:
    """A revision of a quote that comes to this."""
    law, ceiling = changes.pop("law", None), changes.pop("ceiling", {"gross": "150.00", "difference": "50.00"})
    parts = [{"kind": "part", "ref": ref} for ref in changes.pop("fitted", ["CELL"])]
    condition, days = changes.pop("condition", "new"), changes.pop("days", 365)
    result = {"digits": changes.pop("digits", 2), "totals": {"gross": gross, "net": net}, "ceiling": ceiling}
    given: dict[str, Any] = {
        "id": "1",
        "number": "2026-00001",
        "revision": 1,
        "issued_at": ISSUED_AT,
        "issued_by": "front desk",
        "expires_at": OVER_AT,
        "book": "small",
        "book_version": 1,
        "book_digest": "0",
        "job": BATTERY,
        "result": result
        | {
            "law": law,
            "lines": parts,
            "valid_until": "2026-04-01",
            "parts": [{"sku": part["ref"], "condition": condition} for part in parts],
            "warranty": [{"procedure": "battery", "terms": [{"code": "part-365", "days": days}]}],
        },
    }
    return IssuedQuote(**given | changes)


def excess(share: str, of: str = "gross", *, reached: bool = False) -> dict[str, Any]:
    """A law that allows this much more."""
    return LAW | {"excess": {"share": share, "of": of, "from": reached}}


@pytest.mark.parametrize(
    ("law", "up_to", "limit", "of"),
    [
        (None, "price", "100.00", "gross"),  # without a law nothing more than was accepted
        (excess("0.10"), "price", "110.00", "gross"),  # 100.00 × 1.10
        (excess("0.10", "net"), "price", "88.00", "net"),  # 80.00 × 1.10
        (None, "ceiling", "150.00", "gross"),
        (excess("0.10"), "ceiling", "150.00", "gross"),
        (excess("0.60"), "ceiling", "160.00", "gross"),  # 100.00 × 1.60 is more than the ceiling
        (excess("0.10", "net"), "ceiling", "150.00", "gross"),  # 110.00 gross is less
        (excess("0.60", "net"), "ceiling", "128.00", "net"),  # 80.00 × 1.60; its gross, 160.00, is more
    ],
)
def test_the_limit_is_the_share_or_the_ceiling(law: Any, up_to: str, limit: str, of: str):
    """Whichever is more."""
    agreement = agreement_to(a_quote(law=law), up_to)
    assert (agreement.revision, agreement.gross, agreement.net) == (1, Decimal("100.00"), Decimal("80.00"))
    assert (str(agreement.limit), agreement.of) == (limit, of)


@pytest.mark.parametrize(
    ("accepted", "law", "within", "beyond"),
    [
        ("100.00", None, "100.00", "100.01"),
        ("100.00", excess("0.10"), "110.00", "110.01"),
        ("100.00", excess("0.10", reached=True), "109.99", "110.00"),
        ("99.95", excess("0.10"), "109.94", "109.95"),  # 109.945
        ("99.95", excess("0.10", reached=True), "109.94", "109.95"),  # 109.945 is reached by 109.95 first
        ("100.00", excess("0", reached=True), "100.00", "100.01"),  # what was accepted is never too much
        ("1000", excess("0.15") | {"digits": 0}, "1150", "1151"),
    ],
)
def test_both_sides_of_the_limit(accepted: str, law: Any, within: str, beyond: str):
    """To the smallest coin."""
    agreement = agreement_to(a_quote(accepted, digits=0 if "." not in accepted else 2, law=law), "price")
    assert not is_beyond(agreement, a_quote(within).result)
    assert is_beyond(agreement, a_quote(beyond).result)


def test_a_limit_of_the_net_does_not_look_at_the_tax():
    """80.00 × 1.10 = 88.00 net, whatever the tax makes of it."""
    agreement = agreement_to(a_quote(law=excess("0.10", "net")), "price")
    assert not is_beyond(agreement, a_quote("400.00", "88.00").result)
    assert is_beyond(agreement, a_quote("90.00", "88.01").result)


def test_a_ceiling_may_be_reached_where_a_share_may_not():
    """Whoever agreed to 150.00 at most agreed to 150.00."""
    agreement = agreement_to(a_quote(law=excess("0.10", reached=True)), "ceiling")
    assert not is_beyond(agreement, a_quote("150.00").result)
    assert is_beyond(agreement, a_quote("150.01").result)


@pytest.mark.parametrize(
    ("changed", "covered"),
    [
        ({"findings": ["swollen-cell"]}, True),
        ({"discount": {"rate": "0.10", "reason": "came back"}}, True),
        ({"urgency": "express"}, True),
        ({"payment": "cash"}, True),
        ({"locale": "de-DE"}, True),
        ({"repairs": [{"procedure": "screen"}]}, False),
        ({"repairs": [{"procedure": "battery", "grade": "aftermarket"}]}, False),
        ({"parts": {"seal": None}}, False),
        ({"customer": {"kind": "business"}}, False),
    ],
)
def test_only_some_members_of_a_job_may_move_under_an_agreement(changed: Any, covered: bool):
    """At the same price."""
    agreed = a_quote()
    new = a_quote(revision=2, job=BATTERY | changed)
    assert is_covered(agreement_to(agreed, "price"), agreed, new) is covered


@pytest.mark.parametrize(
    ("fitted", "covered"), [(["CELL"], True), (["CELL", "SEAL"], True), (["OTHER"], False), ([], False)]
)
def test_a_part_that_was_agreed_to_is_not_exchanged(fitted: list[str], covered: bool):
    """One that a finding adds may come along, within the limit."""
    agreed = a_quote()
    assert is_covered(agreement_to(agreed, "price"), agreed, a_quote(fitted=fitted)) is covered


@pytest.mark.parametrize(
    ("promised", "covered"),
    [({}, True), ({"condition": "used"}, False), ({"condition": None}, False), ({"days": 30}, False)],
)
def test_what_was_promised_beside_the_price_is_not_exchanged(promised: Any, covered: bool):
    """The same part, but used; the same repair, but with a month of warranty: the customer is asked."""
    agreed = a_quote()
    assert is_covered(agreement_to(agreed, "price"), agreed, a_quote(**promised)) is covered


def test_an_estimate_is_less_than_the_quotation_that_was_agreed_to():
    """Whatever it comes to."""
    agreed = a_quote(law=LAW | {"label": "quotation"})
    assert not is_covered(agreement_to(agreed, "price"), agreed, a_quote(law=LAW | {"label": "estimate"}))


@pytest.mark.parametrize(
    ("gross", "changed", "covered"),
    [
        ("150.00", {"findings": ["swollen-cell"]}, True),
        ("150.01", {"findings": ["swollen-cell"]}, False),
        ("110.00", {"urgency": "express"}, False),
        ("110.00", {"findings": ["swollen-cell"], "urgency": "express"}, False),
        ("110.00", {"discount": {"rate": "0.01", "reason": "less than before"}}, False),
        ("100.00", {"urgency": "express"}, True),
        ("90.00", {"discount": {"rate": "0.10", "reason": "came back"}}, True),
    ],
)
def test_a_ceiling_is_for_what_the_bench_finds(gross: str, changed: Any, covered: bool):
    """Whoever said "do what is needed" did not say "make it dearer"."""
    agreed = a_quote()
    new = a_quote(gross, revision=2, job=BATTERY | changed)
    assert is_covered(agreement_to(agreed, "ceiling"), agreed, new) is covered


def test_where_the_law_limits_the_net_the_customer_agrees_to_more_net():
    """78.20 − 76.50 = 1.70, though the gross has become less: a buyer who is exempt from tax."""
    agreed = agreement_to(a_quote("80.71", "76.50", law=excess("0", "net")), "price")
    needed = consent_needed(a_quote("78.20", "78.20", revision=2, agreement=agreed, law=excess("0", "net")))
    assert needed is not None
    assert (needed.extra, needed.limit, needed.of) == (Decimal("1.70"), Decimal("76.50"), "net")


AGREED = agreement_to(a_quote(law=LAW), "price")
DEARER = a_quote("125.00", revision=2, agreement=AGREED, law=LAW)


@pytest.mark.parametrize(
    ("quote", "extra"),
    [
        (DEARER, Decimal("25.00")),
        (replace(DEARER, standing="declined"), Decimal("25.00")),
        (replace(DEARER, agreement=None), None),
        (replace(DEARER, standing="withdrawn"), None),
        (replace(DEARER, standing="superseded"), None),
        (a_quote("110.00", revision=2, agreement=AGREED), None),
    ],
)
def test_consent_is_needed_beyond_the_limit(quote: IssuedQuote, extra: Decimal | None):
    """For what the new gross is above the gross that was agreed to, not above the limit."""
    needed = consent_needed(quote)
    assert (needed and needed.extra) == extra


def refused(quote: IssuedQuote = DEARER, **said: Any) -> list[tuple[str, str, tuple[str, ...]]]:
    """Reason, place and what would be right."""
    right = {"decision": "accepted", "revision": 2, "name": "A", "how": "phone", "contact": "1", "extra": "25.00"}
    given = right | said
    given["extra"] = None if given["extra"] is None else Decimal(given["extra"])
    return [(each.reason, each.pointer, each.allowed) for each in consent_refusals(quote, Decision(**given))]


def test_a_whole_consent_is_taken():
    """The extra as a number: 25 is 25.00."""
    assert refused() == []
    assert refused(extra="25") == []


@pytest.mark.parametrize(
    ("said", "at", "allowed"),
    [
        ({"extra": None}, "/extra", ("25.00",)),
        ({"extra": "24.99"}, "/extra", ("25.00",)),
        ({"extra": "15.00"}, "/extra", ("25.00",)),  # what is above the limit, which was not asked
        ({"how": "counter"}, "/how", ("phone", "message")),
        ({"how": "link"}, "/how", ("phone", "message")),
        ({"contact": " "}, "/contact", ()),
    ],
)
def test_what_a_consent_lacks_is_named(said: Any, at: str, allowed: tuple[str, ...]):
    """With the right amount, and the ways that the law allows."""
    assert refused(**said) == [("consent-required", at, allowed)]


def test_all_that_a_consent_lacks_is_named_at_once():
    """Nobody has to ask thrice."""
    assert [at for _, at, _ in refused(extra=None, how="link", contact="")] == ["/extra", "/how", "/contact"]


def test_without_a_law_any_way_and_no_number_will_do():
    """The amount must be named all the same."""
    lawless = replace(DEARER, result=DEARER.result | {"law": None})
    assert refused(lawless, how="counter", contact="") == []
    assert refused(lawless, extra=None) == [("consent-required", "/extra", ("25.00",))]


@pytest.mark.parametrize("said", [{"decision": "declined"}, {"decision": "withdrawn"}])
def test_who_does_not_accept_names_no_amount(said: Any):
    """It would look as if they had agreed to it."""
    assert refused(**said) == [("invalid-value", "/extra", ())]
    assert refused(**said, extra=None) == []


def test_an_amount_that_nobody_asked_for_is_refused():
    """A first acceptance has nothing to go beyond."""
    assert refused(a_quote(revision=2)) == [("invalid-value", "/extra", ())]


@pytest.mark.parametrize(
    ("standing", "before", "after"),
    [
        ("issued", ("accepted", "declined", "withdrawn"), ("declined", "withdrawn")),
        ("declined", ("accepted", "withdrawn"), ("withdrawn",)),
        ("accepted", ("withdrawn",), ("withdrawn",)),
        ("withdrawn", (), ()),
        ("superseded", (), ()),
    ],
)
def test_what_can_be_decided(standing: str, before: tuple[str, ...], after: tuple[str, ...]):
    """While it holds, to the microsecond, and when its last day is over."""
    quote = a_quote(standing=standing)
    assert next_decisions(quote, "2026-04-01T22:59:59.999999Z") == before
    assert next_decisions(quote, OVER_AT) == after


def test_a_quote_of_the_version_before_knows_no_law():
    """Its result has no such member."""
    old = a_quote()
    bare = {name: value for name, value in old.result.items() if name != "law"}
    agreement = agreement_to(replace(old, result=bare), "price")
    assert agreement == Agreement(revision=1, gross=Decimal(100), net=Decimal(80), limit=Decimal(100))
