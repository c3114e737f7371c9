"""quoter key: makes, lists and ends API keys."""

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from quoter.cli.arguments import add_database, name, opened_store, origin, whole
from quoter.records.access import FORM, SCOPES

if TYPE_CHECKING:
    from quoter.service.keys import Keyring

MOST_DAYS = 36_500


def add_parser(commands: Any) -> None:
    """Declares the commands."""
    key = commands.add_parser("key", help="make, list and end API keys").add_subparsers(required=True, metavar="ACTION")
    new = key.add_parser("new", help="make a key and show it, this once")
    new.add_argument("--scope", choices=SCOPES, required=True)
    new.add_argument("--name", type=name, required=True, help="who holds it")
    new.add_argument("--economics", action="store_true", help="a desk key that may see cost, margin and floor")
    new.add_argument("--days", type=whole(range(1, MOST_DAYS + 1)), help="how long it counts; without end if absent")
    new.add_argument(
        "--origin",
        dest="origins",
        type=origin,
        action="append",
        default=[],
        metavar="ORIGIN",
        help="a site whose pages may use a form key, such as https://shop.example; may be repeated",
    )
    new.set_defaults(refuse=new.error)
    listed = key.add_parser("list", help="list the keys, without their secrets")
    revoke = key.add_parser("revoke", help="end a key at once")
    revoke.add_argument("id")
    for action, command in ((new, _new), (listed, _list), (revoke, _revoke)):
        add_database(action)
        action.set_defaults(command=command)


@contextmanager
def _keyring(options: argparse.Namespace) -> Iterator["Keyring"]:
    from quoter.service.clock import utc_now
    from quoter.service.keys import Keyring
    from quoter.store.keys import Keys

    with opened_store(options) as store:
        yield Keyring(Keys(store), utc_now)


def _new(options: argparse.Namespace) -> int:
    if (options.scope == FORM) is not bool(options.origins):
        is_form = options.scope == FORM
        options.refuse(
            "argument --origin: " + ("a form key needs the sites it is for" if is_form else "only a form key has one")
        )
    with _keyring(options) as keyring:
        presented, key = keyring.new(
            options.name,
            options.scope,
            sees_economics=options.economics,
            days=options.days,
            origins=options.origins,
        )
    print(presented)
    print(f"Key {key.id} of scope {key.scope}. It is shown this once; keep it safe.", file=sys.stderr)
    return 0


def _list(options: argparse.Namespace) -> int:
    with _keyring(options) as keyring:
        keys = keyring.keys.all()
    for key in keys:
        state = f"revoked {key.revoked_at}" if key.revoked_at else f"until {key.expires_at or 'revoked'}"
        economics = ", sees economics" if key.sees_economics else ""
        print(f"{key.id}  {key.scope}{economics}  {key.name}  made {key.created_at}  {state}")
    return 0


def _revoke(options: argparse.Namespace) -> int:
    with _keyring(options) as keyring:
        keyring.revoke(options.id)
    return 0
