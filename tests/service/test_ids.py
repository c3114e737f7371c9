"""Ids that sort by time."""

import datetime as dt
from uuid import UUID

import pytest

from quoter.service.ids import is_id, time_ordered_id

NOW = dt.datetime(2022, 2, 22, 19, 22, 22, tzinfo=dt.UTC)


def test_the_time_stands_where_the_standard_says():
    """RFC 9562 appendix A.6: 2022-02-22 14:22:22 in UTC-5 is 017F22E2-79B0-7…"""
    made = time_ordered_id(NOW)
    assert made.startswith("017f22e2-79b0-7")
    assert (UUID(made).version, UUID(made).variant) == (7, "specified in RFC 4122")


def test_a_later_id_is_greater():
    """From one microsecond to the next, as text."""
    moments = [NOW + dt.timedelta(microseconds=each) for each in (0, 1, 2, 999, 1000, 1001, 10**6, 10**9)]
    made = [time_ordered_id(moment) for moment in moments]
    assert made == sorted(made)


def test_two_ids_of_one_moment_differ():
    """62 bits are random."""
    assert len({time_ordered_id(NOW) for _ in range(1000)}) == 1000


@pytest.mark.parametrize(
    "text", ["", "none", "017F22E2-79B0-7CC3-98C4-DC0C0C07398F", "017f22e2-79b0-4cc3-98c4-dc0c0c07398f"]
)
def test_an_id_is_recognised(text: str):
    """By its form; these are none of ours."""
    assert is_id(time_ordered_id(NOW))
    assert not is_id(text)
