"""What several commands have in common: values of arguments, settings, the database, a question."""

import argparse
import datetime as dt
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from quoter.config import Configured, Settings
    from quoter.store.database import Store

Command = Callable[[argparse.Namespace], int]

LONGEST_NAME = 100


def whole(allowed: range) -> Callable[[str], int]:
    """A whole number in a range."""

    def number(text: str) -> int:
        if not (text.isdecimal() and len(text) < 10 and int(text) in allowed):
            raise argparse.ArgumentTypeError(
                f"{text!r} is not a whole number from {allowed.start} to {allowed.stop - 1}"
            )
        return int(text)

    return number


def name(text: str) -> str:
    """Who holds a key."""
    if not (text.isprintable() and text.strip() and len(text) <= LONGEST_NAME):
        raise argparse.ArgumentTypeError(f"a name is 1 to {LONGEST_NAME} characters that can be printed")
    return text


def origin(text: str) -> str:
    """The origin of a site, as browsers write it."""
    from quoter.service.access.origins import WrongOrigin, origin_of

    try:
        return origin_of(text)
    except WrongOrigin as wrong:
        raise argparse.ArgumentTypeError(str(wrong)) from None


def locale(tag: str) -> str:
    """A language tag for which there are formats."""
    from quoter.words.locales import known_locale

    if not known_locale(tag):
        raise argparse.ArgumentTypeError(f"{tag!r} is not a known locale; a language tag such as en-IE is")
    return tag


def moment(text: str) -> dt.datetime:
    """A moment with its offset from UTC."""
    try:
        found = dt.datetime.fromisoformat(text)
        found.astimezone(dt.UTC)
    except (ValueError, OverflowError):
        found = None
    if found is None or found.utcoffset() is None:
        raise argparse.ArgumentTypeError(f"{text!r} is not a moment such as 2026-12-01T08:00:00+00:00")
    return found


def day_or_moment(text: str) -> dt.datetime:
    """A moment with its offset, or a day, which is over when it is over in UTC."""
    try:
        return dt.datetime.combine(dt.date.fromisoformat(text), dt.time(), dt.UTC) + dt.timedelta(days=1)
    except (ValueError, OverflowError):
        pass
    try:
        return moment(text)
    except argparse.ArgumentTypeError:
        examples = "a day such as 2027-01-31 nor a moment such as 2027-01-31T18:00:00+01:00"
        raise argparse.ArgumentTypeError(f"{text!r} is neither {examples}") from None


def add_database(parser: argparse.ArgumentParser) -> None:
    """The options that every command on kept things has."""
    from quoter.config import FILE

    parser.add_argument("--database", metavar="FILE", help="the SQLite file")
    parser.add_argument("--settings", type=Path, metavar="FILE", help=f"a file of settings, else the one of {FILE}")


def configured_by(options: argparse.Namespace) -> "Configured":
    """The settings of the file and the environment, with what the options say instead, and where each comes from."""
    from quoter.config import NAMES, configured

    given = {name: getattr(options, name, None) for name in NAMES}
    given["books"] = getattr(options, "book", None)
    said = {name: value for name, value in given.items() if isinstance(value, str | list)}
    return configured(os.environ, said, getattr(options, "settings", None))


def settings_of(options: argparse.Namespace) -> "Settings":
    """The settings that count for a command."""
    return configured_by(options).settings


@contextmanager
def opened_store(options: argparse.Namespace) -> Iterator["Store"]:
    """The database that the options or the settings name."""
    from quoter.store.database import open_store

    with closing(open_store(settings_of(options).database)) as store:
        yield store


def counted(number: int, thing: str) -> str:
    """No faults, 1 fault, 2 faults."""
    return f"{number or 'no'} {thing}{'' if number == 1 else 's'}"


def is_meant(question: str) -> bool:
    """Asks on a terminal. Without one nobody can answer, so that only --yes says that it is meant."""
    if not sys.stdin.isatty():
        print("Nobody can be asked here; --yes says that it is meant.", file=sys.stderr)
        return False
    print(f"{question} Type yes: ", end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip().casefold() == "yes"
