"""Pauses between attempts: they grow, vary within their bounds, and end."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoter.service.webhooks.retries import JITTER, LONGEST_WAIT_SECONDS, MOST_ATTEMPTS, PAUSES_SECONDS, pause

CHANCE = st.floats(0, 1)
ATTEMPTS = st.integers(1, len(PAUSES_SECONDS))


def test_the_pauses_come_to_about_two_days():
    """As docs/webhooks.md says: 5 s, 30 s, 2, 10 and 30 min, 2, 6, 12 and 24 h."""
    assert sum(PAUSES_SECONDS) == 5 + 30 + 120 + 600 + 1800 + 7200 + 21600 + 43200 + 86400
    assert 1.8 < sum(PAUSES_SECONDS) / 86400 < 2
    assert MOST_ATTEMPTS == 10


@given(attempts=ATTEMPTS, chance=CHANCE)
def test_a_pause_is_within_a_fifth_of_its_own(attempts: int, chance: float):
    """Both ends are reached."""
    own = PAUSES_SECONDS[attempts - 1]
    assert own * (1 - JITTER) <= pause(attempts, chance).total_seconds() + 1e-6
    assert pause(attempts, chance).total_seconds() <= own * (1 + JITTER) + 1e-6
    assert pause(attempts, 0).total_seconds() == pytest.approx(own * 0.8)
    assert pause(attempts, 1).total_seconds() == pytest.approx(own * 1.2)


@given(attempts=st.integers(1, len(PAUSES_SECONDS) - 1), chance=CHANCE, other=CHANCE)
def test_the_next_pause_is_longer_whatever_chance_says(attempts: int, chance: float, other: float):
    """The longest of one is shorter than the shortest of the next."""
    assert pause(attempts, chance) < pause(attempts + 1, other)


@given(attempts=ATTEMPTS, chance=CHANCE, asked=st.integers(0, 10**9))
def test_what_a_receiver_asks_for_only_lengthens_and_only_to_a_day(attempts: int, chance: float, asked: int):
    """Retry-After (RFC 9110, section 10.2.3)."""
    own, found = pause(attempts, chance), pause(attempts, chance, asked)
    assert found >= own
    assert found == max(own, dt.timedelta(seconds=min(asked, LONGEST_WAIT_SECONDS)))


@given(attempts=st.integers(MOST_ATTEMPTS, 1000), chance=CHANCE, asked=st.integers(0, 10**6))
def test_after_the_last_attempt_there_is_none(attempts: int, chance: float, asked: int):
    """Also where the receiver asked to wait."""
    assert pause(attempts, chance, asked) is None
