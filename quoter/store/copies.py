"""Copies of the database: made while it is in use, checked before they count, put back whole."""

import os
import sqlite3
import stat
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlite_utils import Database

from quoter.problems import Damaged, Unavailable, Unreadable
from quoter.store.migrations.in_order import IN_ORDER, MIGRATIONS

Progress = Callable[[int, int], None]
"""Called with pages that are done and pages in all."""

PAGES_AT_A_TIME = 2_000
FIRST_PAGES = 8
"""Fewer than any database of this program has, so that the first step of putting it back is not the last."""

WAIT_SECONDS = 10.0
PATIENCE_SECONDS = 3 * WAIT_SECONDS
"""For the lock, where others write one after the other."""

PRIMARY = 0xFF
"""The part of an extended error code that says which error it is, sqlite.org/rescode.html."""

OF_WHAT_IS_WRITTEN = {sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_IOERR_FSYNC}
OF_CONTENTS = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}

NOT_OURS = "this is no database of this program"

_COUNTED = {"quotes": "quotes", "rate_books": "(select distinct code from book_versions)", "keys": "keys"}


@dataclass(frozen=True, slots=True)
class Contents:
    """What a database holds, to be told to whoever relies on it."""

    quotes: int
    rate_books: int
    keys: int
    newest_quote: str | None
    byte_count: int


@dataclass(frozen=True, slots=True)
class PutBack:
    """What became of what a database held: where it was saved, None where there was nothing.

    What `was_damaged` has been moved there as it was, and a service that had it open must be started again.
    """

    before: Path | None
    was_damaged: bool = False


def save_copy(source: Path, target: Path, progress: Progress | None = None) -> Contents:
    """Copies a database that may be in use: one moment of it, one file, checked and on disk before it has its name.

    Nobody who reads or writes waits for it. It is as open to others as the source. Raises Unreadable where the target
    exists, Unavailable where the source cannot be read or the target cannot be written, Damaged where it has faults.
    """
    if target.exists():
        raise Unreadable(str(target), "there is a file already; name another one")
    with _written_beside(target) as part:
        _copy(source, part, target, progress)
        found = contents(part, of=source)
        _finish(part, like=source)
        _take_name(part, target)
    return found


def contents(path: Path, of: Path | None = None) -> Contents:
    """What a copy holds, once it has been checked. Raises Unavailable where it is none, Damaged where it has faults.

    `of` is what faults are said of, where the path is only a place for the moment.
    """
    named = of or path
    if not path.is_file():
        raise Unavailable(str(named), "there is no such file")
    with _errors_of(named), closing(_opened(path)) as connection:
        _refuse_faults(named, connection)
        refuse_newer(named, Database(connection))
        row = connection.execute("select number from quotes order by id desc limit 1").fetchone()
        return Contents(
            **{name: _count(connection, table) for name, table in _COUNTED.items()},
            newest_quote=row[0] if row else None,
            byte_count=path.stat().st_size,
        )


def put_back(copy: Path, database: Path, progress: Progress | None = None) -> PutBack:
    """Gives a database the contents of a copy, in one transaction; services that have it open go on with those.

    What it held until that moment is saved beside it. Raises Unavailable where the copy has faults or the database
    cannot be used, Unreadable where its place is taken by a folder or by the copy: then everything is as it was.
    """
    contents(copy)
    before = free_name(database, "before-restore")
    if not database.exists():
        database.parent.mkdir(parents=True, exist_ok=True)
        _put_in_place(copy, database, before, like=copy, progress=progress)
        return PutBack(before=None)
    if not database.is_file():
        raise Unreadable(str(database), "this is a folder; name the file of the database")
    if copy.samefile(database):
        raise Unreadable(str(copy), "this is the database itself; name a copy of it")
    try:
        _overwrite(copy, database, before, progress)
    except Damaged:
        before.unlink(missing_ok=True)
        _put_in_place(copy, database, before, like=database, progress=progress)
        return PutBack(before, was_damaged=True)
    except Unavailable:
        before.unlink(missing_ok=True)  # the transaction has been undone
        raise
    return PutBack(before)


def _overwrite(copy: Path, database: Path, before: Path, progress: Progress | None) -> None:
    """One transaction of the database. What it holds is saved within it: nobody can write in between.

    With a write-ahead log others go on reading what was there before the transaction, and so does whoever saves it.
    """
    until = time.monotonic() + PATIENCE_SECONDS

    def after_each_step(_: int, remaining: int, total: int) -> None:
        has_the_lock = remaining < total  # a step that found it taken has copied nothing
        if has_the_lock and not before.exists():
            _save_what_is_there(database, before)
        if not has_the_lock and time.monotonic() > until:
            raise Unavailable(str(database), "others write to it for too long; stop the service first")
        if progress:
            progress(total - remaining, total)

    with _errors_of(database), closing(_opened(copy)) as reading, closing(_opened(database)) as writing:
        _refuse_foreign(database, Database(writing))
        writing.execute("pragma journal_mode=wal")
        reading.execute("begin")
        reading.backup(writing, pages=FIRST_PAGES, progress=after_each_step)


def _save_what_is_there(database: Path, before: Path) -> None:
    """Whatever version of this program wrote it; only its pages are checked."""
    with _written_beside(before) as part:
        _copy(database, part, before)
        with _errors_of(database), closing(_opened(part)) as connection:
            _refuse_faults(database, connection)
        _finish(part, like=database)
        _take_name(part, before)


def _put_in_place(copy: Path, database: Path, aside: Path, *, like: Path, progress: Progress | None) -> None:
    """Where there is nothing to be overwritten. What is there, damaged or a log without its file, is moved aside.

    A log that stayed would be taken for the new file's.
    """
    with _written_beside(database) as part:
        _copy(copy, part, database, progress)
        _finish(part, like)
        for ending in ("", "-wal", "-shm"):
            beside = database.with_name(database.name + ending)
            if beside.exists():
                beside.rename(aside.with_name(aside.name + ending))
        part.replace(database)


@contextmanager
def _written_beside(target: Path) -> Iterator[Path]:
    """A path in a folder of its own, which only its owner may read; it takes with it whatever a failure would leave."""
    try:
        with TemporaryDirectory(prefix=f"{target.name}.", dir=target.parent) as folder:
            yield Path(folder) / target.name
        _sync(target.parent)
    except OSError as error:
        raise Unavailable(str(target), f"it cannot be written: {error.strerror}") from None


def _copy(source: Path, part: Path, target: Path, progress: Progress | None = None) -> None:
    """One moment of the source into a file that is to become the target."""
    with _errors_of(source, written=target), closing(_opened(source)) as reading:
        reading.execute("begin")
        reading.execute("select count(*) from sqlite_master")  # from here on it sees this moment
        with closing(sqlite3.connect(part)) as writing:
            reading.backup(writing, pages=PAGES_AT_A_TIME, progress=_progress(progress))
            writing.execute("pragma journal_mode=delete")  # one file, without a log beside it


def _finish(part: Path, like: Path) -> None:
    """On disk, and for those who may read what it is a copy of: customers stand in it."""
    _sync(part)
    model = like.stat()
    if hasattr(os, "chown"):
        with suppress(PermissionError):  # only root may give files away
            os.chown(part, model.st_uid, model.st_gid)
    part.chmod(stat.S_IMODE(model.st_mode) | stat.S_IWUSR)  # of a copy that nobody may change, too


def _take_name(part: Path, target: Path) -> None:
    """Takes the name, or finds it taken meanwhile."""
    target.touch(exist_ok=False)
    part.replace(target)


def free_name(database: Path, why: str) -> Path:
    """A name beside the database that no file has yet."""
    names = (database.with_name(f"{database.name}.{why}{f'-{n}' if n > 1 else ''}") for n in count(1))
    return next(name for name in names if not name.exists())


def refuse_newer(path: Path, database: Database) -> None:
    """Raises Unavailable where a database has a shape that this program does not know, or no shape of this program."""
    known = {migration.__name__ for migration in IN_ORDER}
    had = {migration.name for migration in MIGRATIONS.applied(database)}
    if not had:
        raise Unavailable(str(path), NOT_OURS)
    if had - known:
        newer = ", ".join(sorted(had - known))
        raise Unavailable(
            str(path),
            f"a newer version of this program has written this database (it has had: {newer}). Use that version, or "
            "put back the copy that was saved beside it before the upgrade: quoter restore COPY",
        )


def _refuse_foreign(path: Path, database: Database) -> None:
    if database.table_names() and not MIGRATIONS.applied(database):
        raise Unavailable(str(path), NOT_OURS)


def _refuse_faults(path: Path, connection: sqlite3.Connection) -> None:
    faults = [row[0] for row in connection.execute("pragma integrity_check(5)") if row[0] != "ok"]
    faults += [f"table {row[0]} refers to what is not there" for row in connection.execute("pragma foreign_key_check")]
    if faults:
        raise Damaged(str(path), f"the database is damaged: {'; '.join(faults[:5])}")


def _count(connection: sqlite3.Connection, table: str) -> int:
    return int(connection.execute(f"select count(*) from {table}").fetchone()[0])


def _opened(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(path, isolation_level=None, timeout=WAIT_SECONDS)


def _progress(progress: Progress | None) -> Callable[[int, int, int], None] | None:
    if progress is None:
        return None
    return lambda _, remaining, total: progress(total - remaining, total)


@contextmanager
def _errors_of(path: Path, written: Path | None = None) -> Iterator[None]:
    """What SQLite says, as a problem of the file that it is about: of one that is read, or of one that is written."""
    try:
        yield
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", 0)
        if written and code in OF_WHAT_IS_WRITTEN:
            raise Unavailable(str(written), f"it cannot be written: {error}") from error
        kind = Damaged if code & PRIMARY in OF_CONTENTS else Unavailable
        raise kind(str(path), f"the database cannot be used: {error}") from error


def _sync(path: Path) -> None:
    """Lets a file, or the names in a folder, reach the disk."""
    if path.is_dir() and os.name == "nt":
        return  # Windows writes names by itself
    descriptor = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
