"""Ids that sort by time, and links that nobody guesses."""

import datetime as dt
import re
import secrets
from uuid import UUID

EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)
MICROSECOND = dt.timedelta(microseconds=1)

_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")


def time_ordered_id(now: dt.datetime) -> str:
    """A UUID of version 7 (RFC 9562, sections 5.7 and 6.2, method 3): milliseconds, their fraction, then randomness."""
    milliseconds, microseconds = divmod((now - EPOCH) // MICROSECOND, 1000)
    fraction = microseconds * 4096 // 1000
    return str(UUID(int=milliseconds << 80 | 0x7 << 76 | fraction << 64 | 0b10 << 62 | secrets.randbits(62)))


def new_link() -> str:
    """What a customer's link ends with: 32 random bytes, URL-safe, which nobody guesses."""
    return secrets.token_urlsafe(32)


def is_id(text: str) -> bool:
    """Could `time_ordered_id` have made this?"""
    return _ID.fullmatch(text) is not None
