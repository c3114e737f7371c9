"""The life of a quote: issued, revised, decided, with everything that happened kept."""

import datetime as dt
import json
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from threading import Barrier
from typing import Any

import pytest

from quoter.problems import ChangedMeanwhile, Conflict, NotAllowed, NotFound, QuoteRefused
from quoter.records.quotes import Contact, Decision, IssuedQuote
from quoter.service.clock import stamp
from quoter.service.quotes.revising import check_revision

from .desk import DESK, LAW, OWNER, SCREEN_TOO, Desk, a_desk, gross

SWOLLEN = {"findings": ["swollen-cell"]}  # 141.95 instead of 99.95
OPENED = {"findings": ["opened-before"]}  # 108.95


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A desk with an empty database."""
    with a_desk(tmp_path) as opened:
        yield opened


def refused(problem: pytest.ExceptionInfo[QuoteRefused]) -> list[tuple[str, str]]:
    """Reasons with their places."""
    return [(each.reason, each.pointer) for each in problem.value.refusals]


def kinds(desk: Desk, quote: IssuedQuote) -> list[tuple[int, str]]:
    """What has happened, with the versions."""
    return [(event.version, event.kind) for event in desk.quoting.history(quote.id)]


def test_an_issued_quote_begins_at_version_one_with_a_link_of_its_own(desk: Desk):
    """32 random bytes, URL-safe; nobody has agreed to anything."""
    one, other = desk.issue(), desk.issue(**SWOLLEN)
    assert (one.version, one.standing, one.decision, one.agreement) == (1, "issued", None, None)
    assert len(one.link) == 43
    assert one.link != other.link
    assert desk.quoting.by_link(one.link) == one
    assert desk.quoting.by_link("") is None
    assert kinds(desk, one) == [(1, "issued")]


def test_contact_and_what_was_told_are_kept_with_the_quote(desk: Desk):
    """As they were said."""
    contact = Contact(name="Aoife Example", phone="+353 1 555 0100", email="aoife@example.org")
    published = desk.quoting.shelf.named(None)
    quote = desk.quoting.issue(desk.job(), published, DESK, contact=contact, told=["data-loss"])
    kept = desk.quoting.get(quote.id)
    assert (kept.contact, kept.told) == (contact, ("data-loss",))


def test_a_revision_is_the_newest_and_the_one_before_stays_as_it_was(desk: Desk):
    """Priced with the version of the book that the quote has, under the same number and link."""
    first = desk.issue()
    desk.forward(hours=1)
    second = desk.revise(first, "the cell is swollen", **SWOLLEN)
    assert (second.revision, second.version, second.reason) == (2, 2, "the cell is swollen")
    assert (second.number, second.link, second.book_version) == (first.number, first.link, first.book_version)
    assert (gross(first), gross(second)) == (Decimal("99.95"), Decimal("141.95"))
    assert desk.quoting.get(first.id) == second
    assert desk.quoting.revisions(first.id) == [desk.quoting.revision(first.id, 1), second]
    old = desk.quoting.revision(first.id, 1)
    assert old.standing == "superseded"
    assert replace(old, standing="issued", version=1) == first


def test_a_revision_that_is_not_there_is_not_found(desk: Desk):
    """Those that there are stand by."""
    quote = desk.revise(desk.issue(), **SWOLLEN)
    for number in (0, 3, 10**30):
        with pytest.raises(NotFound) as missing:
            desk.quoting.revision(quote.id, number)
        assert missing.value.allowed == ("1", "2")
    with pytest.raises(NotFound):
        desk.quoting.revisions("none")


def test_a_revision_that_changes_nothing_is_refused_while_the_quote_counts(desk: Desk):
    """The next day it holds a day longer, which is something."""
    quote = desk.issue()
    with pytest.raises(QuoteRefused) as problem:
        desk.revise(quote)
    assert refused(problem) == [("nothing-changed", "/job")]
    desk.forward(days=1)
    assert desk.revise(quote).result["valid_until"] == "2026-04-02"


def test_the_same_may_be_quoted_again_once_it_is_withdrawn(desk: Desk):
    """On the same day: the quote waits for a decision again."""
    again = desk.revise(desk.decide(desk.issue(), "withdrawn"))
    assert (again.standing, again.decision, again.agreement) == ("issued", None, None)


@pytest.mark.parametrize("reason", ["", "  ", "x" * 501])
def test_a_revision_says_why(desk: Desk, reason: str):
    """In words that somebody can read later."""
    with pytest.raises(QuoteRefused) as problem:
        desk.revise(desk.issue(), reason, **SWOLLEN)
    assert refused(problem) == [("invalid-value", "/reason")]


def test_the_desk_revises_within_the_policy_and_the_owner_beyond(desk: Desk):
    """As at issue; a refused revision leaves nothing."""
    quote, given_away = desk.issue(), {"discount": {"rate": "0.90", "reason": "a friend"}}
    with pytest.raises(NotAllowed):
        desk.revise(quote, **given_away)
    assert desk.quoting.get(quote.id) == quote
    assert desk.revise(quote, by=OWNER, **given_away).revision == 2


def test_a_preview_keeps_nothing(desk: Desk):
    """It is what the revision then is."""
    quote = desk.issue()
    published = desk.quoting.rates_of(quote, "pinned")
    shown = desk.quoting.preview(quote, desk.job(**SWOLLEN), published, DESK.name, reason="the bench found more")
    assert desk.quoting.get(quote.id) == quote
    assert kinds(desk, quote) == [(1, "issued")]
    kept = desk.revise(quote, **SWOLLEN)
    assert replace(kept, result={}) == replace(shown, result={})
    assert kept.result == json.loads(json.dumps(shown.result))


def test_accepting_makes_an_agreement(desk: Desk):
    """Without a law to the price alone."""
    accepted = desk.decide(desk.issue(), "accepted", how="phone", contact="01 555 0100")
    assert accepted.standing == "accepted"
    assert accepted.agreement is not None
    assert (accepted.agreement.revision, accepted.agreement.limit) == (1, Decimal("99.95"))
    assert accepted.decision is not None
    assert (accepted.decision.name, accepted.decision.how) == ("Aoife Example", "phone")
    assert desk.quoting.get(accepted.id) == accepted


def test_a_revision_within_the_agreement_is_accepted_already(desk: Desk):
    """10 % of 99.95 more are allowed: what adds 5.00 or so is covered, 141.95 waits."""
    accepted = desk.decide(desk.under(LAW | {"label": "quotation"}), "accepted")
    covered = desk.revise(accepted, findings=["does-not-switch-on"])
    assert (covered.standing, covered.decision, covered.agreement) == ("accepted", None, accepted.agreement)
    waiting = desk.revise(covered, **SWOLLEN)
    assert (waiting.standing, waiting.agreement) == ("issued", accepted.agreement)
    assert [event.data["covered"] for event in desk.quoting.history(waiting.id) if event.kind == "revised"] == [
        True,
        False,
    ]


def test_a_shorter_warranty_waits_for_a_decision_within_the_limit(desk: Desk):
    """108.95 is less than 109.94, but what somebody has opened before comes with 30 days instead of a year."""
    accepted = desk.decide(desk.under(LAW | {"label": "quotation"}), "accepted")
    assert accepted.agreement is not None
    waiting = desk.revise(accepted, **OPENED)
    assert gross(waiting) < accepted.agreement.limit
    assert waiting.standing == "issued"


def test_other_repairs_wait_for_a_decision_however_cheap(desk: Desk):
    """A diagnosis instead of a battery was never agreed to."""
    accepted = desk.decide(desk.issue(), "accepted")
    other = desk.revise(accepted, repairs=[{"procedure": "diagnosis"}])
    assert gross(other) < gross(accepted)
    assert other.standing == "issued"
    assert desk.decide(other, "accepted").standing == "accepted"


def test_an_agreement_up_to_the_ceiling_covers_what_the_bench_may_find(desk: Desk):
    """The ceiling is 202.95, with every finding that may come."""
    accepted = desk.decide(desk.issue(), "accepted", up_to="ceiling")
    assert accepted.agreement is not None
    assert accepted.agreement.limit == Decimal("202.95")
    assert desk.revise(accepted, **SWOLLEN).standing == "accepted"


def test_a_quote_whose_ceiling_is_refused_is_accepted_at_its_price_alone(desk: Desk):
    """A leaking cell would stop everything, so there is nothing to agree to."""
    quote = desk.issue()
    bare = {**quote.result, "ceiling": {"refused": "stopped-by-finding"}}
    without = desk.quotes.add(replace(quote, id=f"{quote.id[:-4]}0000", link="other", result=bare), "kessoway")
    with pytest.raises(QuoteRefused) as problem:
        desk.decide(without, "accepted", up_to="ceiling")
    assert refused(problem) == [("invalid-value", "/up_to")]


def test_beyond_the_agreement_the_extra_must_be_named(desk: Desk):
    """141.95 − 99.95 = 42.00; then that is what was agreed to."""
    dearer = desk.revise(desk.decide(desk.issue(), "accepted"), **SWOLLEN)
    for extra in (None, Decimal("41.99"), Decimal("141.95")):
        with pytest.raises(QuoteRefused) as problem:
            desk.decide(dearer, "accepted", extra=extra)
        assert refused(problem) == [("consent-required", "/extra")]
        assert problem.value.refusals[0].allowed == ("42.00",)
    accepted = desk.decide(dearer, "accepted", extra=Decimal("42.00"))
    assert accepted.agreement is not None
    assert (accepted.agreement.revision, accepted.agreement.limit) == (2, Decimal("141.95"))
    assert accepted.decision is not None
    assert accepted.decision.extra == Decimal("42.00")


def test_who_declines_the_extra_stays_with_what_was_agreed(desk: Desk):
    """And can be asked for it again, or for less."""
    declined = desk.decide(desk.revise(desk.decide(desk.issue(), "accepted"), **SWOLLEN), "declined")
    assert declined.standing == "declined"
    assert declined.agreement is not None
    assert declined.agreement.revision == 1
    assert desk.revise(declined, findings=[], payment="cash").standing == "accepted"


def test_withdrawing_ends_the_agreement(desk: Desk):
    """What comes after it is a new start, without consent."""
    withdrawn = desk.decide(desk.decide(desk.issue(), "accepted"), "withdrawn")
    assert (withdrawn.standing, withdrawn.agreement) == ("withdrawn", None)
    assert desk.decide(desk.revise(withdrawn, **SWOLLEN), "accepted").standing == "accepted"


@pytest.mark.parametrize(
    ("made", "impossible"),
    [
        (["accepted"], ["accepted", "declined"]),
        (["declined"], ["declined"]),
        (["withdrawn"], ["accepted", "declined", "withdrawn"]),
        (["declined", "accepted"], ["accepted", "declined"]),
        (["accepted", "withdrawn"], ["accepted", "declined", "withdrawn"]),
    ],
)
def test_decisions_that_do_not_follow_are_conflicts(desk: Desk, made: list[str], impossible: list[str]):
    """Nothing of them is kept."""
    quote = desk.issue()
    for decision in made:
        quote = desk.decide(quote, decision)
    for decision in impossible:
        with pytest.raises(Conflict, match=f"is {made[-1]} and cannot be {decision}"):
            desk.decide(quote, decision)
    assert len(kinds(desk, quote)) == len(made) + 1


@pytest.mark.parametrize("before", [[], ["declined"]])
def test_what_is_over_is_revised_before_it_is_accepted(desk: Desk, before: list[str]):
    """The new revision holds again."""
    quote = desk.issue()
    for decision in before:
        quote = desk.decide(quote, decision)
    desk.time = dt.datetime(2026, 4, 1, 23, tzinfo=dt.UTC)
    with pytest.raises(Conflict, match="held until 2026-04-01; revise it"):
        desk.decide(quote, "accepted")
    assert desk.decide(desk.revise(quote), "accepted").standing == "accepted"


def test_only_the_newest_revision_is_decided(desk: Desk):
    """Who has an older one before them is told so."""
    first = desk.issue()
    second = desk.revise(first, **SWOLLEN)
    with pytest.raises(Conflict, match="only the newest revision"):
        desk.decide(second, "accepted", revision=1)
    with pytest.raises(Conflict, match="only the newest revision"):
        desk.decide(desk.quoting.revision(first.id, 1), "accepted")
    with pytest.raises(Conflict, match="only the newest revision"):
        desk.revise(desk.quoting.revision(first.id, 1), **OPENED)


@pytest.mark.parametrize(
    ("said", "at"),
    [
        ({"name": ""}, "/name"),
        ({"name": "   "}, "/name"),
        ({"name": "x" * 201}, "/name"),
        ({"how": "pigeon"}, "/how"),
        ({"decision": "forgotten"}, "/decision"),
        ({"up_to": "everything"}, "/up_to"),
        ({"note": "x" * 1001}, "/note"),
        ({"at": "2026-03-02T09:29:59.999999Z"}, "/at"),
        ({"at": "2026-03-02T10:30:00.000001Z"}, "/at"),
    ],
)
def test_a_decision_that_makes_no_sense_is_refused_at_its_place(desk: Desk, said: Any, at: str):
    """Issued at 9:30, decided on by 10:30."""
    quote = desk.issue()
    desk.forward(hours=1)
    with pytest.raises(QuoteRefused) as problem:
        desk.quoting.decide(quote, Decision(**{"decision": "accepted", "revision": 1, "name": "A"} | said), DESK.name)
    assert [pointer for _, pointer in refused(problem)] == [at]
    assert desk.quoting.get(quote.id) == quote


@pytest.mark.parametrize("at", ["2026-03-02T09:30:00.000000Z", "2026-03-02T10:00:00.000000Z", ""])
def test_a_decision_may_be_recorded_later_than_it_was_made(desk: Desk, at: str):
    """From the issue on; now where nothing is said."""
    quote = desk.issue()
    desk.forward(hours=1)
    decided = desk.decide(quote, "accepted", at=at).decision
    assert decided is not None
    assert (decided.at, decided.recorded_at) == (at or stamp(desk.time), stamp(desk.time))


def test_a_customer_decides_by_the_link(desk: Desk):
    """As themselves; the quote's contact is how they were reached."""
    quote = desk.issue()
    quote = desk.quoting.change_contact(quote, Contact(email="aoife@example.org"), DESK.name)
    accepted = desk.quoting.decide_by_link(quote.link, 1, "accepted", "Aoife Example")
    assert accepted.decision is not None
    assert (accepted.decision.how, accepted.decision.contact) == ("link", "aoife@example.org")
    assert accepted.decision.recorded_by == "the customer's page"
    assert accepted.standing == "accepted"


def test_a_customer_may_not_withdraw(desk: Desk):
    """They may accept or decline."""
    with pytest.raises(QuoteRefused) as problem:
        desk.quoting.decide_by_link(desk.issue().link, 1, "withdrawn", "A")
    assert problem.value.refusals[0].allowed == ("accepted", "declined")


def test_a_customer_who_has_an_old_page_before_them_decides_nothing(desk: Desk):
    """Neither on a revision that is superseded, nor on one that is over, nor by a link that has ended."""
    quote = desk.revise(desk.issue(), **SWOLLEN)
    with pytest.raises(Conflict, match="only the newest revision"):
        desk.quoting.decide_by_link(quote.link, 1, "accepted", "A")
    old_link, quote = quote.link, desk.quoting.replace_link(quote, DESK.name)
    assert desk.quoting.by_link(old_link) is None
    with pytest.raises(NotFound):
        desk.quoting.decide_by_link(old_link, 2, "accepted", "A")
    desk.forward(days=40)
    for decision in ("accepted", "declined"):
        with pytest.raises(Conflict, match="ask the shop for a new one"):
            desk.quoting.decide_by_link(quote.link, 2, decision, "A")
    assert kinds(desk, quote) == [(1, "issued"), (2, "revised"), (3, "link-replaced")]


def test_a_customer_agrees_to_the_extra_that_their_page_shows(desk: Desk):
    """Another amount is refused: the page was of another revision."""
    dearer = desk.revise(desk.decide(desk.issue(), "accepted"), **SWOLLEN)
    with pytest.raises(QuoteRefused):
        desk.quoting.decide_by_link(dearer.link, 2, "accepted", "A", extra=Decimal(1))
    accepted = desk.quoting.decide_by_link(dearer.link, 2, "accepted", "A", extra=Decimal(42))
    assert accepted.standing == "accepted"


def test_a_revision_keeps_what_the_customer_has_been_told_already(desk: Desk):
    """And adds what they are told now, each once."""
    quote = desk.under(LAW)
    told = desk.quoting.preview(
        replace(quote, told=("data-loss",)),
        desk.job(**SWOLLEN),
        desk.quoting.rates_of(quote, "pinned"),
        "front desk",
        told=["ceiling", "data-loss"],
    )
    assert told.told == ("data-loss", "ceiling")


def test_a_revision_about_which_the_customer_must_be_told_is_refused_until_they_are(desk: Desk):
    """By the notices that its own result has."""
    quote = desk.issue()
    rates = desk.quoting.rates_of(quote, "pinned")
    shown = desk.quoting.preview(quote, desk.job(**SWOLLEN), rates, DESK.name, reason="swollen")
    law = LAW | {"notices": [{"code": "ceiling", "must_be_told": True, "texts": {"en": "At most this."}}]}
    new = replace(shown, result=shown.result | {"law": law})
    with pytest.raises(QuoteRefused) as problem:
        check_revision(quote, new)
    assert refused(problem) == [("notice-required", "/told")]
    check_revision(quote, replace(new, told=("ceiling",)))


def test_a_change_of_contact_says_what_changed_and_not_to_what(desk: Desk):
    """What is kept for good names no customer. The same contact again changes nothing."""
    quote = desk.issue()
    contact = Contact(name="Aoife Example", phone="01 555 0100")
    changed = desk.quoting.change_contact(quote, contact, DESK.name)
    assert desk.quoting.get(quote.id).contact == contact
    assert desk.quoting.change_contact(changed, contact, DESK.name) == changed
    desk.decide(changed, "declined", contact="01 555 0100", note="Aoife will think about it")
    assert desk.quoting.history(quote.id, 1)[0].data == {"fields": ["name", "phone"]}
    kept = "".join(row["data"] for row in desk.store.rows("select data from quote_events"))
    assert "Aoife" not in kept
    assert "555 0100" not in kept


def test_who_has_not_seen_the_newest_changes_nothing(desk: Desk):
    """Whatever they meant to do."""
    seen = desk.issue()
    now = desk.quoting.change_contact(seen, Contact(name="B"), DESK.name)
    attempts = [
        lambda: desk.revise(seen, **SWOLLEN),
        lambda: desk.decide(seen, "accepted"),
        lambda: desk.quoting.change_contact(seen, Contact(name="C"), DESK.name),
        lambda: desk.quoting.replace_link(seen, DESK.name),
    ]
    for attempt in attempts:
        with pytest.raises(ChangedMeanwhile):
            attempt()
    assert desk.quoting.get(seen.id) == now


@pytest.mark.parametrize("turn", range(5))
def test_of_two_who_decide_at_once_one_wins(desk: Desk, turn: int):
    """Two threads, each with a connection of its own, that begin together."""
    seen, together = desk.issue(), Barrier(2)

    def attempt(decision: str) -> str:
        together.wait()
        try:
            return desk.decide(seen, decision).standing
        except ChangedMeanwhile:
            return "too late"

    with ThreadPoolExecutor(2) as pool:
        came = sorted(pool.map(attempt, ("declined", "withdrawn")))
    assert "too late" in came
    now = desk.quoting.get(seen.id)
    assert now.standing in came
    assert kinds(desk, seen) == [(1, "issued"), (2, now.standing)]


def test_two_who_revise_at_once_make_one_revision(desk: Desk):
    """The other is told, and nothing of theirs is left."""
    seen, together = desk.issue(), Barrier(2)

    def attempt(changes: dict[str, Any]) -> int | None:
        together.wait()
        try:
            return desk.revise(seen, **changes).revision
        except ChangedMeanwhile:
            return None

    with ThreadPoolExecutor(2) as pool:
        came = list(pool.map(attempt, (SWOLLEN, {"repairs": SCREEN_TOO})))
    assert sorted(came, key=str) == [2, None]
    assert [each.revision for each in desk.quoting.revisions(seen.id)] == [1, 2]
