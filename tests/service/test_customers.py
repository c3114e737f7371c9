"""What is held on a customer: found by what is theirs exactly, read as a whole, erased while figures stay."""

import datetime as dt
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoter.problems import ChangedMeanwhile, NotFound
from quoter.records.customers import Who
from quoter.records.quotes import BY_TIME, Contact, IssuedQuote
from quoter.service.clock import stamp
from quoter.service.customers import Customers, is_agreed
from quoter.store.customers import Customers as Records
from quoter.store.enquiries import Enquiries

from .desk import OWNER, Desk, a_desk
from .holding import a_contact, a_customers_quote, a_long_story, a_reply, an_enquiry, files_of, unpacked


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A desk with an empty database."""
    with a_desk(tmp_path) as opened:
        yield opened


def customers_of(desk: Desk) -> Customers:
    """The use cases over the same database and clock."""
    return Customers(Records(desk.store), desk.quotes, desk.now)


def found(desk: Desk, named_by: str, value: str) -> list[str]:
    """Numbers and references of what is held."""
    held = customers_of(desk).held(Who(named_by, value))
    return [each.newest.number for each in held.quotes] + [each.reference for each in held.enquiries]


def test_a_customer_is_found_by_the_whole_address_in_any_case(desk: Desk):
    """A part of an address is somebody else's: nothing of theirs may be told or erased."""
    contact = Contact(email="Zoë@Example.org")
    mine = a_customers_quote(desk, "Quillfeather", contact)
    a_customers_quote(desk, "Umbrage", Contact(email="zo@example.org"))
    assert found(desk, "email", " zoË@EXAMPLE.ORG ") == [mine.number]
    for other in ("zoe@example.org", "Zoë@example", "@", "%", ""):
        assert found(desk, "email", other) == []


def test_a_customer_is_found_by_all_the_digits_of_a_number(desk: Desk):
    """However it is written, but not by its end, nor with the code of a country that is not kept."""
    mine = a_customers_quote(desk, "Quillfeather", Contact(phone="+353 (1) 555-0100"))
    short = a_customers_quote(desk, "Umbrage", Contact(phone="0100"))
    a_customers_quote(desk, "Nobody", Contact())
    for same in ("+353 1 5550100", "35315550100", "00353 1 555 0100"):
        assert found(desk, "phone", same) == [mine.number]
    assert found(desk, "phone", "0100") == [short.number]
    for other in ("01 555 0100", "100", "", "no number"):
        assert found(desk, "phone", other) == []


def test_a_number_is_found_in_whatever_digits_it_was_typed(desk: Desk):
    """As it is kept and as it is asked for; the same goes for a contact that is changed."""
    mine = a_customers_quote(
        desk, "Quillfeather", Contact(phone=" \u0660\u0661 \u0665\u0665\u0665 \u0661\u0662\u0663\u0664 ")
    )
    assert mine.contact.phone == "01 555 1234"
    for same in ("015551234", "\uff10\uff11\uff15\uff15\uff15\uff11\uff12\uff13\uff14"):
        assert found(desk, "phone", same) == [mine.number]
    changed = desk.quoting.change_contact(mine, Contact(phone="\u06f0\u06f1 \u06f7\u06f7\u06f7"), "the desk")
    assert changed.contact.phone == "01 777"
    assert found(desk, "phone", "01777") == [mine.number]


def test_an_address_is_found_however_its_letters_are_put_together(desk: Desk):
    """One sign or two (Unicode 3.11, NFC and NFD), in any case (3.13)."""
    mine = a_customers_quote(desk, "Quillfeather", Contact(email="ren\u00e9e@stra\u00dfe.example"))
    for same in ("rene\u0301e@stra\u00dfe.example", "RENE\u0301E@STRASSE.example", " Ren\u00c9e@Stra\u1e9ee.example"):
        assert found(desk, "email", same) == [mine.number]
    assert found(desk, "email", "renee@strasse.example") == []


def test_an_address_with_digits_is_no_number(desk: Desk):
    """Somebody who said yes by message from 1234567@… has not called from that number."""
    quote = a_customers_quote(desk, "Quillfeather", Contact())
    decided = desk.decide(quote, "declined", how="message", contact="1234567@example.org")
    assert found(desk, "phone", "1234567") == []
    assert found(desk, "email", "1234567@EXAMPLE.org") == [decided.number]


def test_a_customer_is_found_by_where_they_decided(desk: Desk):
    """A number at which somebody said yes is theirs too."""
    quote = desk.decide(
        a_customers_quote(desk, "Quillfeather", Contact()), "accepted", how="phone", contact="01 555 77"
    )
    assert found(desk, "phone", "(01) 555 77") == [quote.number]


def test_a_quote_and_the_enquiry_it_was_made_of_are_about_one_customer(desk: Desk):
    """Whichever of the two is named, by id, number or reference."""
    quote = a_customers_quote(desk, "Quillfeather", Contact(phone="+49 30 55501"))
    enquiry = an_enquiry(desk, "Quillfeather", 7, quote)
    an_enquiry(desk, "Umbrage", 8)
    both = [quote.number, "A2026-00007"]
    for named_by, value in (
        ("quote", quote.id),
        ("quote", quote.number),
        ("enquiry", enquiry),
        ("enquiry", "a2026-00007"),
        ("email", "quillfeather@example.org"),
        ("phone", "+493055501"),
    ):
        assert found(desk, named_by, value) == both, named_by


@pytest.mark.parametrize("named_by", ["quote", "enquiry"])
def test_a_quote_or_enquiry_that_is_not_there_is_not_found(desk: Desk, named_by: str):
    """An address on which nothing is held is an answer; a number that does not exist is a slip."""
    with pytest.raises(NotFound, match=f"no {named_by} '2026-00099'"):
        found(desk, named_by, "2026-00099")


def test_everything_is_held_together(desk: Desk):
    """Every revision and every event of a quote, and the enquiry as it was sent."""
    quote = a_long_story(desk, "Quillfeather")
    an_enquiry(desk, "Quillfeather")
    held = customers_of(desk).held(Who("email", "quillfeather@example.org"))
    (one,), (enquiry,) = held.quotes, held.enquiries
    assert [each.revision for each in one.revisions] == [1, 2]
    assert [event.kind for event in one.events] == ["issued", "declined", "revised", "contact-changed"]
    assert one.newest == quote
    assert (enquiry.noticed, enquiry.contact) == ("Quillfeather dropped it", a_contact("Quillfeather"))


def test_erasing_empties_names_and_texts_and_keeps_figures_and_events(desk: Desk):
    """The event says by whom; the link leads nowhere; the totals, lines and steps are what they were."""
    quote = a_long_story(desk, "Quillfeather")
    before = desk.quoting.revisions(quote.id)
    history = desk.quoting.history(quote.id)
    done = customers_of(desk).erase(Who("quote", quote.number), OWNER.name)
    assert (done.quotes, done.kept, done.before, done.is_out_of_file) == ((quote.number,), (), (), True)
    after = desk.quoting.get(quote.id)
    assert (after.contact, after.link, after.reason, after.erased_at) == (Contact(), "", "", stamp(desk.now()))
    assert (after.version, after.standing) == (quote.version + 1, quote.standing)
    assert desk.quoting.by_link(quote.link) is None
    revisions = desk.quoting.revisions(quote.id)
    assert [each.result for each in revisions] == [each.result for each in before]
    assert [each.job["discount"] for each in revisions] == [{"rate": "0.05", "reason": ""}] * 2
    (declined,) = (each.decision for each in revisions if each.decision)
    assert (declined.name, declined.contact, declined.note, declined.how) == ("", "", "", "phone")
    *earlier, erased = desk.quoting.history(quote.id)
    facts = ("name", "contact", "note", "reason")
    assert [replace(each, data={}) for each in earlier] == [replace(each, data={}) for each in history]
    assert not any(name in each.data for each in earlier for name in facts)
    assert (erased.kind, erased.by, erased.version, erased.data) == (
        "contact-erased",
        OWNER.name,
        after.version,
        {"because": "asked"},
    )


def test_an_erased_enquiry_waits_no_more_and_one_put_aside_keeps_its_reason(desk: Desk):
    """There is nobody left to answer; why it was put aside is no word of the visitor's."""
    use, enquiries = customers_of(desk), Enquiries(desk.store)
    waiting, aside = (enquiries.get(an_enquiry(desk, "Quillfeather", number)) for number in (1, 2))
    assert waiting is not None
    assert aside is not None
    enquiries.change(replace(aside, version=aside.version + 1, standing="closed", closed_because="junk"))
    for each in (waiting, aside):
        use.erase(Who("enquiry", each.reference), "owner")
    reasons = [(kept.standing, kept.closed_because) for each in (waiting, aside) if (kept := enquiries.get(each.id))]
    assert reasons == [("closed", "erased"), ("closed", "junk")]
    assert enquiries.count("new") == 0


def test_an_enquiry_is_erased_and_its_price_stays(desk: Desk):
    """Also who sent it; what the shop was asked for is still counted."""
    enquiry = an_enquiry(desk, "Quillfeather")
    before = customers_of(desk).held(Who("enquiry", enquiry)).enquiries[0]
    done = customers_of(desk).erase(Who("email", "quillfeather@example.org"), OWNER.name)
    assert (done.enquiries, done.quotes) == (("A2026-00001",), ())
    (after,) = customers_of(desk).held(Who("enquiry", enquiry)).enquiries
    erased = {"contact": Contact(), "noticed": "", "sender": "", "version": 2, "erased_at": stamp(desk.now())}
    assert after == replace(before, **erased, standing="closed", closed_because="erased")


@pytest.mark.parametrize("way", ["accepted", "revised after it", "extra declined"])
def test_what_somebody_agreed_to_is_kept_unless_it_is_asked_for(desk: Desk, way: str):
    """An agreement that counts is proof of a contract, also while a dearer revision waits or was declined."""
    quote = desk.decide(a_customers_quote(desk, "Quillfeather"), "accepted", how="phone", contact="01 555 0100")
    if way != "accepted":
        quote = desk.revise(quote, by=OWNER, findings=["swollen-cell"])
    if way == "extra declined":
        quote = desk.decide(quote, "declined")
    who = Who("quote", quote.id)
    assert is_agreed(quote)
    kept = customers_of(desk).erase(who, OWNER.name)
    assert (kept.kept, kept.quotes) == ((quote.number,), ())
    assert desk.quoting.get(quote.id) == quote
    erased = customers_of(desk).erase(who, OWNER.name, accepted=True)
    assert (erased.kept, erased.quotes) == ((), (quote.number,))
    after = desk.quoting.get(quote.id)
    assert (after.contact, after.agreement, after.standing) == (Contact(), quote.agreement, quote.standing)


def test_a_quote_that_was_withdrawn_after_it_was_accepted_is_erased(desk: Desk):
    """It binds nobody any more."""
    quote = desk.decide(desk.decide(a_customers_quote(desk, "Quillfeather"), "accepted"), "withdrawn")
    assert customers_of(desk).erase(Who("quote", quote.id), OWNER.name).quotes == (quote.number,)


def test_erasing_once_more_does_nothing_more(desk: Desk):
    """No further event and no further version; what came after it is erased anew."""
    quote = a_customers_quote(desk, "Quillfeather")
    enquiry = an_enquiry(desk, "Quillfeather", quote=quote)
    first = customers_of(desk).erase(Who("quote", quote.id), OWNER.name)
    erased = desk.quoting.get(quote.id)
    desk.forward(days=1)
    again = customers_of(desk).erase(Who("enquiry", enquiry), OWNER.name)
    assert (first.quotes, first.enquiries) == ((quote.number,), ("A2026-00001",))
    assert (again.quotes, again.enquiries, again.before) == ((), (), (quote.number, "A2026-00001"))
    assert desk.quoting.get(quote.id) == erased
    back = desk.quoting.change_contact(erased, a_contact("Quillfeather"), "desk")
    assert customers_of(desk).erase(Who("email", back.contact.email), OWNER.name).quotes == (quote.number,)
    assert desk.quoting.get(quote.id).contact == Contact()


def test_who_had_the_quote_open_is_told_instead_of_overwriting(desk: Desk):
    """What was seen before the erasure cannot be kept any more."""
    seen = a_customers_quote(desk, "Quillfeather")
    customers_of(desk).erase(Who("quote", seen.id), OWNER.name)
    with pytest.raises(ChangedMeanwhile):
        desk.quoting.change_contact(seen, replace(seen.contact, name="Quillfeather"), "desk")
    assert "Quillfeather" not in unpacked(desk.store.path)


def test_stored_answers_about_somebody_are_deleted(desk: Desk):
    """Of the quote, of what is below it, and of the enquiry; nobody else's."""
    quote, other = a_customers_quote(desk, "Quillfeather"), a_customers_quote(desk, "Umbrage")
    enquiry = an_enquiry(desk, "Quillfeather", quote=quote)
    path = f"/v1/quotes/{quote.id}"
    theirs = (f"/v1/quotes/{other.id}", f"{path}0", f"{path}-1")
    for number, about in enumerate((path, f"{path}/revisions/2", f"/v1/enquiries/{enquiry}", *theirs)):
        a_reply(desk.store, about, f"answer {number}")
    done = customers_of(desk).erase(Who("quote", quote.id), OWNER.name)
    assert done.replies == 3
    assert {row["about"] for row in desk.store.rows("select about from replies where status <> 0")} == set(theirs)


def test_nothing_is_left_in_the_files(desk: Desk):
    """Not in the database, not in the log beside it, and not in what is packed: SQLite forgets what it overwrote."""
    for name in ("Umbrage", "Quillfeather", "Nettlecombe"):
        quote = a_long_story(desk, name)
        an_enquiry(desk, name, int(quote.number[5:]))
        a_reply(desk.store, f"/v1/quotes/{quote.id}", name)
    texts = (b"Quillfeather", b"quillfeather", a_contact("Quillfeather").phone[1:].encode())
    assert all(text in files_of(desk.store.path) for text in texts)
    done = customers_of(desk).erase(Who("email", "quillfeather@example.org"), OWNER.name)
    assert done.is_out_of_file
    assert not any(text in files_of(desk.store.path) for text in texts)
    assert not any(text.decode() in unpacked(desk.store.path) for text in texts)
    assert all(name in files_of(desk.store.path) for name in (b"Umbrage", b"Nettlecombe"))


def test_somebody_who_still_reads_keeps_the_bytes_a_little_longer(tmp_path: Path):
    """Which is said; the next look takes them out."""
    with a_desk(tmp_path) as desk:
        quote = a_customers_quote(desk, "Quillfeather")
        desk.store.rows("pragma busy_timeout=50")  # instead of the usual wait
        with a_reader(desk.store.path):
            done = customers_of(desk).erase(Who("quote", quote.id), OWNER.name)
            assert (done.quotes, done.is_out_of_file) == ((quote.number,), False)
            assert b"Quillfeather" in files_of(desk.store.path)
        assert customers_of(desk).settle(is_new=False)
        assert b"Quillfeather" not in files_of(desk.store.path)


@contextmanager
def a_reader(database: Path) -> Iterator[sqlite3.Connection]:
    """Somebody in the middle of reading."""
    with closing(sqlite3.connect(database, isolation_level=None)) as connection:
        connection.execute("begin")
        connection.execute("select * from quotes").fetchall()
        yield connection


NAMES = ["Quillfeather", "Umbrage", "Nettlecombe", "Ashgrove", "Dunwhistle", "Marrowby", "Pellingham", "Thistlewood"]


@settings(max_examples=6, deadline=None)
@given(st.data())
def test_whoever_is_erased_is_gone_and_nobody_else_is_touched(data: st.DataObject):
    """Of many customers one: no byte of theirs is left, every other row is what it was, and so are all totals."""
    names = data.draw(st.lists(st.sampled_from(NAMES), min_size=2, max_size=6, unique=True))
    erased = data.draw(st.sampled_from(names))
    with TemporaryDirectory() as folder, a_desk(Path(folder)) as desk:
        stories = {name: a_long_story(desk, name) for name in names}
        for number, name in enumerate(names, 1):
            an_enquiry(desk, name, number, data.draw(st.sampled_from([None, stories[name]])))
            for _ in range(data.draw(st.integers(0, 2))):
                a_customers_quote(desk, name)
        others = _rows_of_others(desk, erased)
        totals = _totals(desk)
        done = customers_of(desk).erase(Who("email", a_contact(erased).email), OWNER.name)
        assert done.is_out_of_file
        files = files_of(desk.store.path)
        for text in (erased, erased.lower(), a_contact(erased).phone[1:], stories[erased].link):
            assert text.encode() not in files
            assert text not in unpacked(desk.store.path)
        assert _rows_of_others(desk, erased, done.quotes, done.enquiries) == others
        assert _totals(desk) == totals


def _totals(desk: Desk) -> Decimal:
    rows = desk.store.rows("select gross from revisions union all select gross from enquiries")
    return sum((Decimal(row["gross"]) for row in rows), Decimal(0))


def _rows_of_others(
    desk: Desk, name: str, numbers: tuple[str, ...] = (), references: tuple[str, ...] = ()
) -> list[dict[str, object]]:
    """Every row of quotes, revisions, decisions and enquiries that is not theirs."""
    quotes = desk.store.rows("select * from quotes")
    email = a_contact(name).email
    theirs = {row["id"] for row in quotes if row["contact_email"] == email or row["number"] in numbers}
    rows = [row for row in quotes if row["id"] not in theirs]
    for table in ("revisions", "decisions", "quote_events"):
        rows += [row for row in desk.store.rows(f"select * from {table}") if row["quote"] not in theirs]
    enquiries = desk.store.rows("select * from enquiries")
    return rows + [row for row in enquiries if row["contact_email"] != email and row["reference"] not in references]


KEEP = 180


def erase_due(desk: Desk) -> int:
    """What the hourly look erases."""
    return sum(customers_of(desk).erase_due(KEEP))


def kept_until(quote: IssuedQuote) -> dt.datetime:
    """The moment at which a quote that only expires is erased."""
    return dt.datetime.fromisoformat(quote.expires_at) + dt.timedelta(days=KEEP)


def test_a_quote_is_erased_so_many_days_after_it_was_over(desk: Desk):
    """A moment before nothing; at the moment it is; then nothing more."""
    quote = a_customers_quote(desk, "Quillfeather")
    desk.time = kept_until(quote) - dt.timedelta(microseconds=1)
    assert erase_due(desk) == 0
    assert desk.quoting.get(quote.id).contact == quote.contact
    desk.time = kept_until(quote)
    assert erase_due(desk) == 1
    after = desk.quoting.get(quote.id)
    assert (after.contact, after.link, after.standing, after.erased_at) == (Contact(), "", "issued", stamp(desk.time))
    event = desk.quoting.history(quote.id)[-1]
    assert (event.kind, event.by, event.data) == ("contact-erased", BY_TIME, {"because": "time"})
    desk.forward(days=1000)
    assert erase_due(desk) == 0


@pytest.mark.parametrize("decision", ["declined", "withdrawn"])
def test_what_happened_last_counts_where_it_is_later(desk: Desk, decision: str):
    """Declined or withdrawn a day after the quote was over: a day longer."""
    quote = a_customers_quote(desk, "Quillfeather")
    desk.time = dt.datetime.fromisoformat(quote.expires_at) + dt.timedelta(days=1)
    desk.decide(quote, decision)
    desk.forward(days=KEEP, seconds=-1)
    assert erase_due(desk) == 0
    desk.forward(seconds=1)
    assert erase_due(desk) == 1


def test_what_somebody_agreed_to_is_never_erased_by_time(desk: Desk):
    """Nor the enquiry that it was made of, until somebody asks."""
    quote = desk.decide(a_customers_quote(desk, "Quillfeather"), "accepted")
    an_enquiry(desk, "Quillfeather", quote=quote)
    desk.forward(days=10_000)
    assert erase_due(desk) == 0
    assert desk.quoting.get(quote.id) == quote


def test_an_enquiry_without_a_quote_is_erased_so_many_days_after_it_came(desk: Desk):
    """One that became a quote goes with the quote."""
    quote = a_customers_quote(desk, "Quillfeather")
    an_enquiry(desk, "Umbrage", 1)
    an_enquiry(desk, "Quillfeather", 2, quote)
    desk.forward(days=KEEP, microseconds=-1)
    assert erase_due(desk) == 0
    desk.forward(microseconds=1)
    assert erase_due(desk) == 1
    assert _erased(desk) == [True, False]
    desk.time = kept_until(quote)
    assert erase_due(desk) == 1
    assert _erased(desk) == [True, True]


def _erased(desk: Desk) -> list[bool]:
    return [row["erased_at"] is not None for row in desk.store.rows("select erased_at from enquiries order by id")]


def test_what_comes_after_an_erasure_is_kept_as_long_again(desk: Desk):
    """A customer who comes back leaves their name anew."""
    quote = a_customers_quote(desk, "Quillfeather")
    desk.time = kept_until(quote)
    erase_due(desk)
    desk.quoting.change_contact(desk.quoting.get(quote.id), a_contact("Quillfeather"), "desk")
    desk.forward(days=KEEP, seconds=-1)
    assert erase_due(desk) == 0
    desk.forward(seconds=1)
    assert erase_due(desk) == 1


def test_many_are_erased_in_small_batches(desk: Desk):
    """Between two of them others write, and whoever changes a quote meanwhile keeps it."""
    quotes = [a_customers_quote(desk, "Quillfeather") for _ in range(45)]
    desk.time = kept_until(quotes[-1])
    batches = customers_of(desk).erase_due(KEEP)
    first = next(batches)
    saved = next(each for each in quotes if desk.quoting.get(each.id).erased_at is None)
    desk.quoting.change_contact(saved, a_contact("Umbrage"), "desk")
    assert (first, sum(batches)) == (20, 24)
    assert desk.quoting.get(saved.id).contact == a_contact("Umbrage")
