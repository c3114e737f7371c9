"""The command line: each command calls one use case. What is slow to import is imported where it is used."""

import argparse
import gc
import io
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Any

from quoter.cli.arguments import Command, counted
from quoter.problems import BookFlawed, Problem
from quoter.setting_kinds import WrongSettings

COMMANDS = {
    "price": "price",
    "openapi": "price",
    "price-list": "price_list",
    "serve": "serve",
    "settings": "serve",
    "book": "books",
    "key": "keys",
    "backup": "copies",
    "restore": "copies",
    "customer": "customers",
}
"""The module of each. Only that of the command that is asked for is imported; whoever asks for help sees all."""

COLLECT_EVERY = 50_000
"""Objects after which the garbage collector looks for circles. A start makes as many that stay, and its own 700 would
take a sixth of the time to the first price."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs a command. 0: done; 1: refused or flawed; 2: the command itself is wrong."""
    gc.set_threshold(COLLECT_EVERY)
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8")  # JSON is, wherever it is sent
    given = sys.argv[1:] if arguments is None else arguments
    options = parser(given[0] if given else "").parse_args(given)
    command: Command = options.command
    try:
        status = command(options)
        sys.stdout.flush()
        return status
    except BookFlawed as flawed:
        print(f"{counted(len(flawed.flaws), 'fault')}:\n{flawed}", file=sys.stderr)
    except Problem as problem:
        print(str(problem), file=sys.stderr)
    except WrongSettings as wrong:
        print(str(wrong), file=sys.stderr)
        return 2
    except BrokenPipeError:  # the reader has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, UnicodeError) as error:
        print(f"this cannot be done: {error}", file=sys.stderr)
    return 1


def parser(command: str = "") -> argparse.ArgumentParser:
    """The command with its arguments; every command where there is none of this name."""
    whole = argparse.ArgumentParser(prog="quoter", description="Quotes for repairs of phones, tablets and wearables.")
    whole.add_argument("--version", action=_Version, nargs=0, help="print the version of the program and end")
    commands = whole.add_subparsers(required=True, metavar="COMMAND", prog="quoter")
    for part in [COMMANDS[command]] if command in COMMANDS else dict.fromkeys(COMMANDS.values()):
        import_module(f"quoter.cli.{part}").add_parser(commands)
    return whole


class _Version(argparse.Action):
    """Looks the version up where pip keeps it, once somebody asks: no other command waits for that."""

    def __call__(self, parser: argparse.ArgumentParser, *_: Any) -> None:
        """Prints it and ends."""
        from importlib.metadata import version

        print(f"quoter {version('quoter')}")
        parser.exit()
