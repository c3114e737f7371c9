"""The command line: each command calls one use case. What is slow to import is imported where it is used."""

import argparse
import io
import os
import sys
from collections.abc import Sequence

from quoter.cli import books, copies, customers, keys, price, price_list, serve
from quoter.cli.arguments import Command
from quoter.config import WrongSettings
from quoter.problems import BookFlawed, Problem


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs a command. 0: done; 1: refused or flawed; 2: the command itself is wrong."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8")  # JSON is, wherever it is sent
    options = parser().parse_args(arguments)
    command: Command = options.command
    try:
        status = command(options)
        sys.stdout.flush()
        return status
    except BookFlawed as flawed:
        print(f"{books.counted(len(flawed.flaws), 'fault')}:\n{flawed}", file=sys.stderr)
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


def parser() -> argparse.ArgumentParser:
    """Every command with its arguments."""
    whole = argparse.ArgumentParser(prog="quoter", description="Quotes for repairs of phones, tablets and wearables.")
    commands = whole.add_subparsers(required=True, metavar="COMMAND")
    for part in (price, price_list, serve, books, keys, copies, customers):
        part.add_parser(commands)
    return whole
