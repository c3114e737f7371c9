"""Sends in the background what is announced: a thread that hands out what is due, and a few that send it.

Whatever is known about a delivery stands in the store, so a service that stops, or is stopped, goes on where it was.
"""

import datetime as dt
import logging
import queue
import random
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from quoter.background.sending import SECONDS_IN_ALL, Sender
from quoter.records.webhooks import Claim, Outcome
from quoter.service.clock import Clock, stamp
from quoter.service.ports import Deliveries
from quoter.service.webhooks.announcing import Announcing
from quoter.service.webhooks.retries import pause
from quoter.service.webhooks.webhooks import MOST_WEBHOOKS

LEASE = dt.timedelta(seconds=3 * SECONDS_IN_ALL)
"""After which a delivery that a process had taken on is free again: that process has stopped."""

LOOKS_EVERY_SECONDS = 1.0
TIDIES_EVERY_SECONDS = 3600.0
SECONDS_TO_FINISH = 3.0
"""For attempts that are under way when the service stops. One that takes longer is made again after the next start."""

KEPT_DELIVERED, KEPT_DEAD = dt.timedelta(days=30), dt.timedelta(days=180)

GONE = "the receiver answered 410 Gone: it wants nothing any more"

log = logging.getLogger(__name__)


@dataclass(slots=True)
class Deliverer:
    """Announces what the clock brings about, and delivers. `chance` gives numbers from 0 to 1."""

    deliveries: Deliveries
    announcing: Announcing
    sender: Sender
    now: Clock
    chance: Callable[[], float] = random.random
    _stopped: threading.Event = field(default_factory=threading.Event)
    _woken: threading.Event = field(default_factory=threading.Event)
    _given_up: threading.Event = field(default_factory=threading.Event)
    _free: threading.Semaphore = field(default_factory=lambda: threading.Semaphore(MOST_WEBHOOKS))
    _taken: "queue.SimpleQueue[Claim | None]" = field(default_factory=queue.SimpleQueue)

    @contextmanager
    def at_work(self) -> Iterator[None]:
        """Delivers until the end."""
        workers = [threading.Thread(target=self._work, daemon=True) for _ in range(MOST_WEBHOOKS)]
        giver = threading.Thread(target=self._give_out, name="deliveries", daemon=True)
        for thread in (*workers, giver):
            thread.start()
        try:
            yield
        finally:
            self._stop(giver, workers)

    def _stop(self, giver: threading.Thread, workers: list[threading.Thread]) -> None:
        self._stopped.set()
        self._woken.set()
        giver.join()
        until = time.monotonic() + SECONDS_TO_FINISH
        for _ in workers:
            self._taken.put(None)
        for worker in workers:
            worker.join(max(0.0, until - time.monotonic()))
        self._given_up.set()

    def _give_out(self) -> None:
        """Hands what is due to whoever is free."""
        tidy_at = time.monotonic()
        while not self._stopped.is_set():
            self._woken.clear()
            try:
                self.look_at_the_clock()
                if time.monotonic() >= tidy_at:
                    self.tidy()
                    tidy_at = time.monotonic() + TIDIES_EVERY_SECONDS
                while not self._stopped.is_set() and self._give_one():
                    pass
            except Exception:
                log.exception("what is due could not be handed out")
            self._woken.wait(LOOKS_EVERY_SECONDS)

    def _give_one(self) -> bool:
        """Hands out the next one, as soon as somebody is free. False where there is none."""
        if not self._free.acquire(timeout=LOOKS_EVERY_SECONDS):
            return True
        claim = None
        try:
            claim = self.claim()
        finally:
            if claim is None:
                self._free.release()
        if claim is not None:
            self._taken.put(claim)
        return claim is not None

    def _work(self) -> None:
        while (claim := self._taken.get()) is not None:
            try:
                self.deliver(claim)
            except Exception:
                log.exception("delivery %d could not be attempted", claim.delivery.place)
            finally:
                self._free.release()
                self._woken.set()  # the next one to the same webhook has waited for this

    def look_at_the_clock(self) -> None:
        """Announces the quotes that have expired."""
        while not self._stopped.is_set() and self.announcing.tell_expired():
            pass

    def tidy(self) -> None:
        """Forgets what was delivered, or given up, long ago."""
        moment = self.now()
        self.deliveries.forget(stamp(moment - KEPT_DELIVERED), stamp(moment - KEPT_DEAD))

    def claim(self) -> Claim | None:
        """The next one to attempt."""
        moment = self.now()
        return self.deliveries.claim(stamp(moment), stamp(moment + LEASE))

    def deliver(self, claim: Claim) -> None:
        """Attempts a delivery and keeps what came of it."""
        outcome = self._attempted(claim)
        if not self._given_up.is_set():
            self._keep(claim, outcome)

    def _attempted(self, claim: Claim) -> Outcome:
        """What came of it; also what nobody has thought of is an attempt, or it would be made again for ever."""
        try:
            return self.sender.attempt(claim, self.now())
        except Exception:
            log.exception("delivery %d broke while it was attempted", claim.delivery.place)
            return Outcome(detail="it broke while it was sent; the log of the service says how")

    def deliver_next(self) -> bool:
        """Takes the next one and attempts it. False where there is none."""
        claim = self.claim()
        if claim is not None:
            self.deliver(claim)
        return claim is not None

    def _keep(self, claim: Claim, outcome: Outcome) -> None:
        moment = self.now()
        now = stamp(moment)
        if outcome.is_success:
            self.deliveries.done(claim, outcome, now)
        elif outcome.is_goodbye:
            self.deliveries.pause(claim, outcome, now, GONE)
        else:
            wait = pause(claim.delivery.attempts + 1, self.chance(), outcome.wait_seconds)
            self.deliveries.put_off(claim, outcome, now, None if wait is None else stamp(moment + wait))
