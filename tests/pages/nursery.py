"""Begins services as processes of their own that have imported all they need already.

To import it takes longer than most of what they are for. This module is imported by each of them, so it imports little.
"""

import multiprocessing
import os
import sys
from collections.abc import Callable
from multiprocessing.process import BaseProcess
from pathlib import Path

ROOT = Path(__file__).parents[2]

Program = Callable[[list[str]], int | None]

NURSERY = multiprocessing.get_context("forkserver")

IMPORTED = ["pytest", "waitress", "quoter.cli.serve", "quoter.serving", "tests.pages.warmed"]
"""Before anything begins: pytest, because each process reads the file that the tests were started with."""


def begun(program: Program, arguments: list[str], log: Path) -> BaseProcess:
    """A process that runs a program; what it prints goes to a file."""
    NURSERY.set_forkserver_preload(IMPORTED)
    process = NURSERY.Process(target=_run, args=(program, arguments, log))
    process.start()
    return process


def _run(program: Program, arguments: list[str], log: Path) -> None:
    with log.open("w") as output:
        for stream in (1, 2):
            os.dup2(output.fileno(), stream)
    os.chdir(ROOT)
    os.environ["QUOTER_WEBHOOK_NETWORKS"] = "127.0.0.0/8"
    sys.exit(program(arguments))
