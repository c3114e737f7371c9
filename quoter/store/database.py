"""One SQLite file: how it is opened, read and written. Nothing above this folder knows SQL."""

import os
import sqlite3
import threading
import time
from collections.abc import Hashable, Iterator
from contextlib import contextmanager
from pathlib import Path
from shutil import disk_usage
from typing import Any

from sqlite_utils import Database

from quoter.problems import Unavailable
from quoter.store.copies import PRIMARY, free_name, refuse_newer, save_copy
from quoter.store.migrations.in_order import MIGRATIONS
from quoter.store.place import Place

WAIT_SECONDS = 10.0
PRAGMAS = ("synchronous=full", "foreign_keys=on", "secure_delete=on")
"""What is erased is overwritten, sqlite.org/pragma.html#pragma_secure_delete."""
PAUSE_SECONDS = 0.02

WHOLE = ("commit", ("rollback",))
PART = ("release part", ("rollback to part", "release part"))
"""How a transaction, or a part of one, is kept, and is undone."""

PROBE_MILLISECONDS = 1_000
"""For the lock, where somebody only asks whether the database can be used."""

MOST_REMEMBERED = 256
"""Things that a thread keeps of what it has read."""

LEAST_FREE_BYTES = 20_000_000
"""Room on the disk below which the database is not called usable: a large book takes some megabytes."""

UNUSABLE = {
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_LOCKED,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_CORRUPT,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_NOTADB,
}
"""Errors that lie with the file or the machine. Any other is a fault of this program."""


def insert(database: Database, table: str, row: dict[str, Any]) -> None:
    """One row as it is. sqlite-utils would look at the table first, each time."""
    columns, places = ", ".join(row), ", ".join(f":{column}" for column in row)
    database.conn.execute(f"insert into {table} ({columns}) values ({places})", row)


class Store:
    """The database file. Every thread has a connection of its own; what `write` left is on disk when it ends.

    Raises Unavailable where it is no database, stays locked, is full, or cannot be read or written, and before writing
    where its path leads to another file meanwhile, or to none.
    """

    def __init__(self, path: Path, *, wait_seconds: float = WAIT_SECONDS) -> None:
        self.path = path
        self._wait_seconds = wait_seconds
        self._of_thread = threading.local()
        self._opened: list[sqlite3.Connection] = []
        self._place = Place(path)
        self._turn = threading.Lock()
        self.waited_seconds = self.busy_seconds = 0.0  # for the lock for writing, and with it; added up under the lock
        try:
            self._migrate()
            self._place.take()
        except BaseException:
            self.close()
            raise

    @contextmanager
    def write(self) -> Iterator[Database]:
        """One transaction, taken at once (a deferred one fails where two read before they write).

        Within another of the same thread it is a part of that one: undone alone where it fails, kept with the whole.
        """
        database = self._database()
        with self._clear_errors():
            if self._is_gathering() and not database.conn.in_transaction:
                if self._of_thread.begun is not None:
                    raise Unavailable(str(self.path), "what was to be kept together has been undone")
                self._of_thread.begun = self._begun(database, is_part=False)
            is_part = database.conn.in_transaction
            keep, undo = PART if is_part else WHOLE
            begun = self._begun(database, is_part)
            try:
                yield database
                database.conn.execute(keep)
            except BaseException:
                if database.conn.in_transaction:  # a full disk has ended it already
                    for statement in undo:
                        database.conn.execute(statement)
                raise
            finally:
                if not is_part:
                    self._ended(begun)

    def _begun(self, database: Database, is_part: bool) -> float:
        """Begins a transaction or a part of one; returns when it had the lock.

        Threads wait for each other here: SQLite would let each sleep and look again, and whoever came last go first.
        """
        if is_part:
            database.conn.execute("savepoint part")
            return time.perf_counter()
        self._place.check()
        asked = time.perf_counter()
        if not self._turn.acquire(timeout=self._wait_seconds):
            raise Unavailable(str(self.path), "others write to the database for too long")
        try:
            database.conn.execute("begin immediate")
        except BaseException:
            self._turn.release()
            raise
        begun = time.perf_counter()
        self.waited_seconds += begun - asked
        return begun

    def _ended(self, begun: float) -> None:
        """After a transaction as a whole, kept or undone."""
        self.busy_seconds += time.perf_counter() - begun
        self._turn.release()

    def check_usable(self) -> None:
        """Reads, and takes the lock for writing, and leaves nothing. Raises Unavailable where the disk is full too."""
        self._place.check()
        database = self._database()
        with self._clear_errors():
            database.conn.execute("select number from quotes order by id desc limit 1")
            (patience,) = database.conn.execute("pragma busy_timeout").fetchone()
            database.conn.execute(f"pragma busy_timeout = {PROBE_MILLISECONDS}")
            try:
                database.conn.execute("begin immediate")
                database.conn.execute("rollback")
            finally:
                database.conn.execute(f"pragma busy_timeout = {patience}")
        if disk_usage(self.path.parent).free < LEAST_FREE_BYTES:
            raise Unavailable(str(self.path), "the disk of the database is full")

    def write_unless_busy(self, sql: str, values: dict[str, Any]) -> None:
        """One statement that may as well be left out. Raises Unavailable at once where somebody else is writing."""
        connection = self._database().conn
        with self._clear_errors():
            connection.execute("pragma busy_timeout = 0")
            try:
                connection.execute(sql, values)
            finally:
                connection.execute(f"pragma busy_timeout = {int(self._wait_seconds * 1000)}")

    @contextmanager
    def as_one(self) -> Iterator[None]:
        """Makes one transaction of all that this thread writes within it.

        It begins with the first write: what is read and worked out before that keeps nobody from writing.
        """
        if self._is_gathering() or self._database().conn.in_transaction:
            yield
            return
        connection = self._database().conn
        self._of_thread.gathering, self._of_thread.begun = True, None
        with self._clear_errors():
            try:
                yield
                if connection.in_transaction:
                    connection.execute("commit")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("rollback")
                raise
            finally:
                self._of_thread.gathering = False
                if self._of_thread.begun is not None:
                    self._ended(self._of_thread.begun)

    def rows(self, sql: str, values: dict[str, Any] | None = None) -> list[dict[str, Any]]:
        """What a select finds. sqlite-utils would put each into a savepoint, in case that it writes."""
        with self._clear_errors():
            cursor = self._database().conn.execute(sql, values or {})
            names = [column[0] for column in cursor.description]
            return [dict(zip(names, row, strict=True)) for row in cursor]

    def row(self, sql: str, values: dict[str, Any] | None = None) -> dict[str, Any] | None:
        """The first row that a select finds."""
        return next(iter(self.rows(sql, values)), None)

    def remembered(self) -> dict[Hashable, Any]:
        """What this thread keeps of what it has read: emptied as soon as anybody has written, by whichever connection
        of whichever process. To ask that takes a tenth of a select. Within a transaction nothing is kept.

        `data_version` tells of every other connection (sqlite.org/pragma.html#pragma_data_version), `total_changes` of
        this one.
        """
        connection = self._database().conn
        if connection.in_transaction:
            return {}
        with self._clear_errors():
            (others,) = connection.execute("pragma data_version").fetchone()
        state, kept = (others, connection.total_changes), self._of_thread
        if kept.state != state or len(kept.remembered) >= MOST_REMEMBERED:
            kept.state, kept.remembered = state, {}
        found: dict[Hashable, Any] = kept.remembered
        return found

    def settle(self, *, rebuilt: bool) -> bool:
        """Brings all that was written into the file and empties the log beside it, where erased bytes still stand.

        `rebuilt` writes the whole file anew before: overwriting reaches what is deleted, but not the copies that SQLite
        leaves behind in a page when it moves rows to another. False where somebody was still reading or writing after
        the usual wait, where there is no room, or within a transaction.
        """
        connection = self._database().conn
        if connection.in_transaction:
            return False
        try:
            if rebuilt:
                connection.execute("vacuum")
            busy, _, _ = connection.execute("pragma wal_checkpoint(truncate)").fetchone()
        except sqlite3.OperationalError:
            return False
        return not busy

    @property
    def size_bytes(self) -> int:
        """Of the file."""
        return self.path.stat().st_size

    def close(self) -> None:
        """Closes every connection, also those of threads that have ended."""
        self._place.forget()
        while self._opened:
            self._opened.pop().close()
        self._of_thread = threading.local()

    def _database(self) -> Database:
        if not hasattr(self._of_thread, "database"):
            self._of_thread.database = Database(self._connect())
            self._of_thread.state, self._of_thread.remembered = None, {}
        return self._of_thread.database  # type: ignore[no-any-return]

    def _is_gathering(self) -> bool:
        return getattr(self._of_thread, "gathering", False)

    def _connect(self) -> sqlite3.Connection:
        self._place.check()  # a file that is not there would be made anew, and empty
        with self._clear_errors():
            # A connection is used by the thread that opened it; `close` alone comes from another.
            connection = sqlite3.connect(
                self.path, isolation_level=None, timeout=self._wait_seconds, check_same_thread=False
            )
            try:
                self._write_ahead(connection)
                for pragma in PRAGMAS:
                    connection.execute(f"pragma {pragma}")
            except sqlite3.Error:
                connection.close()
                raise
        self._opened.append(connection)
        return connection

    def _write_ahead(self, connection: sqlite3.Connection) -> None:
        """Write-ahead logging. SQLite does not make those wait who begin a new file at the same time."""
        until = time.monotonic() + self._wait_seconds
        while True:
            try:
                connection.execute("pragma journal_mode=wal")
                return
            except sqlite3.OperationalError as error:
                if error.sqlite_errorcode & PRIMARY != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                    raise
            time.sleep(PAUSE_SECONDS)

    @contextmanager
    def _clear_errors(self) -> Iterator[None]:
        """What SQLite says of the file, as a problem."""
        try:
            yield
        except sqlite3.Error as error:
            if getattr(error, "sqlite_errorcode", 0) & PRIMARY not in UNUSABLE:
                raise
            raise Unavailable(str(self.path), f"the database cannot be used: {error}") from error

    def _migrate(self) -> None:
        """All pending migrations, together: several processes may start at once. A copy is saved before an upgrade."""
        with self.write() as database:
            if database.table_names():
                refuse_newer(self.path, database)
                if MIGRATIONS.pending(database):
                    self._save_before(MIGRATIONS.pending(database)[0].name)
            MIGRATIONS.apply(database)

    def _save_before(self, step: str) -> None:
        try:
            save_copy(self.path, free_name(self.path, f"before-{step}"))
        except Unavailable as error:
            detail = f"an upgrade needs a copy first, and there is none, so nothing has changed ({error})"
            raise Unavailable(str(self.path), detail) from error


def open_store(path: Path) -> Store:
    """The database, made where it is not there yet. Raises Unavailable."""
    if os.path.isdir(path):  # noqa: PTH112 - Path.is_dir fails where one may not look
        raise Unavailable(str(path), "this is a folder; name a file in it")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Unavailable(str(path), f"the folder of the database cannot be made: {error.strerror}") from None
    return Store(path)
