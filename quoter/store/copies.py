"""Copies of the database: made while it is in use, checked before they count, put back whole."""

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlite_utils import Database

from quoter.problems import Unavailable, Unreadable
from quoter.store.migrations.in_order import IN_ORDER, MIGRATIONS

Progress = Callable[[int, int], None]
"""Called with pages that are done and pages in all."""

PAGES_AT_A_TIME = 2_000
WAIT_SECONDS = 10.0

_COUNTED = {"quotes": "quotes", "rate_books": "(select distinct code from book_versions)", "keys": "keys"}


@dataclass(frozen=True, slots=True)
class Contents:
    """What a database holds, to be told to whoever relies on it."""

    quotes: int
    rate_books: int
    keys: int
    newest_quote: str | None
    byte_count: int


def save_copy(source: Path, target: Path, progress: Progress | None = None) -> Contents:
    """Copies a database that may be in use: one moment of it, one file, checked and on disk before it has its name.

    Nobody who reads or writes waits for it. Raises Unreadable where the target exists, Unavailable where the source
    cannot be read, the target cannot be written, or the copy has faults.
    """
    if target.exists():
        raise Unreadable(str(target), "there is a file already; name another one")
    try:
        # A folder of its own, which only its owner may read, takes with it whatever a failure would leave.
        with TemporaryDirectory(prefix=f"{target.name}.", dir=target.parent) as folder:
            part = Path(folder) / target.name
            _copy(source, part, progress)
            found = contents(part)
            _sync(part)
            target.touch(exist_ok=False)  # takes the name, or finds it taken meanwhile
            part.replace(target)
    except OSError as error:
        raise Unavailable(str(target), f"the copy cannot be written: {error.strerror}") from None
    _sync(target.parent)
    return found


def _copy(source: Path, target: Path, progress: Progress | None) -> None:
    with _errors_of(source), closing(_opened(source)) as reading, closing(sqlite3.connect(target)) as writing:
        reading.execute("begin")
        reading.execute("select count(*) from sqlite_master")  # from here on it sees this moment
        reading.backup(writing, pages=PAGES_AT_A_TIME, progress=_progress(progress))
        writing.execute("pragma journal_mode=delete")  # one file, without a log beside it


def contents(path: Path) -> Contents:
    """What a copy holds, once it has been checked. Raises Unavailable where it is none, or has faults."""
    if not path.is_file():
        raise Unavailable(str(path), "there is no such file")
    with _errors_of(path), closing(_opened(path)) as connection:
        _refuse_faults(path, connection)
        refuse_newer(path, Database(connection))
        row = connection.execute("select number from quotes order by id desc limit 1").fetchone()
        return Contents(
            **{name: _count(connection, table) for name, table in _COUNTED.items()},
            newest_quote=row[0] if row else None,
            byte_count=path.stat().st_size,
        )


def put_back(copy: Path, database: Path, progress: Progress | None = None) -> Path | None:
    """Gives a database the contents of a copy, in one transaction; services that have it open go on with those.

    What the database held before is saved beside it; returns where, None where there was nothing. Raises Unavailable
    where the copy has faults or the database cannot be written: then it is as it was.
    """
    contents(copy)
    before = _put_aside(database) if database.exists() else None
    database.parent.mkdir(parents=True, exist_ok=True)
    with _errors_of(database), closing(_opened(copy)) as reading, closing(_opened(database)) as writing:
        reading.backup(writing, pages=-1, progress=_progress(progress))
        writing.execute("pragma journal_mode=wal")
    return before


def _put_aside(database: Path) -> Path:
    """Saves what is there; what is so damaged that it cannot be copied is moved away, log and all."""
    target = free_name(database, "before-restore")
    try:
        save_copy(database, target)
    except Unavailable:
        for ending in ("", "-wal", "-shm"):
            beside = database.with_name(database.name + ending)
            if beside.exists():
                beside.rename(target.with_name(target.name + ending))
    return target


def free_name(database: Path, why: str) -> Path:
    """A name beside the database that no file has yet."""
    names = (database.with_name(f"{database.name}.{why}{f'-{n}' if n > 1 else ''}") for n in count(1))
    return next(name for name in names if not name.exists())


def refuse_newer(path: Path, database: Database) -> None:
    """Raises Unavailable where a database has a shape that this program does not know, or no shape of this program."""
    known = {migration.__name__ for migration in IN_ORDER}
    had = {migration.name for migration in MIGRATIONS.applied(database)}
    if not had:
        raise Unavailable(str(path), "this is no database of this program")
    if had - known:
        newer = ", ".join(sorted(had - known))
        raise Unavailable(
            str(path),
            f"a newer version of this program has written this database (it has had: {newer}). Use that version, or "
            "put back the copy that was saved beside it before the upgrade: quoter restore COPY",
        )


def _refuse_faults(path: Path, connection: sqlite3.Connection) -> None:
    faults = [row[0] for row in connection.execute("pragma integrity_check(5)") if row[0] != "ok"]
    faults += [f"table {row[0]} refers to what is not there" for row in connection.execute("pragma foreign_key_check")]
    if faults:
        raise Unavailable(str(path), f"the database is damaged: {'; '.join(faults[:5])}")


def _count(connection: sqlite3.Connection, table: str) -> int:
    return int(connection.execute(f"select count(*) from {table}").fetchone()[0])


def _opened(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(path, isolation_level=None, timeout=WAIT_SECONDS)


def _progress(progress: Progress | None) -> Callable[[int, int, int], None] | None:
    if progress is None:
        return None
    return lambda _, remaining, total: progress(total - remaining, total)


@contextmanager
def _errors_of(path: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.Error as error:
        raise Unavailable(str(path), f"the database cannot be used: {error}") from error


def _sync(path: Path) -> None:
    """Lets a file, or the names in a folder, reach the disk."""
    if path.is_dir() and os.name == "nt":
        return  # Windows writes names by itself
    descriptor = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
