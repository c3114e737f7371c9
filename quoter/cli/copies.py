"""quoter backup and quoter restore: copies of the database."""

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from quoter.cli.arguments import add_database, counted, is_meant, settings_of

if TYPE_CHECKING:
    from quoter.store.copies import Contents, PutBack


def add_parser(commands: Any) -> None:
    """Declares the commands."""
    backup = commands.add_parser("backup", help="copy the database while it is in use, and check the copy")
    backup.add_argument("file", type=Path, metavar="FILE", help="where to; there must be no such file yet")
    backup.set_defaults(command=_backup)
    restore = commands.add_parser("restore", help="put a copy back; what is there now is saved beside it")
    restore.add_argument("file", type=Path, metavar="FILE", help="a copy that quoter backup made")
    restore.add_argument("--yes", action="store_true", help="do not ask")
    restore.set_defaults(command=_restore)
    for command in (backup, restore):
        add_database(command)


def _backup(options: argparse.Namespace) -> int:
    from quoter.problems import Unavailable
    from quoter.store.copies import save_copy

    database = settings_of(options).database
    if not database.is_file():
        raise Unavailable(str(database), "there is no database yet; name another one with --database FILE")
    print(f"{options.file}: {_told(save_copy(database, options.file, _shown_progress()))} Checked: no fault.")
    return 0


def _restore(options: argparse.Namespace) -> int:
    from quoter.store.copies import contents, put_back

    database = settings_of(options).database
    print(f"{options.file}: {_told(contents(options.file))}")
    if not options.yes and not is_meant(f"{database} shall hold this from now on, and nothing later?"):
        return 1
    done = put_back(options.file, database, _shown_progress())
    print(f"{database} holds it now. {_told_before(done)}")
    return 0


def _told_before(done: "PutBack") -> str:
    if done.was_damaged:
        return f"What was there is damaged, and is now {done.before}. Start services that had it open again."
    return f"What it held before: {done.before}" if done.before else "There was no database before."


def _told(found: "Contents") -> str:
    newest = f", the newest {found.newest_quote}" if found.newest_quote else ""
    kept = f"{counted(found.quotes, 'quote')}{newest}; {counted(found.rate_books, 'rate book')}"
    return f"{kept}; {counted(found.keys, 'key')}; {found.byte_count / 1e6:.1f} MB."


def _shown_progress() -> Callable[[int, int], None] | None:
    """On a terminal: how far it is."""
    if not sys.stderr.isatty():
        return None

    def show(done: int, total: int) -> None:
        print(f"\r{done * 100 // max(total, 1)} %", end="" if done < total else "\n", file=sys.stderr, flush=True)

    return show
