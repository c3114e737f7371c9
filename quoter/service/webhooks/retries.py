"""When an announcement that did not arrive is sent again. Without effects: chance is handed in."""

import datetime as dt

PAUSES_SECONDS = (5, 30, 2 * 60, 10 * 60, 30 * 60, 2 * 3600, 6 * 3600, 12 * 3600, 24 * 3600)
"""After the first attempt, the second, …: about two days in all. Then it is dead."""

MOST_ATTEMPTS = len(PAUSES_SECONDS) + 1

JITTER = 0.2
"""Share by which a pause is shorter or longer, so that what failed together does not come back together."""

LONGEST_WAIT_SECONDS = 24 * 3600
"""The most that a receiver can ask to be left alone for."""


def pause(attempts: int, chance: float, wait_seconds: int = 0) -> dt.timedelta | None:
    """How long to wait after so many attempts; None after the last. `chance` is from 0 to 1.

    A receiver that asked for a longer pause gets it, up to a day.
    """
    if attempts >= MOST_ATTEMPTS:
        return None
    own = PAUSES_SECONDS[attempts - 1] * (1 + JITTER * (2 * chance - 1))
    return dt.timedelta(seconds=max(own, min(wait_seconds, LONGEST_WAIT_SECONDS)))
