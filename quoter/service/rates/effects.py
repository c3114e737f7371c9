"""What a draft does to prices and margins: asked for, watched, cancelled. The measuring happens in the background."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from quoter.books.check import flaws
from quoter.books.draft import raw_of
from quoter.books.effect import IssuedJob
from quoter.books.raw import RawBook
from quoter.problems import BookFlawed, NotFound
from quoter.records.rates import EffectFile, EffectRun, QuoteRange
from quoter.service.clock import Clock, stamp
from quoter.service.ids import time_ordered_id
from quoter.service.ports import EffectRuns, Quotes
from quoter.service.rates.rates import Rates


@dataclass(frozen=True, slots=True)
class Effects:
    """Measurements by id. One that a stopped service left behind is begun again by the next."""

    runs: EffectRuns
    quotes: Quotes
    rates: Rates
    now: Clock

    def ask(self, code: str, wanted: QuoteRange, by: str) -> EffectRun:
        """Asks what the draft of a book does, as it is now. Raises BookFlawed: what has faults prices nothing."""
        stored = self.rates.draft(code)
        raw = raw_of(stored.draft)
        found = flaws(raw)
        if found:
            raise BookFlawed(tuple(found))
        moment = self.now()
        run = EffectRun(
            id=time_ordered_id(moment),
            code=code,
            old_version=self.rates.shelf.named(code).version,
            revision=stored.revision,
            wanted=wanted,
            state="waiting",
            done=0,
            total=0,
            asked_at=stamp(moment),
            asked_by=by,
            touched_at=stamp(moment),
        )
        self.runs.add(run, raw)
        return run

    def get(self, run_id: str) -> EffectRun:
        """A measurement. Raises NotFound."""
        run = self.runs.get(run_id)
        if run is None:
            raise NotFound("effect", run_id)
        return run

    def newest(self, code: str) -> EffectRun:
        """The measurement of a book that was asked for last. Raises NotFound."""
        run = self.runs.newest(code)
        if run is None:
            raise NotFound("effect of a draft of", code)
        return run

    def cancel(self, run_id: str) -> None:
        """Ends a measurement that is not done yet."""
        run = self.get(run_id)
        if run.state in ("waiting", "running"):
            self.runs.end(replace(run, state="cancelled", touched_at=stamp(self.now())), {}, ())

    def file(self, run_id: str, name: str) -> EffectFile:
        """A table or picture of a measurement that is done. Raises NotFound."""
        self.get(run_id)
        found = self.runs.file(run_id, name)
        if found is None:
            raise NotFound("file of the effect", name)
        return found

    def new_text(self, run: EffectRun) -> RawBook:
        """The draft as it was when the measurement was asked for."""
        return self.runs.content(run.id)

    def issued(self, run: EffectRun) -> tuple[int, Iterator[IssuedJob]]:
        """How many quotes of the book are asked about, and they, the newest first."""
        return self.quotes.count_issued(run.code, run.wanted), self.quotes.issued_jobs(run.code, run.wanted)
