"""The command line: each command calls one use case. What is slow to import is imported where it is used."""

import argparse
import io
import json
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

from quoter.config import WHOLE, Settings, WrongSettings, settings_from, variable
from quoter.problems import BookFlawed, Problem
from quoter.records import SCOPES

Command = Callable[[argparse.Namespace], int]

LONGEST_NAME, MOST_DAYS = 100, 36_500
"""Of a key."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs a command. 0: done; 1: refused or flawed; 2: the command itself is wrong."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8")  # JSON is, wherever it is sent
    options = _parser().parse_args(arguments)
    command: Command = options.command
    try:
        status = command(options)
        sys.stdout.flush()
        return status
    except BookFlawed as flawed:
        print(f"{len(flawed.flaws)} flaws:\n{flawed}", file=sys.stderr)
    except Problem as problem:
        print(str(problem), file=sys.stderr)
    except WrongSettings as wrong:
        print(str(wrong), file=sys.stderr)
        return 2
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
        "--locale",
        type=_locale,
        metavar="TAG",
        help="language of the formatted text; the job's or the book's if absent",
    )
    price.add_argument("job", metavar="JOB.json", help="a job, or a list of jobs; - reads standard input")
    price.set_defaults(command=_price)


def _serve_parser(commands: Any) -> None:
    serve = commands.add_parser(
        "serve",
        help="start the service",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="settings in the environment, which an option overrides:\n" + _settings_help(),
    )
    serve.add_argument("--book", type=Path, action="append", metavar="DIR", help="a rate book; may be repeated")
    serve.add_argument("--database", type=Path, metavar="FILE", help="the SQLite file")
    serve.add_argument("--host", help="the address to listen on")
    serve.add_argument("--port", type=_whole(WHOLE["port"]), help="the port to listen on; 0 takes one that is free")
    serve.add_argument("--demo", action="store_true", help="make new demo keys, end the old ones, and show them")
    serve.set_defaults(command=_serve)


def _settings_help() -> str:
    return "\n".join(f"  {variable(setting.name)}: {setting.metadata['help']}" for setting in fields(Settings))


def _book_parser(commands: Any) -> None:
    book = commands.add_parser("book", help="look after a rate book").add_subparsers(required=True, metavar="ACTION")
    check = book.add_parser("check", help="print every flaw of a rate book")
    check.add_argument("folder", type=Path, metavar="DIR")
    check.set_defaults(command=_check)


def _key_parser(commands: Any) -> None:
    key = commands.add_parser("key", help="make, list and end API keys").add_subparsers(required=True, metavar="ACTION")
    new = key.add_parser("new", help="make a key and show it, this once")
    new.add_argument("--scope", choices=SCOPES, required=True)
    new.add_argument("--name", type=_name, required=True, help="who holds it")
    new.add_argument("--economics", action="store_true", help="a desk key that may see cost, margin and floor")
    new.add_argument("--days", type=_whole(range(1, MOST_DAYS + 1)), help="how long it counts; without end if absent")
    listed = key.add_parser("list", help="list the keys, without their secrets")
    revoke = key.add_parser("revoke", help="end a key at once")
    revoke.add_argument("id")
    for action, command in ((new, _new_key), (listed, _list_keys), (revoke, _revoke_key)):
        action.add_argument("--database", type=Path, metavar="FILE", help="the SQLite file")
        action.set_defaults(command=command)


def _whole(allowed: range) -> Callable[[str], int]:
    def whole(text: str) -> int:
        if not (text.isdecimal() and len(text) < 10 and int(text) in allowed):
            raise argparse.ArgumentTypeError(
                f"{text!r} is not a whole number from {allowed.start} to {allowed.stop - 1}"
            )
        return int(text)

    return whole


def _name(text: str) -> str:
    if not (text.isprintable() and text.strip() and len(text) <= LONGEST_NAME):
        raise argparse.ArgumentTypeError(f"a name is 1 to {LONGEST_NAME} characters that can be printed")
    return text


def _locale(tag: str) -> str:
    from quoter.words.locales import known_locale

    if not known_locale(tag):
        raise argparse.ArgumentTypeError(f"{tag!r} is not a known locale; a language tag such as en-IE is")
    return tag


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


def _settings(options: argparse.Namespace) -> Settings:
    given = {name: getattr(options, name, None) for name in ("database", "host", "port")}
    given["books"] = tuple(options.book) if getattr(options, "book", None) else None
    return replace(settings_from(os.environ), **{name: value for name, value in given.items() if value is not None})


@contextmanager
def _keyring(options: argparse.Namespace) -> Iterator[Any]:
    from quoter.app import open_store
    from quoter.service.clock import utc_now
    from quoter.service.keys import Keyring
    from quoter.store.keys import Keys

    with closing(open_store(_settings(options).database)) as store:
        yield Keyring(Keys(store), utc_now)


def _new_key(options: argparse.Namespace) -> int:
    with _keyring(options) as keyring:
        presented, key = keyring.new(options.name, options.scope, sees_economics=options.economics, days=options.days)
    print(presented)
    print(f"Key {key.id} of scope {key.scope}. It is shown this once; keep it safe.", file=sys.stderr)
    return 0


def _list_keys(options: argparse.Namespace) -> int:
    with _keyring(options) as keyring:
        keys = keyring.keys.all()
    for key in keys:
        state = f"revoked {key.revoked_at}" if key.revoked_at else f"until {key.expires_at or 'revoked'}"
        economics = ", sees economics" if key.sees_economics else ""
        print(f"{key.id}  {key.scope}{economics}  {key.name}  made {key.created_at}  {state}")
    return 0


def _revoke_key(options: argparse.Namespace) -> int:
    with _keyring(options) as keyring:
        keyring.revoke(options.id)
    return 0


def _openapi(options: argparse.Namespace) -> int:
    import quoter.app  # noqa: F401 - declares every operation
    from quoter.api.docs import description_bytes

    sys.stdout.write(description_bytes().decode())
    return 0


if __name__ == "__main__":
    sys.exit(main())
