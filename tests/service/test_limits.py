"""Buckets of tokens, by a clock that is set: never more than the burst and the rate together, and no less."""

import threading
from concurrent.futures import ThreadPoolExecutor

from hypothesis import given
from hypothesis import strategies as st

from quoter.service.access.limits import MOST_BUCKETS, NANOSECONDS, Buckets, Limits, Policy, limits

SECOND = NANOSECONDS
A, B, C, D = (f"192.0.2.{number}" for number in range(1, 5))


class Ticks:
    """Stands where it is set."""

    now = 0

    def __call__(self) -> int:
        """Nanoseconds."""
        return self.now


POLICIES = st.builds(Policy, st.just("p"), st.integers(1, 5000), st.integers(1, 7200))
STEPS = st.lists(st.integers(0, 30 * SECOND) | st.integers(0, 3), max_size=150)


@given(policy=POLICIES, steps=STEPS, start=st.integers(0, 10**18))
def test_never_more_than_the_burst_and_the_rate(policy: Policy, steps: list[int], start: int):
    """Between any two requests that were let through: quota + time × quota / window, exactly, in whole numbers."""
    ticks = Ticks()
    ticks.now = start
    buckets = Buckets(policy, ticks)
    passed = []
    for step in steps:
        ticks.now += step
        if buckets.spend("a").is_allowed:
            passed.append(ticks.now)
    window = policy.window_seconds * SECOND
    for first, begun in enumerate(passed):
        for count, at in enumerate(passed[first:], 1):
            assert (count - policy.quota) * window <= (at - begun) * policy.quota


@given(policy=POLICIES, steps=STEPS)
def test_what_is_said_is_kept(policy: Policy, steps: list[int]):
    """Who is told that so many remain may ask so often now; who waits as told may ask once more."""
    ticks = Ticks()
    buckets = Buckets(policy, ticks)
    for step in steps:
        ticks.now += step
        told = buckets.spend("a")
        assert 0 <= told.remaining < policy.quota
        assert told.more_after_seconds >= 1
    told = buckets.spend("a")
    assert buckets.standing("a").remaining == told.remaining
    for _ in range(told.remaining):
        assert buckets.spend("a").is_allowed
    refused = buckets.spend("a")
    assert (refused.is_allowed, refused.remaining) == (False, 0)
    ticks.now += refused.more_after_seconds * SECOND
    assert buckets.standing("a").is_allowed
    assert buckets.spend("a").is_allowed


def test_a_minute_at_the_counter():
    """Worked by hand: 60 a minute are 60 at once, then one a second."""
    ticks = Ticks()
    buckets = Buckets(Policy("form", 60), ticks)
    assert [buckets.spend("a").remaining for _ in range(60)] == list(range(59, -1, -1))
    refused = buckets.spend("a")
    assert (refused.is_allowed, refused.more_after_seconds) == (False, 1)
    ticks.now += SECOND - 1
    assert not buckets.spend("a").is_allowed
    ticks.now += 1
    assert buckets.spend("a").is_allowed
    assert not buckets.spend("a").is_allowed
    ticks.now += 60 * SECOND
    assert buckets.spend("a").remaining == 59


def test_who_is_refused_loses_nothing_by_asking():
    """However often they try, they wait no longer."""
    ticks = Ticks()
    buckets = Buckets(Policy("p", 1), ticks)
    buckets.spend("a")
    assert [buckets.spend("a").more_after_seconds for _ in range(50)] == [60] * 50


def test_everybody_has_a_bucket_of_their_own():
    """What one takes, no other lacks."""
    buckets = Buckets(Policy("p", 1), Ticks())
    assert [buckets.spend(name).is_allowed for name in ("a", "b", "a", "b")] == [True, True, False, False]


def test_memory_is_bounded_and_those_who_ask_most_are_remembered():
    """Who was not heard of for longest is forgotten first."""
    buckets = Buckets(Policy("p", 2), Ticks(), most=10)
    buckets.spend("often")
    for number in range(1000):
        buckets.spend(str(number))
        if number == 5:
            buckets.spend("often")
        if number < 12:
            assert buckets.standing("often").is_allowed is (number < 5)
        assert len(buckets) <= 10
    assert MOST_BUCKETS <= 100_000


def test_threads_do_not_take_the_same_token():
    """As many as there are, however many ask at once."""
    buckets, together = Buckets(Policy("p", 100), Ticks()), threading.Barrier(8)

    def take(_: int) -> int:
        together.wait()
        return sum(buckets.spend("a").is_allowed for _ in range(200))

    with ThreadPoolExecutor(8) as pool:
        assert sum(pool.map(take, range(8))) == 100


def a_shop(ticks: Ticks, form: int = 2, key: int = 3, wrong: int = 2) -> Limits:
    """Small limits."""
    return limits(form, key, wrong, ticks)


def test_a_visitor_is_limited_by_address_and_all_of_them_by_key():
    """The tighter one decides, and what one visitor asks in vain is not taken from the others."""
    shop = a_shop(Ticks())
    asked = [shop.form("k", address) for address in (A, A, A, A, B, B, C)]
    assert [standings[-1].is_allowed for standings in asked] == [True, True, False, False, True, False, False]
    assert [standings[-1].policy.name for standings in asked[2:6]] == ["form", "form", "form-key", "form-key"]
    assert shop.form("other", D)[-1].is_allowed


def test_wrong_keys_are_slowed_by_where_they_come_from():
    """After two of them the next waits half a minute; elsewhere nobody does."""
    ticks = Ticks()
    shop = a_shop(ticks)
    told = [shop.wrong(A) for _ in range(4)]
    assert [each.is_allowed for each in told] == [True, True, False, False]
    assert told[-1].more_after_seconds == 30
    assert shop.wrong(B).is_allowed
    ticks.now += 30 * SECOND
    assert [shop.wrong(A).is_allowed for _ in range(2)] == [True, False]
