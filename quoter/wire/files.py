"""How many files the system lets the process open, since every connection is one."""

import sys
from contextlib import suppress

if sys.platform != "win32":
    import resource

MOST_RESERVED, SHARE_RESERVED = 1_000, 4
"""Files for everything but connections (bodies that are large, the database, what is printed): so many, or one of so
many where the system gives few."""

UNKNOWN_LIMIT = 512
"""Sockets that Windows can wait for at once, as Python is built there."""


def room_for(connections: int) -> int:
    """How many connections there can be of those that are wished for; asks the system for as many files as it takes."""
    files = _files_for(connections + MOST_RESERVED)
    return min(connections, files - min(MOST_RESERVED, files // SHARE_RESERVED))


def _files_for(wanted: int) -> int:
    """Raises what the system lets the process have, as far as it may be raised without anybody's leave."""
    if sys.platform == "win32":
        return UNKNOWN_LIMIT
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    if _is_enough(soft, wanted):
        return wanted
    allowed = wanted if _is_enough(hard, wanted) else hard
    with suppress(ValueError, OSError):  # macOS has another limit, below what it says here
        resource.setrlimit(resource.RLIMIT_NOFILE, (allowed, hard))
    return min(wanted, resource.getrlimit(resource.RLIMIT_NOFILE)[0])


def _is_enough(limit: int, wanted: int) -> bool:
    return limit in (-1, resource.RLIM_INFINITY) or limit >= wanted
