"""How often somebody may ask: a bucket of tokens for each, kept in memory."""

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

from quoter.service.access.networks import network_of

NANOSECONDS = 1_000_000_000
MINUTE_SECONDS = 60
MOST_BUCKETS = 20_000
"""Of one kind; those that were not asked for longest are forgotten first."""

Ticks = Callable[[], int]
"""Nanoseconds that never go back, such as time.monotonic_ns."""


@dataclass(frozen=True, slots=True)
class Policy:
    """So many at once, and as many again in each window; `name` is what callers know it by."""

    name: str
    quota: int
    window_seconds: int = MINUTE_SECONDS

    @property
    def interval(self) -> int:
        """Nanoseconds until one more may come, rounded so that it is never too early."""
        return -(-self.window_seconds * NANOSECONDS // self.quota)


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether it may be done, how many more may be, and after how many seconds there is one more than that."""

    policy: Policy
    is_allowed: bool
    remaining: int
    more_after_seconds: int


class Buckets:
    """One bucket for each name. Of a bucket only the moment is kept when it will be full, so that sums are exact."""

    def __init__(self, policy: Policy, ticks: Ticks, most: int = MOST_BUCKETS) -> None:
        self.policy = policy
        self._ticks, self._most = ticks, most
        self._full_at: OrderedDict[str, int] = OrderedDict()
        self._lock = threading.Lock()

    def __len__(self) -> int:
        return len(self._full_at)

    def spend(self, name: str, how_many: int = 1) -> Standing:
        """Takes so many, where there are so many."""
        with self._lock:
            now = self._ticks()
            full_at = max(self._full_at.get(name, now), now)
            after = full_at + self.policy.interval * how_many
            is_allowed = self._remaining(after, now) >= 0
            if is_allowed:
                self._keep(name, after)
            return self._standing(after if is_allowed else full_at, now, is_allowed)

    def standing(self, name: str) -> Standing:
        """Whether one could be taken; takes none."""
        with self._lock:
            now = self._ticks()
            full_at = max(self._full_at.get(name, now), now)
            return self._standing(full_at, now, self._remaining(full_at, now) >= 1)

    def _remaining(self, full_at: int, now: int) -> int:
        return self.policy.quota - -(-(full_at - now) // self.policy.interval)

    def _standing(self, full_at: int, now: int, is_allowed: bool) -> Standing:
        remaining = self._remaining(full_at, now)
        more_at = full_at - (self.policy.quota - remaining - 1) * self.policy.interval
        return Standing(self.policy, is_allowed, remaining, max(-(-(more_at - now) // NANOSECONDS), 1))

    def _keep(self, name: str, full_at: int) -> None:
        self._full_at[name] = full_at
        self._full_at.move_to_end(name)
        while len(self._full_at) > self._most:
            self._full_at.popitem(last=False)


@dataclass(frozen=True, slots=True)
class Limits:
    """What is limited: the web form by visitor and by key, and guesses at keys by where they come from."""

    form_by_address: Buckets
    form_by_key: Buckets
    wrong_keys: Buckets

    def form(self, key_id: str, address: str, how_many: int = 1) -> tuple[Standing, ...]:
        """What a visitor of the web form asks: how it stands by each policy. Refused where the last one is not
        allowed; a visitor who asks too much takes nothing from the key's other visitors."""
        by_address = self.form_by_address.spend(network_of(address), how_many)
        return (by_address, self.form_by_key.spend(key_id, how_many)) if by_address.is_allowed else (by_address,)

    def wrong(self, address: str) -> Standing:
        """A key that does not count came from there: whether it may be told so, or has to wait.

        Keys that count are never asked about: who guesses locks nobody out, not even in their own network.
        """
        return self.wrong_keys.spend(network_of(address))


def limits(form_per_address: int, form_per_key: int, wrong_keys: int, ticks: Ticks) -> Limits:
    """The limits of a service, each a minute."""
    return Limits(
        form_by_address=Buckets(Policy("form", form_per_address), ticks),
        form_by_key=Buckets(Policy("form-key", form_per_key), ticks),
        wrong_keys=Buckets(Policy("wrong-keys", wrong_keys), ticks),
    )
