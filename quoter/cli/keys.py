"""quoter key: makes, lists, changes, rotates and ends API keys."""

import argparse
import datetime as dt
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from quoter.cli.arguments import add_database, day_or_moment, name, opened_store, origin, settings_of, whole
from quoter.records.access import FORM, SCOPES, StoredKey

if TYPE_CHECKING:
    from quoter.service.access.keys import Keyring

MOST_DAYS = 36_500
MOST_OVERLAP_HOURS = 24 * 90
OVERLAP_HOURS = 24


def add_parser(commands: Any) -> None:
    """Declares the commands."""
    key = commands.add_parser("key", help="make, list, change and end API keys")
    actions = key.add_subparsers(required=True, metavar="ACTION")
    new = actions.add_parser("new", help="make a key and show it, this once")
    new.add_argument("--scope", choices=SCOPES, required=True)
    new.add_argument("--name", type=name, required=True, help="who holds it")
    new.add_argument("--economics", action="store_true", help="a desk key that may see cost, margin and floor")
    _add_origins(new, required=False)
    _add_end(new, "without end if absent")
    listed = actions.add_parser("list", help="list the keys, without their secrets")
    listed.add_argument("--all", action="store_true", help="also those that were revoked")
    change = actions.add_parser("change", help="tie a form's key to other sites")
    change.add_argument("id")
    _add_origins(change, required=True)
    rotate = actions.add_parser("rotate", help="make another key in the place of one, which ends a little later")
    rotate.add_argument("id")
    rotate.add_argument(
        "--overlap-hours",
        type=whole(range(MOST_OVERLAP_HOURS + 1)),
        default=OVERLAP_HOURS,
        help=f"how long the old one goes on counting; {OVERLAP_HOURS} if absent, 0 ends it at once",
    )
    _add_end(rotate, "as many days from now as the old one was made for if absent")
    revoke = actions.add_parser("revoke", help="end a key at once")
    revoke.add_argument("id")
    made = {new: _new, listed: _list, change: _change, rotate: _rotate, revoke: _revoke}
    for action, command in made.items():
        add_database(action)
        action.set_defaults(command=command, refuse=action.error)


def _add_origins(parser: argparse.ArgumentParser, *, required: bool) -> None:
    parser.add_argument(
        "--origin",
        dest="origins",
        type=origin,
        action="append",
        default=[],
        required=required,
        metavar="ORIGIN",
        help="a site whose pages may use a form's key, such as https://shop.example; may be repeated",
    )


def _add_end(parser: argparse.ArgumentParser, otherwise: str) -> None:
    end = parser.add_mutually_exclusive_group()
    end.add_argument("--days", type=whole(range(1, MOST_DAYS + 1)), help=f"how long it counts; {otherwise}")
    end.add_argument(
        "--expires",
        type=day_or_moment,
        metavar="DAY_OR_MOMENT",
        help="until when it counts: a day such as 2027-01-31, to its end in UTC, or a moment with its offset",
    )


@contextmanager
def _keyring(options: argparse.Namespace) -> Iterator["Keyring"]:
    from quoter.service.access.keys import Keyring
    from quoter.service.clock import utc_now
    from quoter.store.keys import Keys

    with opened_store(options) as store:
        yield Keyring(Keys(store), utc_now)


def _new(options: argparse.Namespace) -> int:
    if (options.scope == FORM) is not bool(options.origins):
        is_form = options.scope == FORM
        options.refuse(
            "argument --origin: "
            + ("a form's key needs the sites it is for" if is_form else "only a form's key has one")
        )
    until = _end(options)
    with _keyring(options) as keyring:
        presented, key = keyring.new(
            options.name, options.scope, sees_economics=options.economics, until=until, origins=options.origins
        )
    _show(presented, key)
    print(f"It is kept in {_database(options)}; it counts at a service with this database.", file=sys.stderr)
    return 0


def _database(options: argparse.Namespace) -> Path:
    """Which file, whatever folder the command was given in."""
    return settings_of(options).database.resolve()


def _end(options: argparse.Namespace) -> dt.datetime | None:
    """When the key shall end, if the options say so."""
    from quoter.service.clock import utc_now

    if options.days is not None:
        return utc_now() + dt.timedelta(days=options.days)
    until: dt.datetime | None = options.expires
    if until is not None and until <= utc_now():
        options.refuse(f"argument --expires: {until.isoformat()} is over")
    return until


def _show(presented: str, key: StoredKey) -> None:
    print(presented)
    print(f"Key {key.id} of scope {key.scope}. It is shown this once; keep it safe.", file=sys.stderr)


def _list(options: argparse.Namespace) -> int:
    from quoter.service.clock import stamp, utc_now

    with _keyring(options) as keyring:
        keys = keyring.keys.all()
    shown = [key for key in keys if options.all or not key.revoked_at]
    for key in shown:
        print("  ".join(_described(key, stamp(utc_now()))))
    hidden = len(keys) - len(shown)
    if hidden:
        told = "1 revoked key is not shown; --all shows it" if hidden == 1 else f"{hidden} revoked keys are not shown"
        print(told + ("." if hidden == 1 else "; --all shows them."), file=sys.stderr)
    return 0


def _described(key: StoredKey, now: str) -> Iterator[str]:
    yield key.id
    yield key.scope + (", sees economics" if key.sees_economics else "")
    yield key.name
    yield f"made {key.created_at}"
    if key.revoked_at:
        yield f"revoked {key.revoked_at}"
    elif key.counts_at(now):
        yield f"until {key.expires_at or ('the next start of the demo' if key.is_of_demo else 'revoked')}"
    else:
        yield f"over since {key.expires_at}"
    yield f"used {key.last_used_at}" if key.last_used_at else "never used"
    if key.origins:
        yield f"for {' '.join(key.origins)}"
    if key.replaces:
        yield f"in the place of {key.replaces}"


def _change(options: argparse.Namespace) -> int:
    with _keyring(options) as keyring:
        key = keyring.tie(options.id, options.origins)
    print(f"Key {key.id} counts for {' '.join(key.origins)}, and for no other site.", file=sys.stderr)
    return 0


def _rotate(options: argparse.Namespace) -> int:
    overlap, until = dt.timedelta(hours=options.overlap_hours), _end(options)
    with _keyring(options) as keyring:
        presented, new, old = keyring.rotate(options.id, overlap=overlap, until=until)
    _show(presented, new)
    print(f"Key {old.id}, whose place it takes, counts until {old.expires_at}.", file=sys.stderr)
    return 0


def _revoke(options: argparse.Namespace) -> int:
    with _keyring(options) as keyring:
        keyring.revoke(options.id)
    print(f"Key {options.id} counts no more.", file=sys.stderr)
    return 0
