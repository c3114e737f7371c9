"""Moments and days: UTC text whose order is the order of time, and the calendar of the shop."""

import datetime as dt

import pytest

from quoter.service.clock import end_of, stamp, today, utc_now

UTC = dt.UTC


def test_the_clock_of_the_machine_is_in_utc():
    """An instant, not a local time."""
    assert utc_now().utcoffset() == dt.timedelta(0)


@pytest.mark.parametrize(
    ("moment", "text"),
    [
        (dt.datetime(2026, 3, 2, 9, 30, tzinfo=UTC), "2026-03-02T09:30:00.000000Z"),
        (dt.datetime(2026, 3, 2, 9, 30, 0, 5, tzinfo=UTC), "2026-03-02T09:30:00.000005Z"),
        (dt.datetime(2026, 3, 2, 0, 30, tzinfo=dt.timezone(dt.timedelta(hours=1))), "2026-03-01T23:30:00.000000Z"),
        (dt.datetime(987, 3, 2, tzinfo=UTC), "0987-03-02T00:00:00.000000Z"),
    ],
)
def test_a_moment_is_text_of_one_width_in_utc(moment: dt.datetime, text: str):
    """RFC 3339, with the microseconds even where there are none."""
    assert stamp(moment) == text


@pytest.mark.parametrize(
    ("zone", "day"),
    [
        ("UTC", "2026-03-02"),
        ("Europe/Dublin", "2026-03-02"),
        ("Asia/Tokyo", "2026-03-03"),
        ("Pacific/Apia", "2026-03-03"),
    ],
)
def test_which_day_it_is_depends_on_the_place(zone: str, day: str):
    """At 15:00 UTC it is tomorrow in Tokyo."""
    assert today(dt.datetime(2026, 3, 2, 15, tzinfo=UTC), zone).isoformat() == day


@pytest.mark.parametrize(
    ("day", "zone", "end"),
    [
        ("2026-03-02", "UTC", "2026-03-03T00:00:00.000000Z"),
        ("2026-03-02", "America/Chicago", "2026-03-03T06:00:00.000000Z"),
        ("2026-12-31", "Asia/Tokyo", "2026-12-31T15:00:00.000000Z"),
        ("2026-03-28", "Europe/Dublin", "2026-03-29T00:00:00.000000Z"),  # the clock goes forward an hour later
        ("2026-03-29", "Europe/Dublin", "2026-03-29T23:00:00.000000Z"),
        ("2026-09-05", "America/Santiago", "2026-09-06T04:00:00.000000Z"),  # that midnight is skipped
    ],
)
def test_a_day_ends_when_the_next_begins_where_the_shop_is(day: str, zone: str, end: str):
    """Also when the clock is changed."""
    assert stamp(end_of(dt.date.fromisoformat(day), zone)) == end
