"""Copies of the database: whole, of one moment, checked; put back while somebody has it open; saved before upgrades."""

import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from itertools import count
from pathlib import Path
from time import sleep

import pytest
from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

from quoter.problems import Unavailable, Unreadable
from quoter.store.copies import PutBack, contents, put_back, save_copy
from quoter.store.database import Store
from quoter.store.migrations.in_order import IN_ORDER, MIGRATIONS

ROOT = Path(__file__).parents[2]

PAIRS = "insert into counters (name, value) values ('a', :n), ('b', :n) on conflict do update set value = :n"


def set_pair(store: Store, number: int) -> None:
    """Two rows that always say the same."""
    with store.write() as database:
        database.execute(PAIRS, {"n": number})


def pair_in(path: Path) -> list[int]:
    """What the two rows say in a file."""
    with closing(sqlite3.connect(path)) as connection:
        return [row[0] for row in connection.execute("select value from counters order by name")]


@contextmanager
def written_meanwhile(store: Store) -> Iterator[threading.Event]:
    """Somebody who changes both rows again and again; the event says that they have begun."""
    stop, begun = threading.Event(), threading.Event()

    def go_on() -> None:
        number = 1
        while not stop.is_set():
            number += 1
            set_pair(store, number)
            begun.set()
            sleep(0.001)  # SQLite lets those who wait sleep and look again: they must find a moment

    thread = threading.Thread(target=go_on)
    thread.start()
    try:
        yield begun
    finally:
        stop.set()
        thread.join()


def test_a_copy_is_of_one_moment_while_others_write(store: Store, tmp_path: Path):
    """Both rows say the same in each of twenty copies, and later copies say more."""
    set_pair(store, 1)
    with store.write() as database:  # enough pages for several steps of the copying
        database.execute("create table ballast (content blob)")
        database.execute(
            "with recursive n (i) as (select 1 union all select i + 1 from n where i < 3000) "
            "insert into ballast select randomblob(8000) from n"
        )
    found = []
    with written_meanwhile(store) as begun:
        assert begun.wait(60)
        for number in range(20):
            copy = tmp_path / f"copy-{number}.db"
            save_copy(store.path, copy)
            one, other = pair_in(copy)
            assert one == other
            found.append(one)
    assert found == sorted(found)
    assert found[0] < found[-1]


def test_a_copy_is_one_file_and_says_what_it_holds(store: Store, tmp_path: Path):
    """Without a log beside it, so that it can be carried away."""
    copy = tmp_path / "copy.db"
    found = save_copy(store.path, copy)
    assert found == contents(copy)
    assert (found.quotes, found.newest_quote, found.keys) == (0, None, 0)
    assert {path.name for path in tmp_path.glob("copy*")} == {"copy.db"}


def test_a_copy_tells_how_far_it_is(store: Store, tmp_path: Path):
    """From the first step to the last page."""
    told: list[tuple[int, int]] = []
    save_copy(store.path, tmp_path / "copy.db", lambda done, total: told.append((done, total)))
    assert told[-1][0] == told[-1][1] > 0


def test_a_copy_never_takes_the_place_of_a_file(store: Store, tmp_path: Path):
    """Whatever it is."""
    other = tmp_path / "letter.txt"
    other.write_text("Dear customer")
    with pytest.raises(Unreadable, match="there is a file already"):
        save_copy(store.path, other)
    assert other.read_text() == "Dear customer"


def test_a_copy_that_cannot_be_written_leaves_nothing(store: Store, tmp_path: Path):
    """In a folder that is not there."""
    with pytest.raises(Unavailable):
        save_copy(store.path, tmp_path / "none" / "copy.db")
    assert list(tmp_path.glob("*.part")) == []


def test_what_is_put_back_is_what_those_see_who_have_it_open(store: Store, tmp_path: Path):
    """An open store reads the older state at once, writes on, and the later state is saved beside it."""
    set_pair(store, 1)
    copy = tmp_path / "copy.db"
    save_copy(store.path, copy)
    set_pair(store, 2)
    before = put_back(copy, store.path).before
    assert [row["value"] for row in store.rows("select value from counters")] == [1, 1]
    set_pair(store, 3)
    assert [row["value"] for row in store.rows("select value from counters")] == [3, 3]
    assert before is not None
    assert pair_in(before) == [2, 2]
    assert pair_in(copy) == [1, 1]
    assert store.rows("pragma journal_mode") == [{"journal_mode": "wal"}]


def test_putting_back_while_others_write_is_one_transaction(patient_store: Store, tmp_path: Path):
    """Who writes meanwhile waits; afterwards both rows still say the same."""
    set_pair(patient_store, 1)
    copy = tmp_path / "copy.db"
    save_copy(patient_store.path, copy)
    with written_meanwhile(patient_store) as begun:
        assert begun.wait(60)
        for _ in range(5):
            before = put_back(copy, patient_store.path).before
            assert before is not None
            assert len(set(pair_in(before))) == 1
            begun.clear()
            assert begun.wait(60)
    assert len({row["value"] for row in patient_store.rows("select value from counters")}) == 1
    assert patient_store.rows("pragma integrity_check") == [{"integrity_check": "ok"}]


def test_what_is_written_while_a_copy_is_put_back_is_before_or_after(patient_store: Store, tmp_path: Path):
    """Each row that was acknowledged stands in what was saved or in the database: never in neither."""
    set_pair(patient_store, 1)
    copy = tmp_path / "copy.db"
    save_copy(patient_store.path, copy)
    acknowledged, stop = [], threading.Event()

    def go_on() -> None:
        for number in count():
            with patient_store.write() as database:
                database.execute("insert into counters (name, value) values (:name, 0)", {"name": f"row {number}"})
            acknowledged.append(f"row {number}")
            if stop.is_set():
                return
            sleep(0.001)  # SQLite lets those who wait sleep and look again: they must find a moment

    thread = threading.Thread(target=go_on)
    thread.start()
    saved = []
    for _ in range(5):
        seen = len(acknowledged)
        while len(acknowledged) == seen and thread.is_alive():
            sleep(0.001)
        saved.append(put_back(copy, patient_store.path).before)
    stop.set()
    thread.join()
    found = {row["name"] for row in patient_store.rows("select name from counters")}
    for before in saved:
        assert before is not None
        with closing(sqlite3.connect(before)) as connection:
            found |= {row[0] for row in connection.execute("select name from counters")}
    assert set(acknowledged) <= found


def test_a_copy_is_put_back_where_there_is_nothing(store: Store, tmp_path: Path):
    """As on another machine."""
    set_pair(store, 7)
    copy, elsewhere = tmp_path / "copy.db", tmp_path / "new" / "quoter.db"
    save_copy(store.path, copy)
    assert put_back(copy, elsewhere) == PutBack(before=None)
    with closing(Store(elsewhere)) as again:
        assert [row["value"] for row in again.rows("select value from counters")] == [7, 7]


def test_a_log_that_was_left_behind_is_not_read_into_what_is_put_back(store: Store, tmp_path: Path):
    """The file was deleted while it was open, its log was not: SQLite would take it for the new file's."""
    set_pair(store, 1)
    copy = tmp_path / "copy.db"
    save_copy(store.path, copy)
    copy.chmod(0o400)
    set_pair(store, 2)
    log = store.path.with_name("quoter.db-wal")
    left = log.read_bytes()
    store.path.unlink()
    store.close()
    log.write_bytes(left)
    put_back(copy, store.path)
    with closing(Store(store.path)) as again:
        assert [row["value"] for row in again.rows("select value from counters")] == [1, 1]
        set_pair(again, 3)
    assert (tmp_path / "quoter.db.before-restore-wal").read_bytes() == left


def spoilt(path: Path) -> None:
    """Overwrites all but the first page."""
    content = bytearray(path.read_bytes())
    content[4096:] = b"\xff" * (len(content) - 4096)
    path.write_bytes(content)


def test_a_damaged_database_is_moved_aside(store: Store, tmp_path: Path):
    """It cannot be copied, and it must not be lost: somebody may still read something from it."""
    set_pair(store, 1)
    copy = tmp_path / "copy.db"
    save_copy(store.path, copy)
    store.close()
    spoilt(store.path)
    damaged = store.path.read_bytes()
    done = put_back(copy, store.path)
    before = done.before
    assert done.was_damaged
    assert before is not None
    assert before.read_bytes() == damaged
    assert pair_in(store.path) == [1, 1]


@pytest.mark.parametrize("what", ["locked", "folder", "itself", "another program's"])
def test_a_database_that_is_not_damaged_is_never_moved(store: Store, tmp_path: Path, what: str):
    """Refused, and everything is as it was: what cannot be used just now may be well all the same."""
    set_pair(store, 1)
    copy = tmp_path / "copy.db"
    save_copy(store.path, copy)
    set_pair(store, 2)
    store.close()
    place, held = store.path, None
    if what == "locked":
        held = sqlite3.connect(place, isolation_level=None)
        held.execute("pragma locking_mode=exclusive")
        held.execute("begin exclusive")
    elif what == "folder":
        place = tmp_path / "folder"
        place.mkdir()
        (place / "letter.txt").write_text("Dear customer")
    elif what == "itself":
        copy = place
    else:
        place = tmp_path / "other.db"
        with closing(sqlite3.connect(place, isolation_level=None)) as connection:
            connection.execute("create table letters (text)")
    there = sorted(tmp_path.rglob("*"))
    with pytest.raises((Unavailable, Unreadable)):
        put_back(copy, place)
    if held:
        held.close()
    assert [each for each in sorted(tmp_path.rglob("*")) if each not in there] == []
    assert pair_in(store.path) == [2, 2]


@pytest.mark.skipif(sys.platform == "win32", reason="modes of files as POSIX has them")
def test_a_copy_is_as_open_to_others_as_what_it_is_of(store: Store, tmp_path: Path):
    """Customers and keys stand in it; so it is with what is saved before, and where a damaged file is replaced."""
    set_pair(store, 1)
    store.path.chmod(0o600)
    copy = tmp_path / "copy.db"
    save_copy(store.path, copy)
    saved = put_back(copy, store.path).before
    store.close()
    spoilt(store.path)
    moved = put_back(copy, store.path).before
    assert saved is not None
    assert moved is not None
    elsewhere = tmp_path / "elsewhere.db"
    put_back(copy, elsewhere)
    files = (copy, saved, moved, store.path, elsewhere)
    assert [each.stat().st_mode & 0o777 for each in files] == [0o600] * 5


@pytest.mark.skipif(sys.platform == "win32", reason="limits of files as POSIX has them")
@pytest.mark.parametrize("is_there", [True, False])
def test_putting_back_without_room_leaves_everything_as_it_was(store: Store, tmp_path: Path, is_there: bool):
    """No file may grow beyond 100 kB: neither a copy of what was saved nor an empty database is left."""
    set_pair(store, 1)
    copy, place = tmp_path / "copy.db", store.path if is_there else tmp_path / "new.db"
    save_copy(store.path, copy)
    store.close()
    there = {each.name for each in tmp_path.iterdir()}
    done = subprocess.run(
        [sys.executable, "-c", NO_ROOM, str(copy), str(place)], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert "cannot be" in done.stdout
    assert {each.name for each in tmp_path.iterdir()} - there <= {"quoter.db-wal", "quoter.db-shm"}
    assert pair_in(store.path) == [1, 1]


NO_ROOM = """
import pathlib, resource, sys
from quoter.problems import Unavailable
from quoter.store.copies import put_back
resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
try:
    put_back(pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]))
except Unavailable as refused:
    print(refused)
"""


@pytest.mark.parametrize("what", ["damaged", "text", "another program's", "missing"])
def test_what_is_no_good_copy_is_refused(store: Store, tmp_path: Path, what: str):
    """Before anything is changed."""
    set_pair(store, 1)
    copy = tmp_path / "copy.db"
    if what == "damaged":
        save_copy(store.path, copy)
        spoilt(copy)
    elif what == "text":
        copy.write_text("device,procedure\n" * 1000)
    elif what == "another program's":
        with closing(sqlite3.connect(copy)) as other:
            other.execute("create table quotes (id text)")
    with pytest.raises(Unavailable):
        put_back(copy, store.path)
    assert pair_in(store.path) == [1, 1]
    assert list(store.path.parent.glob("*before-restore*")) == []


def older(path: Path, migrations: int) -> None:
    """A database as an earlier version of this program left it."""
    known = Migrations("quoter")
    for migration in IN_ORDER[:migrations]:
        known()(migration)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        known.apply(Database(connection))
        connection.execute("insert into counters (name, value) values ('kept', 1)")


def test_an_upgrade_saves_a_copy_first(tmp_path: Path):
    """Named for what came next, holding what was there; a database that is up to date is not copied."""
    path = tmp_path / "quoter.db"
    older(path, 5)
    Store(path).close()
    (copy,) = tmp_path.glob("quoter.db.before-*")
    assert copy.name == f"quoter.db.before-{IN_ORDER[5].__name__}"
    with closing(sqlite3.connect(copy)) as connection:
        assert [each.name for each in MIGRATIONS.applied(Database(connection))] == [
            migration.__name__ for migration in IN_ORDER[:5]
        ]
        assert connection.execute("select name from counters").fetchall() == [("kept",)]
    Store(path).close()
    assert list(tmp_path.glob("quoter.db.before-*")) == [copy]


def test_an_upgrade_that_is_repeated_saves_another_copy(tmp_path: Path):
    """After an older copy was put back, say: the first is not overwritten."""
    path = tmp_path / "quoter.db"
    older(path, 5)
    Store(path).close()
    (copy,) = tmp_path.glob("quoter.db.before-*")
    first = copy.read_bytes()
    put_back(copy, path)
    Store(path).close()
    assert copy.read_bytes() == first
    assert (tmp_path / f"{copy.name}-2").is_file()


FULL_DISK = """
import pathlib, resource, signal, sys
from quoter.problems import Unavailable
from quoter.store.database import Store
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (1_000_000, 1_000_000))
try:
    Store(pathlib.Path(sys.argv[1]))
except Unavailable as refused:
    print(refused)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="limits of files as POSIX has them")
def test_an_upgrade_that_cannot_save_its_copy_changes_nothing(tmp_path: Path):
    """No file may grow beyond 1 MB, as on a disk that is nearly full: there is room for the upgrade, not for a copy."""
    path = tmp_path / "quoter.db"
    older(path, 5)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("create table ballast as select randomblob(3000000) as content")
    done = subprocess.run(
        [sys.executable, "-c", FULL_DISK, str(path)], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert "an upgrade needs a copy first, and there is none, so nothing has changed" in done.stdout
    assert ".before-" in done.stdout
    assert [each.name for each in tmp_path.iterdir() if "before" in each.name] == []
    with closing(sqlite3.connect(path)) as connection:
        assert len(MIGRATIONS.applied(Database(connection))) == 5


def test_a_database_of_another_program_is_left_alone(tmp_path: Path):
    """Nothing is written into it."""
    path = tmp_path / "letters.db"
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("create table letters (text)")
    with pytest.raises(Unavailable, match="this is no database of this program"):
        Store(path)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("select name from sqlite_master").fetchall() == [("letters",)]


def test_an_older_program_refuses_a_newer_database(store: Store):
    """In plain words, and without touching it."""
    with store.write() as database:
        database.execute(
            "insert into _sqlite_migrations (migration_set, name, applied_at) values ('quoter', 'teleportation', '')"
        )
    store.close()
    before = store.path.read_bytes()
    with pytest.raises(Unavailable, match=r"a newer version of this program .*\(it has had: teleportation\)"):
        Store(store.path)
    assert store.path.read_bytes() == before


def test_a_migration_that_fails_halfway_leaves_the_database_as_it_was(tmp_path: Path):
    """All pending ones are one transaction: here the last of them comes upon a table that is in its way."""
    path = tmp_path / "quoter.db"
    older(path, 5)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("create table webhooks (id text)")
        connection.commit()
        before = connection.execute("select name, sql from sqlite_master order by name").fetchall()
    with pytest.raises(Exception, match="webhooks"):
        Store(path)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("select name, sql from sqlite_master order by name").fetchall() == before
