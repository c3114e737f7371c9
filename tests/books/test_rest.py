"""The garbage collector rests while a book is read, and is at work again afterwards."""

import gc
from collections.abc import Iterator

import pytest

from quoter.books.rest import collector_at_rest


@pytest.fixture(autouse=True)
def collector_at_work() -> Iterator[None]:
    """Before each test, and whatever it does, after it."""
    gc.enable()
    yield
    gc.enable()


def test_it_rests_until_the_last_book_is_read():
    """Books may be read by several threads, and by one within another."""
    first, second = collector_at_rest(), collector_at_rest()
    first.__enter__()
    second.__enter__()
    first.__exit__(None, None, None)
    assert not gc.isenabled()
    second.__exit__(None, None, None)
    assert gc.isenabled()


def test_it_works_again_after_a_book_that_cannot_be_read():
    """Whatever goes wrong."""
    with pytest.raises(ZeroDivisionError), collector_at_rest():
        raise ZeroDivisionError
    assert gc.isenabled()


def test_who_has_switched_it_off_finds_it_so():
    """It is not for us to switch it on."""
    gc.disable()
    with collector_at_rest(), collector_at_rest():
        pass
    assert not gc.isenabled()
