"""quoter backup and quoter restore, with a service that goes on quoting meanwhile."""

import os
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path

import pytest

from quoter.store.database import open_store

from .running import BALLYQUARN, BATTERY, Served, command, environment, quoter, refused, served


def numbers_in(path: Path) -> list[str]:
    """The numbers of the quotes in a file, in order."""
    with closing(sqlite3.connect(path)) as connection:
        return [row[0] for row in connection.execute("select number from quotes order by number")]


class Desk(threading.Thread):
    """Somebody who issues one quote after the other until they are told to stop."""

    def __init__(self, service: Served, key: str) -> None:
        super().__init__()
        self._service, self._key = service, key
        self.issued: list[str] = []
        self.failed: list[int] = []
        self.stop = threading.Event()
        self.has_begun = threading.Event()

    def run(self) -> None:
        while not self.stop.is_set():
            status, body = self._service.ask_until_free("/v1/quotes", self._key, BATTERY)
            if status == 201:
                self.issued.append(body["number"])
            else:
                self.failed.append(status)
            self.has_begun.set()


def test_a_copy_made_while_quotes_are_issued_can_be_put_back_while_more_are(tmp_path: Path):
    """Whatever was acknowledged before the copy began is in it; the service goes on from the copy without a fault."""
    database, copy = tmp_path / "quoter.db", tmp_path / "copy.db"
    key = quoter("key", "new", "--scope", "desk", "--name", "desk", "--database", database).stdout.strip()
    with served(database, "--book", BALLYQUARN) as service:
        desk = Desk(service, key)
        desk.start()
        assert desk.has_begun.wait(60)
        before = list(desk.issued)
        done = quoter("backup", copy, "--database", database)
        after = list(desk.issued)
        assert (done.returncode, done.stderr) == (0, "")
        assert "Checked: no fault." in done.stdout
        copied = numbers_in(copy)
        assert copied[: len(before)] == before
        assert copied == [f"{copied[0][:4]}-{n:05d}" for n in range(1, len(copied) + 1)]
        assert len(copied) <= len(after) + 1  # one may be on its way back to the desk
        restored = quoter("restore", copy, "--yes", "--database", database)
        assert restored.returncode == 0, restored.stderr
        desk.stop.set()
        desk.join()
        assert desk.failed == []
        (saved,) = tmp_path.glob("quoter.db.before-restore")
        assert numbers_in(saved)[: len(after)] == after
        status, body = service.ask("/v1/quotes", key, BATTERY)
        assert status == 201
        assert numbers_in(database)[-1] == body["number"]
        assert service.stop() == 0


def test_restoring_asks_first(tmp_path: Path):
    """Where nobody can be asked it wants --yes, and nothing has happened."""
    database, copy = tmp_path / "quoter.db", tmp_path / "copy.db"
    for name in ("one", "two"):
        quoter("key", "new", "--scope", "desk", "--name", name, "--database", database)
        if name == "one":
            assert quoter("backup", copy, "--database", database).returncode == 0
    done = quoter("restore", copy, "--database", database)
    assert (done.returncode, done.stderr.splitlines()) == (
        1,
        ["Nobody can be asked here; --yes says that it is meant."],
    )
    assert "two" in quoter("key", "list", "--database", database).stdout
    assert quoter("restore", copy, "--yes", "--database", database).returncode == 0
    assert "two" not in quoter("key", "list", "--database", database).stdout


@pytest.mark.skipif(sys.platform == "win32", reason="there are no pseudo-terminals to answer at")
@pytest.mark.parametrize(("typed", "status"), [("yes", 0), (" Yes", 0), ("y", 1), ("no", 1), ("", 1)])
def test_on_a_terminal_restoring_waits_for_the_word(tmp_path: Path, typed: str, status: int):
    """Nothing else than yes is meant; the question names the database that will be another one."""
    database, copy = tmp_path / "quoter.db", tmp_path / "copy.db"
    for place in (database, copy):
        open_store(place).close()
    done = at_a_terminal(typed, "restore", copy, "--database", database)
    assert f"{database} shall hold this from now on, and nothing later? Type yes: " in done.stderr
    assert (done.returncode, f"{database} holds it now." in done.stdout) == (status, status == 0)
    assert len(list(tmp_path.glob("quoter.db*before*"))) == (status == 0)


def at_a_terminal(typed: str, *arguments: object) -> subprocess.CompletedProcess[str]:
    """`quoter` for somebody who types a line."""
    keyboard, terminal = os.openpty()
    try:
        os.write(keyboard, f"{typed}\n".encode())
        return subprocess.run(
            command(*arguments), stdin=terminal, capture_output=True, text=True, env=environment(), timeout=60
        )
    finally:
        os.close(keyboard)
        os.close(terminal)


def test_what_cannot_be_copied_or_put_back_is_said_in_a_line(tmp_path: Path):
    """No database, a file in the way, no copy."""
    database, text = tmp_path / "quoter.db", tmp_path / "letter.txt"
    text.write_text("Dear customer\n" * 500)
    assert "there is no database yet" in refused(quoter("backup", tmp_path / "c.db", "--database", database), 1)[0]
    assert not database.exists()
    quoter("key", "new", "--scope", "desk", "--name", "desk", "--database", database)
    assert "there is a file already" in refused(quoter("backup", text, "--database", database), 1)[0]
    assert "not a database" in refused(quoter("restore", text, "--yes", "--database", database), 1)[0]
    assert "no such file" in refused(quoter("restore", tmp_path / "none", "--yes", "--database", database), 1)[0]


def test_a_newer_database_is_refused_in_a_line(tmp_path: Path):
    """By every command that opens one."""
    database = tmp_path / "quoter.db"
    quoter("key", "new", "--scope", "desk", "--name", "desk", "--database", database)
    with closing(sqlite3.connect(database, isolation_level=None)) as connection:
        connection.execute(
            "insert into _sqlite_migrations (migration_set, name, applied_at) values ('quoter', 'teleportation', '')"
        )
    for arguments in (("key", "list"), ("serve", "--port", 0, "--book", BALLYQUARN)):
        (line,) = refused(quoter(*arguments, "--database", database), 1)
        assert "a newer version of this program" in line
