"""Measures in the background what drafts do. A loop that takes one measurement at a time, and stops between two."""

import datetime as dt
import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from quoter.background.effect_files import files_of, result_of
from quoter.books.compile import compiled
from quoter.books.effect import jobs_effect, list_effect
from quoter.problems import Problem
from quoter.records.rates import EffectRun
from quoter.service.clock import stamp, today
from quoter.service.rates.effects import Effects

SILENCE = dt.timedelta(seconds=20)
"""After which a measurement that somebody else was doing is begun again: they have stopped."""

TOLD_EVERY = dt.timedelta(seconds=0.5)
LOOKS_EVERY_SECONDS = 5.0

log = logging.getLogger(__name__)


class Ended(Exception):
    """The measurement was cancelled or taken over, or the service stops."""


@dataclass(slots=True)
class Background:
    """A thread that measures what is asked for. `wake` lets it look at once."""

    effects: Effects
    _woken: threading.Event = field(default_factory=threading.Event)
    _stopped: threading.Event = field(default_factory=threading.Event)

    @contextmanager
    def at_work(self) -> Iterator[None]:
        """Does what is asked for, until the end. What it is measuring then is begun again at the next start."""
        thread = threading.Thread(target=self._run, name="effects", daemon=True)
        thread.start()
        try:
            yield
        finally:
            self._stopped.set()
            self._woken.set()
            thread.join()

    def wake(self) -> None:
        """Says that there is something to do."""
        self._woken.set()

    def _run(self) -> None:
        while not self._stopped.is_set():
            self._woken.clear()
            try:
                busy = self.measure_next()
            except Exception:
                log.exception("a measurement could not be taken on")
                busy = False
            if not busy:
                self._woken.wait(LOOKS_EVERY_SECONDS)

    def measure_next(self) -> bool:
        """Takes the next measurement and does it. False where there is none."""
        moment = self.effects.now()
        run = self.effects.runs.claim(stamp(moment), stamp(moment - SILENCE))
        if run is None:
            return False
        try:
            self._measure(run)
        except Ended:
            pass
        except Problem as problem:
            self._fail(run, str(problem))
        except Exception:
            log.exception("the effect %s could not be measured", run.id)
            self._fail(run, "the service failed at this; what went wrong has been logged")
        return True

    def _measure(self, run: EffectRun) -> None:
        old = self.effects.rates.shelf.version(run.code, run.old_version)
        new = compiled(self.effects.new_text(run))
        quotes, issued = self.effects.issued(run)
        watched = _Watched(self, run, quotes)
        prices = list_effect(old, new, today(self.effects.now(), new.shop.timezone), watched.prices)
        jobs = jobs_effect(issued, quotes, new, watched.quotes)
        total = len(prices.entries) + quotes
        done = replace(run, state="done", done=total, total=total, touched_at=self.now())
        self.effects.runs.end(done, result_of(prices, jobs), files_of(prices, jobs, new))

    def _fail(self, run: EffectRun, detail: str) -> None:
        self.effects.runs.end(replace(run, state="failed", detail=detail, touched_at=self.now()), {}, ())

    def now(self) -> str:
        """The time as it is kept."""
        return stamp(self.effects.now())

    @property
    def is_stopping(self) -> bool:
        """Whether the service is about to end."""
        return self._stopped.is_set()


class _Watched:
    """Tells the store now and then how far it is, and learns from it whether anybody still wants to know."""

    def __init__(self, background: Background, run: EffectRun, quotes: int) -> None:
        self._background, self._run, self._all_quotes = background, run, quotes
        self._entries = 0
        self._told = background.effects.now() - TOLD_EVERY

    def prices(self, done: int, total: int) -> None:
        """While the price list is measured; the quotes are still to come."""
        self._entries = total
        self._tell(done, total + self._all_quotes)

    def quotes(self, done: int, total: int) -> None:
        """While quotes are priced again; the price list is done."""
        self._tell(self._entries + done, self._entries + total)

    def _tell(self, done: int, total: int) -> None:
        moment = self._background.effects.now()
        if self._background.is_stopping:
            raise Ended
        if moment - self._told >= TOLD_EVERY:
            self._told = moment
            if not self._background.effects.runs.touch(self._run.id, done, total, stamp(moment)):
                raise Ended
