"""The effect of a change on every price and on issued jobs. Expected figures are worked by hand beside each test."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import astuple
from decimal import Context, Decimal, localcontext
from typing import Any

import pytest
from builders import PORT, STEPS, TODAY, a_book, a_job, a_part, a_row
from engine.cases import outcome
from engine.random_books import Priced, book_of, priced, tables
from hypothesis import given
from hypothesis import strategies as st

from quoter.book import RateBook
from quoter.books.effect import (
    EVERY,
    CurrenciesDiffer,
    IssuedJob,
    JobsEffect,
    ListEffect,
    differences_of,
    entries_of,
    jobs_effect,
    list_effect,
    margins_of,
)
from quoter.books.effect_rows import NotPriced, Side
from quoter.books.effect_summary import CHANGES
from quoter.engine.earnings import Earning, earning_of
from quoter.engine.price_list import price_list
from quoter.problems import JobRefused
from quoter.quote import Quote

DEARER = [a_row("easy", hourly_rate=33), a_row("usual", hourly_rate=66), a_row("hard", hourly_rate=99)]
"""Labour at 10 % more; the cost of an hour is 24.00 for all, as it was for the usual work."""

FLOOR = {"policy.minimum_margin": "0.25"}


def counts(effect: ListEffect | JobsEffect) -> dict[str, int]:
    """The counts that are not zero."""
    found = zip(CHANGES, astuple(effect.summary.counts), strict=True)
    return {word: count for word, count in found if count}


def words(effect: ListEffect) -> dict[tuple[str, str | None], str]:
    """What happened to each entry of the one device, in their order."""
    return {(each.procedure, each.grade): each.change.word for each in effect.entries}


def figures(side: Side) -> tuple[str, str, str, str]:
    """Net, gross, cost and margin as text. Fails where there is no price."""
    assert isinstance(side, Earning)
    return str(side.net), str(side.gross), str(side.cost), str(side.margin)


def reason(side: Side) -> str:
    """Why there is no price. Fails where there is one."""
    assert isinstance(side, NotPriced)
    return side.reason


def issued(book: RateBook, number: int = 1, currency: str = "EUR", **job: Any) -> IssuedJob:
    """A job as the book prices it; `a_job` explains what is given."""
    asked = a_job(**job)
    return IssuedJob(f"id-{number}", f"2026-{number:05d}", currency, asked, earning_of(asked, book))


# the price list


@pytest.fixture(scope="module")
def dearer() -> ListEffect:
    """The small book with a floor of 25 %, and the same with labour at 10 % more."""
    return list_effect(a_book(settings=FLOOR), a_book(settings=FLOOR, difficulty=DEARER), TODAY)


@pytest.mark.parametrize(
    ("entry", "old", "new", "net_difference", "difference", "relative"),
    [
        # 5 + 10 + 3 = 18 min: 18.00 → 19.80 of labour, with the cell of 30.00; cost 30 + 18 × 24 ÷ 60 = 37.20
        # margins 10.8 ÷ 48 and 12.6 ÷ 49.8; 2.16 ÷ 57.60
        (
            ("battery", "genuine"),
            ("48.00", "57.60", "37.200000", "0.225000"),
            ("49.80", "59.76", "37.200000", "0.253012"),
            *("1.80", "2.16", "0.037500"),
        ),
        # 5 + 20 + 3 = 28 min: 28.00 → 30.80, with the port of 8.00; cost 8 + 11.20
        # margins 16.8 ÷ 36 and 19.6 ÷ 38.8; 3.36 ÷ 43.20
        (
            ("port", "genuine"),
            ("36.00", "43.20", "19.200000", "0.466667"),
            ("38.80", "46.56", "19.200000", "0.505155"),
            *("2.80", "3.36", "0.077778"),
        ),
        # 5 + 7 = 12 min: 12.00 → 13.20; cost 4.80; margins 7.2 ÷ 12 and 8.4 ÷ 13.2; 1.44 ÷ 14.40
        (
            ("clean", None),
            ("12.00", "14.40", "4.800000", "0.600000"),
            ("13.20", "15.84", "4.800000", "0.636364"),
            *("1.20", "1.44", "0.100000"),
        ),
    ],
)
def test_ten_per_cent_on_labour_by_hand(
    dearer: ListEffect,
    entry: tuple[str, str | None],
    old: tuple[str, ...],
    new: tuple[str, ...],
    net_difference: str,
    difference: str,
    relative: str,
):
    """Every figure of each entry."""
    (change,) = (each.change for each in dearer.entries if (each.procedure, each.grade) == entry)
    assert (figures(change.old), figures(change.new)) == (old, new)
    assert (str(change.net_difference), str(change.difference)) == (net_difference, difference)
    assert (str(change.relative), change.word) == (relative, "up")


def test_ten_per_cent_on_labour_in_sum(dearer: ListEffect):
    """Of three differences the middle one is the median; the battery alone was below the floor of 25 %."""
    summary = dearer.summary
    assert counts(dearer) == {"up": 3}
    assert summary.difference
    assert list(map(str, astuple(summary.difference))) == ["1.44", "2.16", "3.36"]
    assert summary.relative
    assert list(map(str, astuple(summary.relative))) == ["0.037500", "0.077778", "0.100000"]
    assert (summary.before.below_floor, summary.after.below_floor) == (1, 0)
    assert summary.before.spread
    assert list(map(str, astuple(summary.before.spread))) == ["0.225000", "0.466667", "0.600000"]
    assert [each.change.old.below_floor for each in dearer.entries] == [True, False, False]  # type: ignore[union-attr]
    assert summary.after.floor == Decimal("0.25")


def test_what_a_picture_is_made_of(dearer: ListEffect):
    """In the order of the list."""
    assert list(map(str, differences_of(dearer))) == ["2.16", "3.36", "1.44"]
    before, after = margins_of(dearer)
    assert list(map(str, before)) == ["0.225000", "0.466667", "0.600000"]
    assert list(map(str, after)) == ["0.253012", "0.505155", "0.636364"]


def test_a_book_against_itself_changes_nothing():
    """Not even by a cent, and not the floor either."""
    book = a_book(settings=FLOOR)
    effect = list_effect(book, book, TODAY)
    assert counts(effect) == {"same": 3}
    assert {each.change.difference for each in effect.entries} == {Decimal(0)}
    assert all(each.change.old == each.change.new for each in effect.entries)
    assert effect.summary.before == effect.summary.after


def test_up_and_down_are_said_of_the_gross():
    """Less tax on dearer labour: 12.00 × 1.2 = 14.40 becomes 13.20 × 1.05 = 13.86. A net may rise and a price fall."""
    effect = list_effect(a_book(), a_book(difficulty=DEARER, tax={"rates": {"std": "0.05"}}), TODAY)
    (cleaning,) = (each.change for each in effect.entries if each.procedure == "clean")
    assert (cleaning.word, str(cleaning.net_difference), str(cleaning.difference)) == ("down", "1.20", "-0.54")
    assert str(cleaning.relative) == "-0.037500"


def test_a_price_that_was_nothing_has_no_relative_difference():
    """From 0.00 to 1.20, and the mean of no figures is none."""
    menu = [{"procedure": "clean", "net": 0}]
    effect = list_effect(a_book(menu=menu), a_book(menu=[{"procedure": "clean", "net": 1}]), TODAY)
    (cleaning,) = (each.change for each in effect.entries if each.procedure == "clean")
    assert (cleaning.word, str(cleaning.difference), cleaning.relative) == ("up", "1.20", None)
    assert isinstance(cleaning.old, Earning)
    assert cleaning.old.margin is None
    assert (effect.summary.before.priced, len(margins_of(effect)[0])) == (3, 2)


# what is refused, and what comes and goes

TWO_GRADES = [a_part("B1", cost=30), a_part("B2", cost=20, grade="compatible"), PORT]


def test_a_grade_whose_part_is_removed_is_newly_refused():
    """The price list of the new book does not name it any more; its refusal does."""
    effect = list_effect(a_book(parts=TWO_GRADES), a_book(parts=[TWO_GRADES[0], PORT]), TODAY)
    assert counts(effect) == {"same": 3, "newly-refused": 1}
    (change,) = (each.change for each in effect.entries if each.grade == "compatible")
    assert figures(change.old)[0] == "38.00"
    assert "compatible" in reason(change.new)
    assert change.difference is None


def test_a_repair_that_is_done_without_its_last_part_has_a_line_of_its_own():
    """Without a grade: 5 + 3 min where the steps that are left are open and close. The grades are refused."""
    old = a_book(parts=TWO_GRADES)
    without = [{**step, "without_part": "open"} if step["code"] == "fit-battery" else step for step in STEPS]
    effect = list_effect(old, a_book(parts=[PORT], steps=without), TODAY)
    assert words(effect) == {
        ("battery", None): "new",
        ("port", "genuine"): "same",
        ("clean", None): "same",
        ("battery", "genuine"): "newly-refused",
        ("battery", "compatible"): "newly-refused",
    }
    assert figures(effect.entries[0].change.new)[0] == "8.00"


def test_a_repair_that_cannot_do_without_its_last_part_is_newly_refused_alone():
    """A battery for another device keeps the slot known; the slate has none left."""
    devices = [a_row("slate"), a_row("tab")]
    kept = a_part("T1", devices="tab")
    ports = {**PORT, "devices": "slate tab"}
    old = a_book(devices=devices, parts=[a_part("B1", cost=30), kept, ports])
    new = a_book(devices=devices, parts=[kept, ports])
    effect = list_effect(old, new, TODAY)
    assert counts(effect) == {"same": 5, "newly-refused": 1}
    assert counts(list_effect(new, old, TODAY)) == {"same": 5, "newly-possible": 1}
    assert effect.entries[-1].grade == "genuine"
    assert "no battery of grade 'genuine'" in reason(effect.entries[-1].change.new)


def test_a_grade_whose_part_is_added_is_newly_possible():
    """At the place that it has in the new list."""
    effect = list_effect(a_book(), a_book(parts=TWO_GRADES), TODAY)
    assert words(effect) == {
        ("battery", "genuine"): "same",
        ("battery", "compatible"): "newly-possible",
        ("port", "genuine"): "same",
        ("clean", None): "same",
    }
    assert "compatible" in reason(effect.entries[1].change.old)


def test_what_no_longer_is_offered_is_gone_and_what_never_was_is_new():
    """Gone stands at the end. Both have one side only."""
    offers = [{"device": "slate", "procedure": code} for code in ("clean", "port", "battery")]
    effect = list_effect(a_book(offers=offers[:2]), a_book(offers=offers[1:]), TODAY)
    assert words(effect) == {("port", "genuine"): "same", ("battery", "genuine"): "new", ("clean", None): "gone"}
    assert (effect.entries[1].change.old, effect.entries[2].change.new) == (None, None)
    assert counts(effect) == {"same": 1, "gone": 1, "new": 1}


def test_what_was_refused_and_still_is_refused_is_counted_too():
    """Before the tax profile begins nothing has a price."""
    effect = list_effect(a_book(), a_book(difficulty=DEARER), dt.date(1999, 12, 31))
    assert counts(effect) == {"still-refused": 3}
    assert effect.summary.difference is effect.summary.after.spread is None


def test_books_in_two_currencies_have_no_effect():
    """There is no difference between euros and dollars."""
    with pytest.raises(CurrenciesDiffer, match="EUR, the other in USD"):
        list_effect(a_book(), a_book(settings={"currency": "USD"}), TODAY)


# issued jobs


def test_issued_jobs_priced_again_by_hand():
    """A battery (net 48.00, cost 37.20) and two cleanings (12.00 and 4.80 each) as issued: 72.00, cost 46.80.

    With dearer labour 49.80 + 2 × 13.20 = 76.20; the cost stays. Margins 25.2 ÷ 72 and 29.4 ÷ 76.2.
    """
    book = a_book()
    jobs = [issued(book), issued(book, 2, repairs=["clean"]), issued(book, 3, repairs=["clean"])]
    effect = jobs_effect(jobs, 3, a_book(difficulty=DEARER, settings=FLOOR))
    assert counts(effect) == {"up": 3}
    assert [(each.id, each.number, str(each.change.difference)) for each in effect.jobs[:2]] == [
        ("id-1", "2026-00001", "2.16"),
        ("id-2", "2026-00002", "1.44"),
    ]
    assert [str(value) for value in astuple(effect.before)] == ["3", "72.00", "86.40", "46.800000", "0.350000"]
    assert [str(value) for value in astuple(effect.after)] == ["3", "76.20", "91.44", "46.800000", "0.385827"]
    assert effect.issued == effect.before
    assert effect.summary.before.floor is None


def test_a_refused_job_is_in_what_was_issued_and_in_no_comparison():
    """Nobody cleans any more: before and after compare the battery with the battery, 48.00 with 48.00."""
    book = a_book()
    offers = [{"device": "slate", "procedure": code} for code in ("port", "battery")]
    effect = jobs_effect([issued(book, repairs=["clean"]), issued(book)], 2, a_book(offers=offers))
    assert counts(effect) == {"same": 1, "newly-refused": 1}
    assert (str(effect.issued.net), str(effect.before.net), str(effect.after.net)) == ("60.00", "48.00", "48.00")
    assert "not offered" in reason(effect.jobs[0].change.new)


def test_a_job_keeps_its_own_date_and_so_its_tax():
    """12.00 at 10 % until May, at 25 % from then on, whatever today is."""
    rates = {"std": [("VAT", "0.10", "2020-01-01"), ("VAT", "0.25", "2026-05-01")]}
    book, new = a_book(), a_book(tax={"rates": rates})
    days = [dt.date(2026, 4, 30), dt.date(2026, 5, 1)]
    effect = jobs_effect([issued(book, repairs=["clean"], date=day) for day in days], 2, new)
    assert [figures(each.change.new)[1] for each in effect.jobs] == ["13.20", "15.00"]
    assert counts(effect) == {"up": 1, "down": 1}


def test_jobs_in_another_currency_are_left_out():
    """And counted, and in no sum."""
    book = a_book()
    effect = jobs_effect([issued(book), issued(book, 2, currency="USD")], 2, book)
    assert (len(effect.jobs), effect.left_out, effect.issued.jobs) == (1, 1, 1)


def test_no_jobs_have_no_effect():
    """Sums of nothing have no margin."""
    effect = jobs_effect([], 0, a_book())
    assert (counts(effect), effect.after.net, effect.after.margin) == ({}, Decimal(0), None)


# progress, memory, arithmetic


class Cancelled(Exception):
    """What a caller raises to end the work."""


def test_progress_is_told_often_and_at_the_end():
    """Jobs come from an iterator; nobody counts them beforehand."""
    book, told = a_book(), []
    job = issued(book)
    jobs_effect((job for _ in range(2 * EVERY + 1)), 2 * EVERY + 1, book, lambda *figures: told.append(figures))
    total = 2 * EVERY + 1
    assert told == [(0, total), (EVERY, total), (2 * EVERY, total), (total, total)]


def test_what_progress_raises_ends_the_work():
    """Before the next job is asked for."""
    book, asked = a_book(), []

    def jobs() -> Iterator[IssuedJob]:
        for number in range(3 * EVERY):
            asked.append(number)
            yield issued(book)

    def cancel(done: int, total: int) -> None:
        if done >= EVERY:
            raise Cancelled

    with pytest.raises(Cancelled):
        jobs_effect(jobs(), 3 * EVERY, book, cancel)
    assert len(asked) == EVERY + 1
    with pytest.raises(Cancelled):
        list_effect(book, book, TODAY, lambda done, total: cancel(EVERY, total))


def test_the_books_own_memory_is_left_alone():
    """An effect may run beside a service that prices from the same book."""
    old, new = a_book(), a_book(difficulty=DEARER)
    list_effect(old, new, TODAY)
    assert (old.memory.shelves, new.memory.shelves) == ({}, {})


def test_the_callers_arithmetic_changes_nothing_and_is_not_changed():
    """Neither while it is worked out nor when rows are looked at."""
    old, new = a_book(), a_book(difficulty=DEARER)
    expected, expected_jobs = list_effect(old, new, TODAY), jobs_effect([issued(old)], 1, new)
    with localcontext(Context(prec=3)) as context:
        found, found_jobs = list_effect(old, new, TODAY), jobs_effect([issued(old)], 1, new)
        assert list(found.entries) == list(expected.entries)
        assert (found.summary, found_jobs.after) == (expected.summary, expected_jobs.after)
        assert context.prec == 3


# on books that make no sense


@st.composite
def two_books(draw: Any) -> tuple[RateBook, RateBook]:
    """Two random books in one currency."""
    one, other = draw(tables()), draw(tables())
    other["settings"] = {**other["settings"], "currency": one["settings"]["currency"]}
    return book_of(one), book_of(other)


@given(two_books())
def test_the_counts_are_all_entries_of_both_lists(books: tuple[RateBook, RateBook]):
    """Each once; left out are only lines without a grade where the other book has grades, and refusals at that."""
    old, new = books
    effect = list_effect(old, new, TODAY)
    entries = [(each.device, each.procedure, each.grade) for each in effect.entries]
    union = dict.fromkeys((*entries_of(new), *entries_of(old)))
    left_out = [entry for entry in union if entry not in entries]
    assert entries == [entry for entry in union if entry not in left_out]
    assert all(grade is None for _, _, grade in left_out)
    assert effect.summary.counts.total == len(entries)
    for word, count in zip(CHANGES, astuple(effect.summary.counts), strict=True):
        assert count == sum(each.change.word == word for each in effect.entries)


@given(two_books())
def test_both_sides_are_what_the_price_lists_say(books: tuple[RateBook, RateBook]):
    """Gross for gross, refusal for refusal."""
    effect = list_effect(*books, TODAY)
    for place, book in enumerate(books):
        sides = {
            (each.device, each.procedure, each.grade): (each.change.old, each.change.new)[place]
            for each in effect.entries
        }
        for entry in price_list(book, TODAY):
            side = sides.get((entry.device, entry.procedure, entry.grade), NotPriced(str(entry.refused)))
            if entry.totals is None:
                assert side == NotPriced(str(entry.refused))
            else:
                assert isinstance(side, Earning)
                assert (side.net, side.gross) == (entry.totals.net, entry.totals.gross)


ANY_EARNING = Earning(Decimal(2), Decimal(3), Decimal(1), Decimal("0.5"), below_floor=False)


@given(priced())
def test_an_issued_job_becomes_what_its_quote_would_be(drawn: Priced):
    """Net, gross, cost and margin as `quote_for` has them, or its refusal."""
    job = IssuedJob("id", "number", drawn.book.currency.code, drawn.job, ANY_EARNING)
    (found,) = jobs_effect([job], 1, drawn.book).jobs
    assert found.change.old == ANY_EARNING
    expected = outcome(drawn.job, drawn.book)
    if isinstance(expected, Quote):
        totals, economics = expected.totals, expected.economics
        figures_of_quote = (totals.net, totals.gross, economics.cost, economics.margin, economics.below_floor)
        assert found.change.new == Earning(*figures_of_quote)
    else:
        assert reason(found.change.new) == str(JobRefused(expected))
