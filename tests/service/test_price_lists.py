"""The price list for the web: priced once, kept small, the same as long as the tax rates are."""

import datetime as dt
import threading
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from typing import Any

import pytest
from builders import TODAY, a_book, a_part, a_row

from quoter.book import RateBook
from quoter.engine.price_list import ListEntry, list_entry, price_list
from quoter.problems import NotFound
from quoter.service.rates.price_lists import (
    BATCH,
    Listed,
    NotListed,
    PricedList,
    PriceLists,
    Wanted,
    check_wanted,
    packed,
)

RATES = {"std": [("VAT", "0.20", "2000-01-01"), ("VAT", "0.10", "2027-01-01")]}


def a_list_book(**given: Any) -> RateBook:
    """Two devices; no port fits the tab."""
    return a_book(
        devices=[a_row("slate"), a_row("tab", kind="tablet")],
        offers=[
            {"device": device, "procedure": procedure}
            for device, procedure in (("slate", "clean"), ("slate", "battery"), ("tab", "battery"), ("tab", "port"))
        ],
        parts=[
            a_part("B1", cost=30, devices="slate tab", lead_days=4),
            a_part("B2", cost=12, grade="compatible"),
            a_part("P1", slot="port"),
        ],
        **given,
    )


BOOK = a_list_book(tax={"rates": RATES})
SHOWN = [("slate", "clean", None), ("slate", "battery", "genuine"), ("slate", "battery", "compatible")]
SHOWN += [("tab", "battery", "genuine"), ("tab", "port", None)]


class Till:
    """Prices, and counts."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, str, str | None]] = []

    def __call__(self, device: str, procedure: str, grade: str | None, book: RateBook, date: dt.date) -> ListEntry:
        """The entry."""
        self.asked.append((device, procedure, grade))
        return list_entry(device, procedure, grade, book, date)


def test_every_entry_is_that_of_the_engine():
    """Amounts with their decimals, the days until the part comes, and why there is no price."""
    priced = PricedList(BOOK, TODAY)
    for shown, entry in zip(priced.listed(range(5)), price_list(BOOK, TODAY), strict=True):
        assert (shown.device, shown.procedure, shown.grade) == (entry.device, entry.procedure, entry.grade)
        if isinstance(shown, Listed):
            assert entry.totals is not None
            assert (shown.net, shown.tax, shown.gross) == (entry.totals.net, entry.totals.tax, entry.totals.gross)
            assert str(shown.gross) == str(entry.totals.gross)
        else:
            assert (shown.refused.reason, shown.refused.detail) == (entry.reason, entry.refused)
    assert [each.lead_days for each in priced.listed(range(4)) if isinstance(each, Listed)] == [0, 4, 0, 4]


def test_an_entry_is_priced_when_somebody_wants_it_and_never_again():
    """A page costs what is on it."""
    till = Till()
    priced = PricedList(BOOK, TODAY, till)
    assert (till.asked, priced.priced) == ([], 0)
    list(priced.listed([1, 4]))
    list(priced.listed(range(5)))
    assert till.asked == [SHOWN[1], SHOWN[4], SHOWN[0], SHOWN[2], SHOWN[3]]
    assert priced.priced == 5


def test_many_who_ask_at_once_have_each_entry_priced_once():
    """Whatever their order."""
    till = Till()
    priced = PricedList(BOOK, TODAY, till)
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda turn: list(priced.listed(range(5)))[turn % 5], range(40)))
    assert sorted(map(str, till.asked)) == sorted(map(str, SHOWN))
    assert answers[:5] * 8 == answers


def test_a_small_question_has_its_turn_while_the_whole_list_is_priced():
    """Between two batches: who reads the list holds nothing while they take what they have."""
    codes = [f"d{number}" for number in range(3 * BATCH)]
    fits = " ".join(codes)
    book = a_book(
        devices=[a_row(code) for code in codes],
        offers=[{"device": code, "procedure": "clean"} for code in codes],
        parts=[a_part("B1", devices=fits), a_part("P1", slot="port", devices=fits)],
    )
    priced = PricedList(book, TODAY)
    whole = priced.listed(range(len(priced.entries)))
    next(whole)
    asked: list[Listed | NotListed] = []
    other = threading.Thread(target=lambda: asked.extend(priced.listed([len(priced.entries) - 1])))
    other.start()
    other.join(60)
    assert len(asked) == 1
    assert priced.priced == BATCH + 1


@pytest.mark.parametrize(
    ("wanted", "places"),
    [
        (Wanted(), [0, 1, 2, 3, 4]),
        (Wanted(device="tab"), [3, 4]),
        (Wanted(kind="tablet"), [3, 4]),
        (Wanted(procedure="battery"), [1, 2, 3]),
        (Wanted(grade="compatible"), [2]),
        (Wanted(device="slate", procedure="battery", grade="genuine"), [1]),
        (Wanted(device="slate", kind="tablet"), []),
        (Wanted(words="tab"), [3, 4]),
        (Wanted(words="tab", device="slate"), []),
        (Wanted(device="tab", grade="compatible"), []),
    ],
)
def test_what_is_wanted_is_found(wanted: Wanted, places: list[int]):
    """Every condition must hold."""
    assert list(PricedList(BOOK, TODAY).places(wanted)) == places


@pytest.mark.parametrize(
    ("what", "code", "right"), [("device", "slat", "slate"), ("kind", "tab", "tablet"), ("procedure", "bat", "battery")]
)
def test_a_code_that_does_not_exist_is_not_found(what: str, code: str, right: str):
    """With those that do."""
    with pytest.raises(NotFound) as refused:
        check_wanted(Wanted(**{what: code}), BOOK)
    assert refused.value.where == f"/{what}"
    assert right in refused.value.allowed


def test_a_list_holds_for_all_days_with_the_same_tax_rates():
    """Not for the first day of the next."""
    lists = PriceLists()
    old = lists.of(BOOK, TODAY)
    assert lists.of(BOOK, dt.date(2026, 12, 31)) is old
    new = lists.of(BOOK, dt.date(2027, 1, 1))
    assert new is not old
    assert (old.period.since, old.period.until) == (dt.date(2000, 1, 1), dt.date(2026, 12, 31))
    assert (new.period.since, new.period.until) == (dt.date(2027, 1, 1), None)
    for priced, rate in ((old, "0.20"), (new, "0.10")):
        (battery,) = priced.listed([1])
        assert isinstance(battery, Listed)
        assert battery.tax == battery.net * Decimal(rate)


def test_what_is_kept_of_a_list_does_not_name_the_day():
    """A rate that begins later is missing today and tomorrow alike, in the same words."""
    book = a_list_book(
        tax={"rates": {"std": "0.20", "later": [("VAT", "0.10", "2027-01-01")]}, "lines": {"part": "later"}}
    )
    days = (TODAY, TODAY + dt.timedelta(days=1))
    first, second = ([*PricedList(book, day).listed([1])] for day in days)
    assert first == second
    assert isinstance(first[0], NotListed)
    assert first[0].refused.reason == "no-tax-rate"


def test_a_profile_that_has_not_begun_has_no_first_day():
    """Then every day is like any other until it begins."""
    book = a_list_book(tax={"rates": {"std": [("VAT", "0.20", "2030-01-01")]}})
    priced = PricedList(book, TODAY)
    assert (priced.period.since, priced.period.until) == (None, dt.date(2029, 12, 31))
    assert {each.refused.reason for each in priced.listed(range(5)) if isinstance(each, NotListed)} >= {"no-tax-rate"}


def test_a_packed_answer_comes_out_as_it_went_in():
    """However large; the same answer has the same bytes, packed at whatever time."""
    pieces = [b"price " * 40_000, b"", b"list"]
    answer = packed(pieces)
    assert b"".join(answer.plain()) == b"".join(pieces)
    assert answer.length == len(b"".join(pieces))
    assert answer == packed([b"".join(pieces)])
    assert len(answer.gzip) < answer.length / 100


def test_an_answer_is_made_once():
    """And is then at hand."""
    lists, made = PriceLists(), []

    def pieces() -> list[bytes]:
        made.append(1)
        return [b"list"]

    assert lists.kept_answer("key") is None
    assert lists.answer("key", pieces) is lists.answer("key", pieces)
    assert lists.kept_answer("key") is not None
    assert len(made) == 1
