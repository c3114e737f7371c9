"""One SQLite file: how it is opened, read and written. Nothing above this folder knows SQL."""

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from quoter.problems import Unreadable
from quoter.store.migrations import MIGRATIONS

WAIT_SECONDS = 10
PRAGMAS = ("journal_mode=wal", "synchronous=full", "foreign_keys=on")


class Store:
    """The database file. Every thread has a connection of its own; what `write` left is on disk when it ends."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._of_thread = threading.local()
        self._opened: list[sqlite3.Connection] = []
        self._migrate()

    @contextmanager
    def write(self) -> Iterator[Database]:
        """One transaction, taken at once (a deferred one fails where two read before they write)."""
        database = self._database()
        database.conn.execute("begin immediate")
        try:
            yield database
        except BaseException:
            database.conn.execute("rollback")
            raise
        database.conn.execute("commit")

    def rows(self, sql: str, values: dict[str, Any] | None = None) -> list[dict[str, Any]]:
        """What a select finds."""
        return list(self._database().query(sql, values or {}))

    def row(self, sql: str, values: dict[str, Any] | None = None) -> dict[str, Any] | None:
        """The first row that a select finds."""
        return next(iter(self.rows(sql, values)), None)

    def close(self) -> None:
        """Closes every connection, also those of threads that have ended."""
        while self._opened:
            self._opened.pop().close()
        self._of_thread = threading.local()

    def _database(self) -> Database:
        if not hasattr(self._of_thread, "database"):
            self._of_thread.database = Database(self._connect())
        return self._of_thread.database  # type: ignore[no-any-return]

    def _connect(self) -> sqlite3.Connection:
        try:
            # A connection is used by the thread that opened it; `close` alone comes from another.
            connection = sqlite3.connect(self.path, isolation_level=None, timeout=WAIT_SECONDS, check_same_thread=False)
            for pragma in PRAGMAS:
                connection.execute(f"pragma {pragma}")
        except sqlite3.Error as error:
            raise Unreadable(str(self.path), f"this cannot be used as the service's database: {error}") from None
        self._opened.append(connection)
        return connection

    def _migrate(self) -> None:
        """All pending migrations, together: several processes may start at once."""
        with self.write() as database:
            MIGRATIONS.apply(database)
