"""The command line: each command calls one use case. What is slow to import is imported where it is used."""

import argparse
import json
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from quoter.problems import BookFlawed, Problem

Command = Callable[[argparse.Namespace], int]


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs a command. 0: done; 1: refused or flawed; 2: the command itself is wrong."""
    options = _parser().parse_args(arguments)
    command: Command = options.command
    try:
        return command(options)
    except BookFlawed as flawed:
        print(f"{len(flawed.flaws)} flaws:\n{flawed}", file=sys.stderr)
    except Problem as problem:
        print(str(problem), file=sys.stderr)
    except BrokenPipeError:  # the reader has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="quoter", description="Quotes for repairs of phones, tablets and wearables.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _price_parser(commands)
    _serve_parser(commands)
    _book_parser(commands)
    _key_parser(commands)
    openapi = commands.add_parser("openapi", help="print the description of the API")
    openapi.set_defaults(command=_openapi)
    return parser


def _price_parser(commands: Any) -> None:
    price = commands.add_parser("price", help="price the job, or the list of jobs, in a JSON file")
    price.add_argument("--book", type=Path, required=True, metavar="DIR", help="the folder of the rate book")
    price.add_argument(
        "--locale", metavar="TAG", help="language of the formatted text; the job's or the book's if absent"
    )
    price.add_argument("job", metavar="JOB.json", help="a job, or a list of jobs; - reads standard input")
    price.set_defaults(command=_price)


def _serve_parser(commands: Any) -> None:
    serve = commands.add_parser("serve", help="start the service")
    serve.add_argument("--book", type=Path, action="append", metavar="DIR", help="a rate book; may be repeated")
    serve.add_argument("--database", type=Path, metavar="FILE", help="the SQLite file")
    serve.add_argument("--host", help="the address to listen on")
    serve.add_argument("--port", type=int, help="the port to listen on")
    serve.add_argument("--demo", action="store_true", help="make new demo keys, end the old ones, and show them")
    serve.set_defaults(command=_serve)


def _book_parser(commands: Any) -> None:
    book = commands.add_parser("book", help="look after a rate book").add_subparsers(required=True, metavar="ACTION")
    check = book.add_parser("check", help="print every flaw of a rate book")
    check.add_argument("folder", type=Path, metavar="DIR")
    check.set_defaults(command=_check)


def _key_parser(commands: Any) -> None:
    from quoter.records import SCOPES

    key = commands.add_parser("key", help="make, list and end API keys").add_subparsers(required=True, metavar="ACTION")
    new = key.add_parser("new", help="make a key and show it, this once")
    new.add_argument("--scope", choices=SCOPES, required=True)
    new.add_argument("--name", required=True, help="who holds it")
    new.add_argument("--economics", action="store_true", help="a desk key that may see cost, margin and floor")
    new.add_argument("--days", type=int, help="how long it counts; without end if absent")
    listed = key.add_parser("list", help="list the keys, without their secrets")
    revoke = key.add_parser("revoke", help="end a key at once")
    revoke.add_argument("id")
    for action, command in ((new, _new_key), (listed, _list_keys), (revoke, _revoke_key)):
        action.add_argument("--database", type=Path, metavar="FILE", help="the SQLite file")
        action.set_defaults(command=command)


def _price(options: argparse.Namespace) -> int:
    from quoter.api.offline import price_document
    from quoter.books.compile import open_book

    jobs = _json(options.job)
    answer, refused = price_document(jobs, open_book(options.book), options.locale)
    print(json.dumps(answer, ensure_ascii=False, indent=2))
    return 1 if refused else 0


def _json(source: str) -> Any:
    from quoter.api.offline import read_json

    return read_json(sys.stdin.buffer.read() if source == "-" else Path(source), source)


def _check(options: argparse.Namespace) -> int:
    from quoter.books.check import flaws
    from quoter.books.load import read_folder

    found = flaws(read_folder(options.folder))
    for flaw in found:
        print(flaw)
    print(f"{len(found)} flaws" if found else "no flaws", file=sys.stderr)
    return 1 if found else 0


def _serve(options: argparse.Namespace) -> int:
    from quoter.serving import serve

    return serve(_settings(options), demo=options.demo)


def _settings(options: argparse.Namespace) -> Any:
    from dataclasses import replace

    from quoter.config import WrongSettings, settings_from

    try:
        settings = settings_from(os.environ)
    except WrongSettings as wrong:
        raise SystemExit(f"{wrong}") from None
    given = {name: getattr(options, name, None) for name in ("database", "host", "port")}
    given["books"] = tuple(getattr(options, "book", None) or ())
    return replace(settings, **{name: value for name, value in given.items() if value})


def _keyring(options: argparse.Namespace) -> Any:
    from quoter.app import open_store
    from quoter.service.clock import utc_now
    from quoter.service.keys import Keyring
    from quoter.store.keys import Keys

    return Keyring(Keys(open_store(_settings(options).database)), utc_now)


def _new_key(options: argparse.Namespace) -> int:
    presented, key = _keyring(options).new(
        options.name, options.scope, sees_economics=options.economics, days=options.days
    )
    print(presented)
    print(f"Key {key.id} of scope {key.scope}. It is shown this once; keep it safe.", file=sys.stderr)
    return 0


def _list_keys(options: argparse.Namespace) -> int:
    for key in _keyring(options).keys.all():
        state = f"revoked {key.revoked_at}" if key.revoked_at else f"until {key.expires_at or 'revoked'}"
        economics = ", sees economics" if key.sees_economics else ""
        print(f"{key.id}  {key.scope}{economics}  {key.name}  made {key.created_at}  {state}")
    return 0


def _revoke_key(options: argparse.Namespace) -> int:
    _keyring(options).revoke(options.id)
    return 0


def _openapi(options: argparse.Namespace) -> int:
    import quoter.app  # noqa: F401 - declares every operation
    from quoter.api.docs import description_bytes

    sys.stdout.write(description_bytes().decode())
    return 0


if __name__ == "__main__":
    sys.exit(main())
