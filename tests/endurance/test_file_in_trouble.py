"""A database that is locked, gone, replaced or not to be written to, under or before a running service."""

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import pytest

from quoter.store.database import WAIT_SECONDS

from .found import differences, faults, opened
from .processes import Process, callers, serving
from .test_full_disk import check_refused, quote

IS_ROOT = hasattr(os, "getuid") and os.getuid() == 0

AS_FORBIDDEN = ("setpriv", "--bounding-set=-dac_override", "--")
"""The administrator, bound by what a file allows its owner. Another user may be unable to read the program itself."""

HOLDING = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("begin immediate")
print("held", flush=True)
sys.stdin.read()
"""


@contextmanager
def locked(database: Path) -> Iterator[None]:
    """Another process is writing, and does not come to an end."""
    command = [sys.executable, "-c", HOLDING, str(database)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == b"held\n"
        try:
            yield
        finally:
            holder.communicate()


def test_a_file_that_stays_locked(tmp_path: Path):
    """Who writes waits as long as it is worth, who reads does not, and afterwards the same requests are done."""
    database = tmp_path / "quoter.db"
    desk = callers(database)["desk"]
    with serving(database) as service:
        before = service.ask(quote(desk, "before"))
        wishes = [quote(desk, f"locked-{number}") for number in range(3)]
        with locked(database), ThreadPoolExecutor(3) as pool:
            began = time.monotonic()
            waiting = [pool.submit(service.ask, wish) for wish in wishes]
            time.sleep(0.5)
            check_refused(service.get(desk, "/readyz"))
            read = service.get(desk, f"/v1/quotes/{before.document['id']}")
            assert (read.status, read.document["number"]) == (200, before.document["number"])
            done = [each.done() for each in waiting]
            if time.monotonic() - began < WAIT_SECONDS:  # else the machine stood still for as long as they wait
                assert not any(done)
            for each in waiting:
                check_refused(each.result())
            assert time.monotonic() - began >= WAIT_SECONDS
        assert service.get(desk, "/readyz").status == 200
        for wish in wishes:
            wish.told = service.ask(wish)
            assert wish.told.status == 201
        with opened(database) as found:
            assert faults(found) == []
            assert [each for wish in wishes if wish.told for each in differences(found, wish, wish.told)] == []
        assert "Traceback" not in service.said()


def test_a_file_that_is_moved_away_and_comes_back(tmp_path: Path):
    """Nothing is acknowledged that would be gone with the process, and no empty file appears in its place."""
    database, away = tmp_path / "quoter.db", tmp_path / "away.db"
    desk = callers(database)["desk"]
    with serving(database) as service:
        assert service.ask(quote(desk, "before")).status == 201
        database.rename(away)
        for number in range(12):  # more than there are threads, each of which may open the file anew
            check_refused(service.ask(quote(desk, f"away-{number}")))
        check_refused(service.get(desk, "/readyz"))
        assert not database.exists()
        assert "is not to be found any more" in service.said()
        away.rename(database)
        assert service.get(desk, "/readyz").status == 200
        told = service.ask(quote(desk, "back"))
        assert (told.status, told.document["number"][-5:]) == (201, "00002")
        assert "Traceback" not in service.said()


def test_a_file_that_is_replaced(tmp_path: Path):
    """The service touches neither until it is started anew; then the one that is there counts."""
    database = tmp_path / "quoter.db"
    desk = callers(database)["desk"]
    with serving(database) as service:
        assert service.ask(quote(desk, "before")).status == 201
        assert service.stop() == 0
    shutil.copy(database, tmp_path / "other.db")
    with serving(database) as service:
        assert service.ask(quote(desk, "lost-with-its-file")).status == 201
        (tmp_path / "other.db").rename(database)
        check_refused(service.ask(quote(desk, "after")))
        check_refused(service.get(desk, "/readyz"))
        assert "another file is at the place of the database" in service.said()
        service.kill()
    for ending in ("-wal", "-shm"):
        database.with_name(database.name + ending).unlink()  # of the other file, as docs/operations.md says
    with serving(database) as service:
        told = service.ask(quote(desk, "after"))
        assert (told.status, told.document["number"][-5:]) == (201, "00002")
        with opened(database) as found:
            assert faults(found) == []


@pytest.fixture
def forbidden(tmp_path: Path) -> Iterator[Path]:
    """A database that may be read, in a folder that may be looked into, and neither written to."""
    database = tmp_path / "quoter.db"
    callers(database)
    database.chmod(0o444)
    tmp_path.chmod(0o555)
    yield database
    tmp_path.chmod(0o755)


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="permissions as POSIX has them")
@pytest.mark.skipif(IS_ROOT and not shutil.which("setpriv"), reason="the administrator may write to every file")
def test_a_file_that_may_not_be_written_to(forbidden: Path):
    """The service says so and does not start."""
    before = forbidden.read_bytes()
    process = Process(forbidden, *(AS_FORBIDDEN if IS_ROOT else ()))
    try:
        assert process.ended() == 1, process.said()
        assert f"{forbidden}: the database cannot be used" in process.said()
        assert "Traceback" not in process.said()
        assert forbidden.read_bytes() == before
    finally:
        process.close()
