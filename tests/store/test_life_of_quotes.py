"""What becomes of quotes, at rest: events that stay, older databases that open, customers and states that are found."""

import json
import sqlite3
import zlib
from contextlib import closing
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from sqlite_utils import Database

from quoter.problems import ChangedMeanwhile
from quoter.records.quotes import Agreement, Contact, Decision, IssuedQuote, QuoteEvent, QuoteFilter
from quoter.store.database import Store
from quoter.store.migrations.in_order import MIGRATIONS
from quoter.store.quotes import Quotes

from .records import AT, QUOTE, a_quote

NOW = "2026-03-02T12:00:00.000000Z"


def event(quote: IssuedQuote, kind: str, **data: object) -> QuoteEvent:
    """An event of a quote as it is after it."""
    return QuoteEvent(
        quote=quote.id, version=quote.version, kind=kind, revision=quote.revision, at=NOW, by="front desk", data=data
    )


def decided(quotes: Quotes, quote: IssuedQuote, decision: str) -> IssuedQuote:
    """A quote after a decision."""
    made = Decision(
        decision=decision,
        revision=quote.revision,
        name="Zoë Æble",
        at=NOW,
        how="phone",
        contact="+353 1 555 0100",
        extra=Decimal("0.10"),
        up_to="ceiling",
        note="„gern“",
        recorded_by="front desk",
        recorded_at=NOW,
    )
    agreement = Agreement(
        revision=1, gross=Decimal("0.10"), net=Decimal("12.30"), limit=Decimal("99.50"), of="net", from_limit=True
    )
    after = replace(quote, version=quote.version + 1, standing=decision, decision=made, agreement=agreement)
    quotes.change(after, event(after, decision, how="phone"))
    return after


def test_all_that_stands_with_a_quote_reads_back(store: Store):
    """Contact, link, what was told, the decision, the agreement; no digit and no sign is lost."""
    quotes = Quotes(store)
    contact = Contact(name="Zoë Æble", phone="+353 (0)1 555-0100", email="zoe@example.org")
    kept = quotes.add(a_quote(contact=contact, link="abc", told=("data-loss", "form")), "slate")
    assert quotes.get(kept.id) == kept
    after = decided(quotes, kept, "accepted")
    assert quotes.get(kept.id) == quotes.by_link("abc") == after
    assert quotes.revisions(kept.id) == [after]


def test_what_happened_is_told_oldest_first_with_what_people_said(store: Store):
    """The name, number and note of a decision come from where they can be erased."""
    quotes = Quotes(store)
    quote = decided(quotes, quotes.add(a_quote(told=("form",)), "slate"), "declined")
    issue, decision = quotes.events(quote.id)
    assert (issue.kind, issue.version, issue.at, issue.by, issue.data) == (
        "issued",
        1,
        AT,
        "front desk",
        {"told": ["form"]},
    )
    said = {"name": "Zoë Æble", "contact": "+353 1 555 0100", "note": "„gern“"}
    assert (decision.kind, decision.data) == ("declined", {"how": "phone"} | said)
    assert quotes.events(quote.id, after=1) == [decision]
    with store.write() as database:
        database.execute("update decisions set name = '', contact = '', note = ''")
    assert quotes.events(quote.id, after=1)[0].data == {"how": "phone"}


@pytest.mark.parametrize(
    "statement",
    [
        "update quote_events set kind = 'declined'",
        "update quote_events set version = version + 1",
        "delete from quote_events",
        """insert or replace into quote_events
            select quote, version, 'declined', revision, at, "by", data from quote_events""",
        'replace into quote_events select quote, version, kind, 9, at, "by", data from quote_events',
    ],
)
def test_no_event_is_ever_changed_or_removed(store: Store, statement: str):
    """Not even by somebody who writes SQL by hand."""
    quotes = Quotes(store)
    quote = quotes.add(a_quote(), "slate")
    before = quotes.events(quote.id)
    with (
        closing(sqlite3.connect(store.path)) as by_hand,
        pytest.raises(sqlite3.IntegrityError, match="events of quotes stay as they are"),
    ):
        by_hand.execute(statement)
    assert quotes.events(quote.id) == before


def test_who_has_not_seen_the_newest_version_keeps_nothing(store: Store):
    """Neither the decision nor the event nor the standing."""
    quotes = Quotes(store)
    seen = quotes.add(a_quote(), "slate")
    first = decided(quotes, seen, "declined")
    with pytest.raises(ChangedMeanwhile, match=r"quote 2026-00001 is not what you have seen"):
        decided(quotes, seen, "accepted")
    assert quotes.get(seen.id) == first
    assert len(quotes.events(seen.id)) == 2
    assert store.rows("select count(*) as n from decisions") == [{"n": 1}]


def test_a_revision_stands_beside_the_one_before(store: Store):
    """Each with its own day of validity, reason and decision; the list shows the newest."""
    quotes = Quotes(store)
    first = decided(quotes, quotes.add(a_quote(), "slate"), "accepted")
    later = {"expires_at": "2026-05-01T23:00:00.000000Z", "issued_at": NOW, "reason": "swollen"}
    second = replace(first, revision=2, version=3, standing="issued", decision=None, **later)
    quotes.change(second, event(second, "revised", covered=False))
    assert quotes.get(first.id) == second
    assert quotes.revision(first.id, 1) == replace(first, standing="superseded", version=3)
    assert quotes.revision(first.id, 3) is None
    assert [each.expires_at for each in quotes.revisions(first.id)] == [first.expires_at, second.expires_at]
    assert quotes.find(QuoteFilter(limit=9), NOW) == [second]
    assert quotes.events(first.id, after=2)[0].data == {"covered": False, "reason": "swollen"}


def old_database(path: Path, quotes: int) -> None:
    """As the version before left it, with this many quotes."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        database = Database(connection)
        MIGRATIONS.apply(database, stop_before="life_of_quotes")
        for number in range(1, quotes + 1):
            row = {"id": f"q{number}", "number": f"2026-{number:05}", "book": "small", "device": "slate"}
            times = {"issued_at": AT, "expires_at": QUOTE.expires_at}
            database.table("quotes").insert(row | times | {"device_words": "slate", "revision": 1})
            result = zlib.compress(json.dumps(QUOTE.result).encode())
            figures = {"currency": "EUR", "net": "12.30", "gross": "0.10", "cost": "7.1", "below_floor": 0}
            of_book = {"book": "small", "book_version": 1, "book_digest": "0", "issued_by": "front desk"}
            rest = {"quote": f"q{number}", "revision": 1, "issued_at": AT, "result": result}
            database.table("revisions").insert({**rest, **figures, **of_book, "job": json.dumps(QUOTE.job)})


def test_quotes_of_the_version_before_live_on(tmp_path: Path):
    """They are read as they were, have a link each and the event of their issue, and can be decided on."""
    path = tmp_path / "quoter.db"
    old_database(path, quotes=3)
    with closing(Store(path)) as store:
        quotes = Quotes(store)
        found = quotes.find(QuoteFilter(limit=9, state="issued"), NOW)
        assert [quote.id for quote in found] == ["q3", "q2", "q1"]
        assert len({quote.link for quote in found}) == 3
        assert {len(quote.link) for quote in found} == {43}
        old = found[-1]
        assert (old.job, old.result, old.issued_at, old.expires_at) == (QUOTE.job, QUOTE.result, AT, QUOTE.expires_at)
        assert (old.version, old.contact, old.told, old.reason, old.agreement) == (1, Contact(), (), "", None)
        assert [(each.kind, each.at, each.by) for each in quotes.events("q1")] == [("issued", AT, "front desk")]
        assert quotes.by_link(old.link) == old
        assert decided(quotes, old, "accepted").version == 2
    with closing(Store(path)) as again:
        assert Quotes(again).get("q2") == found[1]


CONTACTS = (
    Contact(name="Zoë Ærø", phone="+353 (0)1 555-0100", email="Zoe@Example.org"),
    Contact(name="Łukasz Weiß", phone="0048 22 555 01 00", email=""),
    Contact(name="山田 太郎", phone="", email="taro@example.com"),
    Contact(),
)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("zoe", [0]),
        ("ZOË", [0]),
        ("ærø", [0]),
        ("lukasz", [1]),
        ("weiss", [1]),
        ("WEISS", [1]),
        ("太郎", [2]),
        ("example", [2, 0]),
        ("EXAMPLE.ORG", [0]),
        ("555-01", [1, 0]),
        ("5550100", [1, 0]),
        ("(22) 555", [1]),
        ("022 555", [1]),  # as it is dialled in the country
        ("+353", [0]),
        ("00353", [0]),
        ("999", []),
        ("0", [1, 0]),
        ("", [3, 2, 1, 0]),
        ("  ", [3, 2, 1, 0]),
        ("%", []),
        ("_", []),
        ("\\", []),
        ("nobody", []),
    ],
)
def test_a_customer_is_found_by_part_of_name_number_or_address(store: Store, asked: str, found: list[int]):
    """Without case and accents, numbers however they are written; signs of a pattern stand for themselves."""
    quotes = Quotes(store)
    for number, contact in enumerate(CONTACTS):
        quotes.add(a_quote(number, contact=contact), "slate")
    listed = [quote.number for quote in quotes.find(QuoteFilter(limit=9, customer=asked), NOW)]
    assert listed == [f"2026-{number + 1:05}" for number in found]


def test_a_search_finds_the_contact_that_there_is_now(store: Store):
    """Not the one before."""
    quotes = Quotes(store)
    quote = quotes.add(a_quote(contact=Contact(name="Before")), "slate")
    after = replace(quote, version=2, contact=Contact(name="Now"))
    quotes.change(after, event(after, "contact-changed"))
    assert quotes.find(QuoteFilter(limit=9, customer="before"), NOW) == []
    assert quotes.find(QuoteFilter(limit=9, customer="now"), NOW) == [after]


def test_every_quote_is_found_in_its_state_and_no_other(store: Store):
    """The record and the search agree, also when the day is over."""
    quotes = Quotes(store)
    for number, standing in enumerate(("issued", "accepted", "declined", "withdrawn")):
        quote = quotes.add(a_quote(number), "slate")
        if standing != "issued":
            decided(quotes, quote, standing)
    for now, expected in ((NOW, "issued"), (QUOTE.expires_at, "expired")):
        for state in ("issued", "accepted", "declined", "withdrawn", "expired"):
            found = quotes.find(QuoteFilter(limit=9, state=state), now)
            assert {quote.state_at(now) for quote in found} <= {state}
            assert len(found) == (0 if state in {"issued", "expired"} - {expected} else 1)


def test_a_search_for_a_state_uses_an_index(store: Store):
    """As SQLite itself explains."""
    sql = "explain query plan select id from quotes where standing = :standing order by id desc limit 20"
    (plan,) = store.rows(sql, {"standing": "issued"})
    assert "USING COVERING INDEX idx_quotes_standing_id" in plan["detail"]
