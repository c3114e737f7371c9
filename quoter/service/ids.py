"""Ids that sort by time."""

import datetime as dt
import secrets
from uuid import UUID


def time_ordered_id(now: dt.datetime) -> str:
    """A UUID of version 7 (RFC 9562, section 5.7): 48 bits of milliseconds, then randomness."""
    milliseconds = int(now.timestamp() * 1000)
    value = (milliseconds & (2**48 - 1)) << 80 | secrets.randbits(80)
    value = value & ~(0xF << 76) | 0x7 << 76
    value = value & ~(0x3 << 62) | 0x2 << 62
    return str(UUID(int=value))
