"""The time, as use cases take it: handed in, never fetched."""

import datetime as dt
from collections.abc import Callable
from zoneinfo import ZoneInfo

Clock = Callable[[], dt.datetime]


def utc_now() -> dt.datetime:
    """The time of this machine."""
    return dt.datetime.now(dt.UTC)


def stamp(moment: dt.datetime) -> str:
    """UTC text of one width, RFC 3339, so that text order is time order."""
    return moment.astimezone(dt.UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def today(moment: dt.datetime, timezone: str) -> dt.date:
    """Which day it is where the shop is."""
    return moment.astimezone(ZoneInfo(timezone)).date()


def end_of(day: dt.date, timezone: str) -> dt.datetime:
    """The first moment after a day where the shop is."""
    return dt.datetime.combine(day + dt.timedelta(days=1), dt.time(), ZoneInfo(timezone)).astimezone(dt.UTC)
