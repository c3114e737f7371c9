"""A book that is packed and unpacked is the same book."""

import datetime as dt
from pathlib import Path
from types import MappingProxyType

import pytest

from quoter.book import RateBook
from quoter.books.compile import open_book
from quoter.books.packed import packed, unpacked
from quoter.engine.compose import quote_for
from quoter.engine.price_list import price_list
from quoter.job import Job, Repair

RATES = Path(__file__).parents[2] / "rates"
FOLDERS = sorted(path.parent for path in RATES.glob("*/book.toml"))


@pytest.fixture(params=FOLDERS, ids=lambda folder: folder.name)
def book(request: pytest.FixtureRequest) -> RateBook:
    """Each of the demo books."""
    return open_book(request.param)


def test_everything_comes_back_in_its_order(book: RateBook):
    """Every field but the memory; the order of a mapping is the owner's order of preference."""
    again = unpacked(packed(book))
    for name in RateBook.__slots__:
        before, after = getattr(book, name), getattr(again, name)
        if name != "memory":
            assert after == before
            assert list(after) == list(before) if isinstance(before, MappingProxyType) else True


def test_it_cannot_be_changed_afterwards_either(book: RateBook):
    """What is a read-only mapping stays one, also within another."""
    again = unpacked(packed(book))
    mappings = [name for name in RateBook.__slots__ if isinstance(getattr(book, name), MappingProxyType)]
    assert all(isinstance(getattr(again, name), MappingProxyType) for name in mappings)
    assert all(isinstance(repairs, MappingProxyType) for repairs in again.offered.values())


def test_it_prices_alike(book: RateBook):
    """Every entry of the price list, and a whole quote with all its derivations."""
    again, day = unpacked(packed(book)), dt.date(2026, 3, 2)
    assert list(price_list(again, day)) == list(price_list(book, day))
    device, procedure = next(iter(book.offers))
    job = Job(
        device=device,
        repairs=(Repair(procedure),),
        date=day,
        parts={},
        findings=(),
        customer_kind="consumer",
        urgency="standard",
        discount=None,
        payment="other",
        locale="en",
    )
    assert quote_for(job, again) == quote_for(job, book)
