"""Measurements in the background, done to the end in the test's own thread by a clock that is set."""

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from builders import a_part, a_raw_book

from quoter.background.effects import SILENCE, Background
from quoter.books.draft import Edit
from quoter.books.effect import list_effect
from quoter.books.raw import RawBook
from quoter.problems import BookFlawed, NotFound
from quoter.records.rates import EffectRun, QuoteRange
from quoter.service.rates.effects import Effects
from quoter.service.rates.rates import Rates
from quoter.service.rates.shelf import Shelf
from quoter.store.books import Books
from quoter.store.database import Store
from quoter.store.effects import EffectRuns
from quoter.store.quotes import Quotes

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
DEARER = Edit(do="set", table="parts", row=0, cells={"cost": "40"})
NO_QUOTES = QuoteRange(0)


class HeardRuns(EffectRuns):
    """Lets a test hear, or do something, whenever a measurement says how far it is."""

    def __init__(self, store: Store) -> None:
        super().__init__(store)
        self.told: list[tuple[int, int]] = []
        self.when_told: Callable[[str], None] = lambda run_id: None

    def touch(self, run_id: str, done: int, total: int, now: str) -> bool:
        """As it is kept."""
        self.told.append((done, total))
        self.when_told(run_id)
        return super().touch(run_id, done, total, now)


class Bench:
    """A published tiny book with its draft, and what measures it."""

    def __init__(self, folder: Path, raw: RawBook) -> None:
        self.now = NOW
        self.ticks = dt.timedelta(0)
        self.store = Store(folder / "quoter.db")
        self.runs, books = HeardRuns(self.store), Books(self.store)
        self.rates = Rates(books, Shelf(books, self.clock), self.clock)
        self.rates.publish_text(raw, "first", None, "the owner")
        self.draft = self.rates.open_draft("small", None, "the owner")
        self.effects = Effects(self.runs, Quotes(self.store), self.rates, self.clock)
        self.background = Background(self.effects)

    def clock(self) -> dt.datetime:
        """Goes on by `ticks` at each look."""
        self.now += self.ticks
        return self.now

    def edit(self, *edits: Edit) -> None:
        """Changes the draft."""
        self.draft, _ = self.rates.change(self.draft, edits, "the owner")

    def battery(self, cost: str) -> None:
        """Another cost of the battery."""
        (row,) = (row.id for row in self.draft.draft.tables["parts"] if row.cells["sku"] == "B1")
        self.edit(replace(DEARER, row=row, cells={"cost": cost}))

    def ask(self) -> EffectRun:
        """Asks for the effect on the price list alone."""
        return self.effects.ask("small", NO_QUOTES, "the owner")

    def measured(self) -> EffectRun:
        """Asks, and measures to the end."""
        run = self.ask()
        assert self.background.measure_next()
        return self.effects.get(run.id)

    def files(self, run: EffectRun) -> int:
        """How many files are kept of a measurement."""
        row = self.store.row("select count(*) as n from effect_files where run = :id", {"id": run.id})
        assert row is not None
        return int(row["n"])


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """With the small book."""
    made = Bench(tmp_path, a_raw_book())
    with closing(made.store):
        yield made


def test_the_figures_are_those_that_two_price_lists_give_by_hand(bench: Bench):
    """Battery: 5 + 10 + 3 minutes and the part at 30, then 40, no markup, tax of 20 %: 57.60 → 69.60, up 12.00.

    Port (36.00 + 7.20) and cleaning (15 minutes … ) stay as they are.
    """
    bench.battery("40")
    run = bench.measured()
    prices = run.result["prices"]
    assert prices["entries"] == 3
    assert (run.state, run.done, run.total) == ("done", prices["entries"], prices["entries"])
    counts = {word: number for word, number in prices["counts"].items() if number}
    assert counts == {"up": 1, "same": prices["entries"] - 1}
    assert (prices["currency"], prices["largest"], prices["smallest"]) == ("EUR", "12.00", "0.00")
    text = bench.effects.file(run.id, "prices.csv").content
    (line,) = (line for line in text.splitlines() if "69.60" in line)
    assert "57.60" in line
    assert "12.00" in line


def test_the_figures_count_what_is_no_longer_offered(bench: Bench):
    """The port is taken off the list; the two other entries are as they were."""
    (row,) = (row.id for row in bench.draft.draft.tables["offers"] if row.cells["procedure"] == "port")
    bench.edit(Edit(do="delete", table="offers", row=row))
    counts = bench.measured().result["prices"]["counts"]
    assert (counts["gone"] + counts["newly_refused"], counts["same"]) == (1, 2)


def test_a_draft_that_changes_nothing_has_no_effect(bench: Bench):
    """Every entry of the list is the same."""
    prices = bench.measured().result["prices"]
    assert prices["entries"] == prices["counts"]["same"] == 3


def test_what_is_measured_is_the_draft_as_it_was_when_asked(bench: Bench):
    """What is changed or published afterwards is another question."""
    bench.battery("40")
    run = bench.ask()
    bench.battery("99")
    bench.rates.discard(bench.draft)
    assert bench.background.measure_next()
    assert bench.effects.get(run.id).result["prices"]["largest"] == "12.00"


def test_a_draft_with_faults_is_not_measured(bench: Bench):
    """Every fault is told to who asks, and nothing is kept."""
    bench.battery("forty")
    with pytest.raises(BookFlawed):
        bench.ask()
    with pytest.raises(NotFound):
        bench.effects.newest("small")
    assert not bench.background.measure_next()


def test_progress_is_told_on_the_way(bench: Bench):
    """It only grows, up to the whole."""
    run = bench.ask()
    bench.ticks = dt.timedelta(seconds=1)
    bench.background.measure_next()
    told = bench.runs.told
    assert told
    assert told == sorted(told)
    assert {total for _, total in told} == {bench.effects.get(run.id).total}


def test_one_that_is_cancelled_before_it_begins_is_never_measured(bench: Bench):
    """It keeps nothing."""
    run = bench.ask()
    bench.effects.cancel(run.id)
    assert not bench.background.measure_next()
    assert (bench.effects.get(run.id).state, bench.files(run)) == ("cancelled", 0)


def test_one_that_is_cancelled_on_the_way_stops_and_keeps_nothing(bench: Bench):
    """It learns of it when it next says how far it is."""
    run = bench.ask()
    bench.ticks = dt.timedelta(seconds=1)
    bench.runs.when_told = bench.effects.cancel
    assert bench.background.measure_next()
    kept = bench.effects.get(run.id)
    assert (kept.state, kept.result, bench.files(run)) == ("cancelled", {}, 0)
    assert not bench.background.measure_next()


def test_one_that_is_done_cannot_be_cancelled(bench: Bench):
    """Its figures stay."""
    run = bench.measured()
    bench.effects.cancel(run.id)
    assert bench.effects.get(run.id) == run


@pytest.mark.parametrize(("silent", "begun"), [(SILENCE, False), (SILENCE + dt.timedelta(microseconds=1), True)])
def test_one_whose_worker_has_died_is_begun_again(bench: Bench, silent: dt.timedelta, begun: bool):
    """After a silence, both sides of it; not before, for it may be alive."""
    run = bench.ask()
    claimed = bench.effects.runs.claim(bench.background.now(), bench.background.now())
    assert claimed is not None
    assert (claimed.id, claimed.state) == (run.id, "running")
    bench.now += silent
    assert bench.background.measure_next() is begun
    assert bench.effects.get(run.id).state == ("done" if begun else "running")


def test_one_that_was_under_way_when_the_service_stopped_is_begun_again(bench: Bench):
    """The stop cuts it off without an end."""
    run = bench.ask()
    with bench.background.at_work():
        bench.background._stopped.set()
    fresh = Background(bench.effects)
    bench.now += SILENCE * 2
    if bench.effects.get(run.id).state != "done":
        assert fresh.measure_next()
    assert bench.effects.get(run.id).state == "done"


def test_a_thread_measures_what_it_is_woken_for(bench: Bench):
    """And ends with the service."""
    with bench.background.at_work():
        run = bench.ask()
        bench.background.wake()
        for _ in range(200):
            if bench.effects.get(run.id).state == "done":
                break
            bench.background._stopped.wait(0.05)
    assert bench.effects.get(run.id).state == "done"


def test_one_whose_old_version_is_gone_fails_and_says_why(bench: Bench):
    """As if somebody had taken it out of the database."""
    run = bench.ask()
    bench.rates.shelf._compiled.clear()
    with bench.store.write() as database:
        database.execute("update effect_runs set old_version = 7")
    assert bench.background.measure_next()
    failed = bench.effects.get(run.id)
    assert (failed.state, failed.detail) == ("failed", "there is no version of small '7'")
    assert bench.files(run) == 0


def test_one_between_two_currencies_fails_and_says_why(bench: Bench):
    """Their prices have no difference."""
    bench.edit(Edit(do="set", table="book.toml", key="currency", value="USD"))
    failed = bench.measured()
    assert failed.state == "failed"
    assert "EUR" in failed.detail
    assert "USD" in failed.detail


def test_one_that_trips_over_a_fault_of_the_program_fails_and_the_next_is_measured(
    bench: Bench, caplog: pytest.LogCaptureFixture
):
    """What went wrong is for the log."""
    broken, sound = bench.ask(), bench.ask()
    with bench.store.write() as database:
        database.execute("update effect_runs set content = '{' where id = ?", [broken.id])
    assert bench.background.measure_next()
    assert bench.background.measure_next()
    failed = bench.effects.get(broken.id)
    assert (failed.state, "logged" in failed.detail) == ("failed", True)
    assert broken.id in caplog.text
    assert bench.effects.get(sound.id).state == "done"


def test_a_larger_list_gives_what_pricing_it_entry_by_entry_gives(tmp_path: Path):
    """The kept summary is that of the list as a whole."""
    parts = [a_part("B1", cost=30), a_part("B2", grade="compatible", cost=12), a_part("P1", slot="port", cost=8)]
    bench = Bench(tmp_path, a_raw_book(parts=parts))
    with closing(bench.store):
        bench.battery("20")
        counts = bench.measured().result["prices"]["counts"]
        old = bench.rates.shelf.named("small").book
        version = bench.rates.publish(bench.draft, "cheaper", None, "the owner").version
        new = bench.rates.shelf.version("small", version)
        assert list_effect(old, new, NOW.date()).summary.counts.down == counts["down"] > 0
