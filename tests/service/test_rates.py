"""The life of a rate book: what a publication leaves, also when the process that makes it is killed."""

import datetime as dt
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from builders import a_raw_book

from quoter.books.compile import compiled
from quoter.books.draft import Edit, raw_of
from quoter.problems import BookFlawed, Conflict, NotFound, PublicationRefused
from quoter.service.rates.rates import Rates
from quoter.service.rates.shelf import Shelf
from quoter.store.books import Books
from quoter.store.database import Store

ROOT = Path(__file__).parents[2]
NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
RATE = Edit(do="set", table="book.toml", key="labour.bench_rate", value="7")


@pytest.fixture
def rates(tmp_path: Path) -> Iterator[Rates]:
    """With the small book published."""
    with closing(Store(tmp_path / "quoter.db")) as store:
        made = rates_of(store)
        made.publish_text(a_raw_book(), "first", None, "the owner")
        yield made


def rates_of(store: Store) -> Rates:
    """Use cases at a moment that stands still."""
    books = Books(store)
    return Rates(books, Shelf(books, lambda: NOW), lambda: NOW)


def test_a_draft_that_was_opened_and_published_unchanged_has_the_same_digest(rates: Rates):
    """To the byte, and no difference is counted."""
    draft = rates.open_draft("small", None, "the owner")
    again = rates.publish(draft, "nothing", None, "the owner")
    first = rates.history("small")[1]
    assert (again.version, again.digest) == (2, first.digest)
    assert set(again.changes.values()) == {0}


def test_the_history_counts_each_versions_difference_to_the_one_before(rates: Rates):
    """Not to the one that the draft was taken from."""
    for value in ("7", "8"):
        draft = rates.open_draft("small", 1, "the owner")
        draft, _ = rates.change(draft, [Edit(do="set", table=RATE.table, key=RATE.key, value=value)], "x")
        rates.publish(draft, "why", None, "the owner")
    rates.return_to("small", 1, "back", None, "the owner")
    assert [each.changes.get("changed", 0) for each in rates.history("small")] == [1, 1, 1, 0]


@pytest.mark.parametrize("moment", [NOW - dt.timedelta(microseconds=1), dt.datetime(2020, 1, 1, tzinfo=dt.UTC)])
def test_no_version_counts_from_a_moment_that_is_over(rates: Rates, moment: dt.datetime):
    """By none of the ways to publish; the present moment is not over."""
    draft = rates.open_draft("small", None, "the owner")
    for publish in (
        lambda when: rates.publish(draft, "why", when, "x"),
        lambda when: rates.publish_text(a_raw_book(), "why", when, "x"),
        lambda when: rates.return_to("small", 1, "why", when, "x"),
    ):
        with pytest.raises(PublicationRefused, match="is over"):
            publish(moment)
    assert rates.publish(draft, "why", NOW, "x").version == 2


def test_a_draft_that_was_discarded_comes_back_over_no_other(rates: Rates):
    """Who still holds it can neither change, publish nor discard the one that was opened since."""
    old = rates.open_draft("small", None, "the owner")
    rates.discard(old)
    new = replace(rates.open_draft("small", None, "somebody"), opened_at="2026-03-02T09:30:00.000001Z")
    rates.books.discard_draft(rates.draft("small"))
    rates.books.open_draft(new)
    edit = Edit(do="set", table=RATE.table, key=RATE.key, value="9")
    for act in (
        lambda: rates.change(old, [edit], "x"),
        lambda: rates.publish(old, "why", None, "x"),
        lambda: rates.discard(old),
    ):
        with pytest.raises(Conflict, match="another draft"):
            act()
    assert rates.draft("small") == new
    assert len(rates.history("small")) == 1


def test_a_draft_with_faults_publishes_nothing(rates: Rates):
    """It stays, to be mended."""
    draft = rates.open_draft("small", None, "the owner")
    draft, _ = rates.change(draft, [Edit(do="set", table=RATE.table, key=RATE.key, value="seven")], "x")
    with pytest.raises(BookFlawed, match="seven"):
        rates.publish(draft, "why", None, "x")
    assert (len(rates.history("small")), rates.draft("small")) == (1, draft)


def test_the_draft_of_a_book_that_does_not_count_yet_is_checked(rates: Rates):
    """There is nothing before it to compare with."""
    raw = a_raw_book(settings={"code": "later"})
    rates.publish_text(raw, "first", NOW + dt.timedelta(days=1), "the owner")
    rates.open_draft("later", None, "the owner")
    assert rates.check("later").flaws == ()


def test_what_is_brought_in_takes_the_place_of_everything(rates: Rates):
    """Every difference is on record; a dry run only tells it."""
    draft = rates.open_draft("small", None, "the owner")
    raw = a_raw_book(settings={"labour.bench_rate": "7"})
    assert not rates.bring_in(draft, raw, "x", dry_run=True).done
    assert rates.changes("small") == []
    assert rates.bring_in(draft, raw, "x", dry_run=False).draft.revision == 2
    assert [(each.change.old, each.change.new) for each in rates.changes("small")] == [("0", "7")]
    assert compiled(raw_of(rates.draft("small").draft)).digest == compiled(raw).digest
    with pytest.raises(Conflict):
        rates.bring_in(draft, raw, "x", dry_run=False)


@pytest.mark.parametrize(
    "name", ["none", "small@2", "small@0", "small@-1", "small@x", "small@" + "9" * 40, "small@draft"]
)
def test_a_name_of_nothing_is_not_found(rates: Rates, name: str):
    """A version, a draft or a book."""
    with pytest.raises(NotFound):
        rates.named(name)


@pytest.mark.parametrize("milliseconds", [0, 3, 7, 12, 20, 31, 45, 60, 90, 140])
def test_a_publisher_that_is_killed_leaves_the_old_or_the_new_version_whole(tmp_path: Path, milliseconds: int):
    """SIGKILL in the middle of it. Every version reads and has its digest; the draft is there or gone with it."""
    database = tmp_path / "quoter.db"
    with closing(Store(database)) as store:
        Shelf(Books(store), lambda: NOW).seed([ROOT / "rates" / "ballyquarn"])
    script = Path(__file__).parent / "publisher.py"
    with subprocess.Popen([sys.executable, script, database], stdout=subprocess.PIPE, text=True, cwd=ROOT) as process:
        assert process.stdout is not None
        assert [process.stdout.readline().strip() for _ in range(2)] == ["ready", "publishing"]
        time.sleep(milliseconds / 1000)
        process.kill()
        told = 1 + process.stdout.read().count("publishing")
    with closing(Store(database)) as store:
        assert store.row("pragma integrity_check") == {"integrity_check": "ok"}
        rates = rates_of(store)
        history, draft = rates.history("ballyquarn"), rates.books.draft("ballyquarn")
        assert [each.version for each in history] == list(range(len(history), 0, -1))
        for each in history:
            assert compiled(rates.content("ballyquarn", each.version)).digest == each.digest
        made = len(history) - 1
        assert made in (told - 1, told)
        if made < told:
            assert draft is not None
            assert draft.based_on == history[0].version
        else:
            assert draft is None or draft.based_on == history[0].version
