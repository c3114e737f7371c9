"""The database file: durable, shared by threads and processes, and clear about what is wrong with it."""

import os
import sqlite3
import stat
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import closing
from multiprocessing import get_context
from pathlib import Path

import pytest

from quoter.problems import Unavailable
from quoter.store.database import Store, open_store

TABLES = {
    "announcements",
    "book_changes",
    "book_drafts",
    "book_versions",
    "counters",
    "decisions",
    "deliveries",
    "effect_files",
    "effect_runs",
    "enquiries",
    "keys",
    "quote_events",
    "quotes",
    "replies",
    "revisions",
    "sessions",
    "webhooks",
}


def tables_of(store: Store) -> set[str]:
    """Names of the project's own tables."""
    rows = store.rows("select name from sqlite_master where type = 'table' and name not like '\\_%' escape '\\'")
    return {row["name"] for row in rows if not row["name"].startswith("sqlite_")}


@pytest.mark.parametrize(("pragma", "value"), [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1)])
def test_what_is_written_is_on_disk_when_write_ends(store: Store, pragma: str, value: object):
    """A write-ahead log that is synced at every commit (2 is FULL), and references that hold."""
    with store.write() as database:
        assert database.execute(f"pragma {pragma}").fetchone() == (value,)


def test_a_thread_has_the_same_settings(store: Store):
    """Every thread opens a connection of its own."""
    found: list[object] = []
    thread = threading.Thread(target=lambda: found.append(store.row("pragma synchronous")))
    thread.start()
    thread.join()
    assert found == [{"synchronous": 2}]


def test_an_empty_file_becomes_a_database(store: Store):
    """By all migrations."""
    assert tables_of(store) >= TABLES


def test_every_table_is_strict(store: Store):
    """A value of another type than the column's is refused, not kept as something else."""
    rows = store.rows("select name, strict from pragma_table_list where schema = 'main' and type = 'table'")
    assert {row["name"] for row in rows if row["strict"]} >= TABLES


def test_opening_a_database_again_changes_nothing(store: Store):
    """Migrations that were done are not done again."""
    before = store.rows("select name, sql from sqlite_master order by name")
    with closing(Store(store.path)) as again:
        assert again.rows("select name, sql from sqlite_master order by name") == before


def test_three_processes_may_open_a_new_database_at_once(tmp_path: Path):
    """As when a shop's service and its command line start together."""
    code = "import sys, pathlib; from quoter.store.database import Store; Store(pathlib.Path(sys.argv[1])).close()"
    path = tmp_path / "quoter.db"
    started = [
        subprocess.Popen([sys.executable, "-c", code, str(path)], stderr=subprocess.PIPE, text=True) for _ in range(3)
    ]
    assert [(process.communicate()[1], process.returncode) for process in started] == [("", 0)] * 3
    with closing(Store(path)) as store:
        assert tables_of(store) >= TABLES


def begin_at(moment: float, path: Path) -> None:
    """Opens a database at a moment."""
    time.sleep(max(0.0, moment - time.time()))
    Store(path).close()


def test_nobody_is_turned_away_where_many_begin_a_file_at_the_same_instant(tmp_path: Path):
    """Who changes a new file to write-ahead logging is told "busy" at once; they wait and try again."""
    with ProcessPoolExecutor(6, mp_context=get_context("spawn")) as pool:
        for number in range(40):
            moment = time.time() + (0.05 if number else 2)
            begun = [pool.submit(begin_at, moment, tmp_path / f"{number}.db") for _ in range(6)]
            assert [each.result() for each in begun] == [None] * 6


class Mishap(Exception):
    """Something that goes wrong halfway."""


def write(store: Store, *statements: str, mishap: bool = False) -> None:
    """One transaction of these statements, and perhaps a mishap at its end."""
    with store.write() as database:
        for statement in statements:
            database.execute(statement)
        if mishap:
            raise Mishap


def test_a_write_that_fails_leaves_nothing(store: Store):
    """Neither of its two rows; and the next write goes through."""
    two = [f"insert into counters (name, value) values ('{name}', 1)" for name in "ab"]
    with pytest.raises(Mishap):
        write(store, *two, mishap=True)
    with store.write() as database:
        database.execute("insert into counters (name, value) values ('c', 3)")
    assert store.rows("select name from counters") == [{"name": "c"}]


def count(name: str) -> str:
    """A statement that keeps a counter."""
    return f"insert into counters (name, value) values ('{name}', 1)"


def write_and_fail(store: Store, statement: str) -> None:
    """A transaction that fails when a part of it has been kept."""
    with store.write():
        write(store, statement)
        raise Mishap


def test_a_write_within_another_is_a_part_of_it(store: Store):
    """Undone alone where it fails and that is caught, and undone with the whole."""
    with store.write():
        write(store, count("a"))
        with pytest.raises(Mishap):
            write(store, count("b"), mishap=True)
        write(store, count("c"))
    assert [row["name"] for row in store.rows("select name from counters order by name")] == ["a", "c"]
    with pytest.raises(Mishap):
        write_and_fail(store, count("d"))
    assert [row["name"] for row in store.rows("select name from counters order by name")] == ["a", "c"]


def test_a_write_that_lost_its_transaction_says_why(store: Store):
    """What ended it is told, not that there is nothing to roll back."""
    with pytest.raises(Mishap):
        write(store, "rollback", mishap=True)
    assert store.rows("select name from counters") == []


def test_a_wrong_statement_is_not_blamed_on_the_file(store: Store):
    """It is a fault of the program and stays what it is."""
    with pytest.raises(sqlite3.OperationalError, match="no such table"):
        store.rows("select * from none_such")
    with pytest.raises(sqlite3.IntegrityError):
        write(store, "insert into counters (name, value) values ('a', null)")


def test_a_file_that_is_no_database(tmp_path: Path):
    """Said so, with its name; it is left as it was."""
    path = tmp_path / "quoter.db"
    path.write_text("device,procedure\n" * 1000)
    with pytest.raises(Unavailable, match="file is not a database") as refused:
        open_store(path)
    assert refused.value.where == str(path)
    assert path.read_text() == "device,procedure\n" * 1000


def test_a_folder_is_no_database(tmp_path: Path):
    """Nor can one be made where a file is in the way."""
    with pytest.raises(Unavailable, match="this is a folder; name a file in it"):
        open_store(tmp_path)
    (tmp_path / "file").write_text("")
    with pytest.raises(Unavailable, match="folder of the database cannot be made"):
        open_store(tmp_path / "file" / "quoter.db")


def test_a_database_is_made_with_its_folders(tmp_path: Path):
    """The default is var/quoter.db, in a folder that is not there at first."""
    open_store(tmp_path / "var" / "more" / "quoter.db").close()
    assert (tmp_path / "var" / "more" / "quoter.db").is_file()


def test_a_locked_database(store: Store):
    """After waiting for as long as it is told to."""
    with closing(sqlite3.connect(store.path, isolation_level=None)) as other:
        other.execute("begin immediate")
        with pytest.raises(Unavailable, match="database is locked"), store.write():
            pytest.fail("the lock was not respected")
        assert store.rows("select name from counters") == []
    with store.write() as database:
        database.execute("insert into counters (name, value) values ('a', 1)")


def test_a_damaged_database(store: Store):
    """Said so; nothing is made up."""
    with store.write() as database:
        database.table("counters").insert_all({"name": str(n), "value": n} for n in range(5000))
    store.close()
    content = bytearray(store.path.read_bytes())
    content[4096:] = b"\xff" * (len(content) - 4096)
    store.path.write_bytes(content)
    with pytest.raises(Unavailable, match="malformed"), closing(Store(store.path)) as damaged:
        damaged.rows("select * from counters")


@pytest.fixture
def read_only_folder() -> Iterator[Path]:
    """A folder that everybody may look into and nobody but an administrator may write to."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(stat.S_IRUSR | stat.S_IXUSR | stat.S_IROTH | stat.S_IXOTH)
        yield folder
        folder.chmod(stat.S_IRWXU)


@pytest.mark.skipif(not hasattr(os, "setuid"), reason="permissions as POSIX has them")
def test_a_folder_that_may_not_be_written_to(read_only_folder: Path):
    """For somebody without special rights."""
    code = """
import os, pathlib, sys
from quoter.store.database import open_store
from quoter.problems import Unavailable
if os.getuid() == 0:
    os.setuid(65534)
try:
    open_store(pathlib.Path(sys.argv[1]))
except Unavailable as refused:
    print(refused)
"""
    command = [sys.executable, "-c", code, str(read_only_folder / "quoter.db")]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert "unable to open database file" in done.stdout


def test_a_closed_store_has_no_connection_left(store: Store):
    """Not even those of threads that have ended."""
    thread = threading.Thread(target=lambda: store.rows("select 1"))
    thread.start()
    thread.join()
    with store.write() as database:
        connection = database.conn
    store.close()
    with pytest.raises(sqlite3.ProgrammingError):
        connection.execute("select 1")
    assert not Path(f"{store.path}-wal").exists()


def test_writes_that_are_made_one_are_kept_together_or_not_at_all(store: Store):
    """Also those of use cases that know nothing of each other, and what was read before has kept nobody waiting."""
    with closing(Store(store.path, wait_seconds=0.05)) as other:
        with store.as_one():
            assert store.row("select * from counters") is None
            keep(other, "meanwhile")
            keep(store, "first")
            with pytest.raises(Unavailable):
                keep(other, "too late")
            keep(store, "second")
            assert names(other) == ["meanwhile"]
        assert names(other) == ["first", "meanwhile", "second"]
        with pytest.raises(sqlite3.IntegrityError), store.as_one():
            keep(store, "third", "third")
        assert names(other) == ["first", "meanwhile", "second"]
        keep(other, "later")


def test_a_write_that_fails_among_writes_that_are_made_one_is_undone_alone(store: Store):
    """Who catches its failure goes on with the others, also within another such block."""
    with store.as_one(), store.as_one():
        keep(store, "first")
        with pytest.raises(sqlite3.IntegrityError):
            keep(store, "first")
        keep(store, "second")
    assert names(store) == ["first", "second"]


def test_nothing_more_is_written_after_what_was_to_be_kept_together_is_gone(store: Store):
    """A full disk ends a transaction (sqlite.org/lang_transaction.html); what came after it would be kept alone."""
    with store.as_one():
        keep(store, "first")
        with store.write() as database:
            connection = database.conn
        connection.execute("rollback")
        with pytest.raises(Unavailable, match="has been undone"):
            keep(store, "second")
    assert names(store) == []
    keep(store, "later")
    assert names(store) == ["later"]


def test_a_thread_waits_for_another_and_not_for_ever(tmp_path: Path):
    """Whoever writes next has the turn as soon as it is free; after the usual wait it is told."""
    with closing(Store(tmp_path / "quoter.db", wait_seconds=0.2)) as store, ThreadPoolExecutor(1) as other:
        with store.write():
            with pytest.raises(Unavailable, match="for too long"):
                other.submit(keep, store, "too late").result()
            store._wait_seconds = 30  # for the next one it is no matter of time, however long this thread stands still
            waiting = other.submit(keep, store, "next")
        waiting.result()
        assert names(store) == ["next"]


def keep(store: Store, *counters: str) -> None:
    """A write for each."""
    for name in counters:
        with store.write() as database:
            database.execute(count(name))


def names(store: Store) -> list[str]:
    """What has been written."""
    return [row["name"] for row in store.rows("select name from counters order by name")]
