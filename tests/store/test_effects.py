"""Measurements at rest: who may take one on, and what ends it."""

from dataclasses import replace

import pytest
from builders import a_raw_book

from quoter.books.compile import compiled
from quoter.records.rates import EffectFile, EffectRun, QuoteRange
from quoter.store.database import Store
from quoter.store.effects import EffectRuns

from .records import AT

SOON, LATER = "2026-03-02T09:30:10.000000Z", "2026-03-02T09:31:00.000000Z"
FILE = EffectFile("prices.csv", "text/csv; charset=utf-8", "Ärmel,“x”\r\n" * 100)


def a_run(number: int = 0, state: str = "waiting", code: str = "small") -> EffectRun:
    """A measurement with an id of its own."""
    return EffectRun(
        id=f"019caae4-4a40-7000-8000-{number:012}",
        code=code,
        old_version=1,
        revision=2,
        wanted=QuoteRange(7, "2026-01-01T", None),
        state=state,
        done=0,
        total=0,
        asked_at=AT,
        asked_by="the owner",
        touched_at=AT,
    )


@pytest.fixture
def runs(store: Store) -> EffectRuns:
    """With one that waits."""
    kept = EffectRuns(store)
    kept.add(a_run(), a_raw_book())
    return kept


def test_a_measurement_reads_back_as_it_was_asked_for(runs: EffectRuns):
    """With its text; of what is not there, nothing."""
    assert runs.get(a_run().id) == runs.newest("small") == a_run()
    assert compiled(runs.content(a_run().id)).digest == compiled(a_raw_book()).digest
    assert (runs.get("none"), runs.newest("none"), runs.file("none", "prices.csv")) == (None, None, None)


def test_the_newest_of_a_book_is_the_one_asked_for_last(runs: EffectRuns):
    """Of that book."""
    runs.add(a_run(1), a_raw_book())
    runs.add(a_run(2, code="other"), a_raw_book())
    assert runs.newest("small") == a_run(1)


def test_the_one_that_waits_longest_is_taken_on_and_by_nobody_else(runs: EffectRuns):
    """Until its worker is silent."""
    runs.add(a_run(1), a_raw_book())
    taken = [runs.claim(SOON, AT) for _ in range(3)]
    assert [each.id if each else None for each in taken] == [a_run().id, a_run(1).id, None]
    again = runs.claim(LATER, LATER)
    assert again is not None
    assert (again.id, again.state, again.touched_at) == (a_run().id, "running", LATER)


def test_a_sign_of_life_is_kept_and_answered(runs: EffectRuns):
    """False once nobody wants to know any more."""
    runs.claim(SOON, AT)
    assert runs.touch(a_run().id, 3, 9, LATER)
    found = runs.get(a_run().id)
    assert found is not None
    assert (found.done, found.total, found.touched_at) == (3, 9, LATER)
    assert runs.claim(LATER, SOON) is None
    runs.end(replace(found, state="cancelled"), {}, ())
    assert not runs.touch(a_run().id, 4, 9, LATER)
    assert not runs.touch("none", 1, 1, LATER)


def test_what_has_ended_stays_as_it_is(runs: EffectRuns):
    """Whoever comes late keeps neither figures nor files."""
    runs.end(replace(a_run(), state="cancelled"), {}, ())
    runs.end(replace(a_run(), state="done", done=9), {"prices": {}}, [FILE])
    found = runs.get(a_run().id)
    assert found is not None
    assert (found.state, found.done, found.result) == ("cancelled", 0, {})
    assert runs.file(a_run().id, FILE.name) is None


def test_a_file_reads_back_as_it_was(runs: EffectRuns):
    """Sign for sign, with its type."""
    runs.end(replace(a_run(), state="done"), {"prices": {"counts": {"up": 1}}}, [FILE])
    assert runs.file(a_run().id, FILE.name) == FILE
    found = runs.get(a_run().id)
    assert found is not None
    assert found.result == {"prices": {"counts": {"up": 1}}}


def test_others_can_write_while_files_are_made(store: Store, runs: EffectRuns):
    """They are many, and drawing them takes a while."""

    def files():
        with store.write() as database:
            database.execute("update effect_runs set detail = 'written meanwhile'")
        yield FILE

    runs.end(replace(a_run(), state="done"), {}, files())
    assert runs.file(a_run().id, FILE.name) == FILE
