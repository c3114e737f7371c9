"""Runs the benchmarks: `python -m benchmarks`, or `make bench`. Nothing fails by being slow."""

import argparse
import datetime as dt
import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from benchmarks import machine, report
from benchmarks.clock import progress
from benchmarks.devices import devices
from benchmarks.effect import effect
from benchmarks.engine import engine
from benchmarks.figures import Section
from benchmarks.growth import growth
from benchmarks.price_list import price_list
from benchmarks.resident import resident
from benchmarks.scale import LONG, NORMAL, QUICK, Scale
from benchmarks.service import served
from benchmarks.spreadsheet import spreadsheet
from benchmarks.start import start
from benchmarks.text import text

SECTIONS: dict[str, Callable[[Scale], Section]] = {
    "engine": engine,
    "text": text,
    "service": served,
    "memory": resident,
    "price-list": price_list,
    "growth": growth,
    "effect": effect,
    "devices": devices,
    "spreadsheet": spreadsheet,
    "start": start,
}
"""Each measures one subject and knows nothing of the others: a new one is a module and a row here."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Measures what is asked for, prints the table and, if wanted, writes the JSON."""
    options = _parser().parse_args(arguments)
    names = options.only or SECTIONS
    run = {
        "date": dt.datetime.now(dt.UTC).isoformat(timespec="seconds"),
        "quick": options.quick,
        "machine": machine.machine(),
        "python": machine.python(),
        "packages": machine.packages(),
    }
    sections = {}
    for name in names:
        progress(f"{name} …")
        sections[name] = SECTIONS[name](_scale(options))
    print(report.table(run, sections))
    if options.json:
        options.json.write_text(json.dumps(report.document(run, sections), ensure_ascii=False, indent=2), "utf-8")
    return 0


def _scale(options: argparse.Namespace) -> Scale:
    return QUICK if options.quick else LONG if options.long else NORMAL


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m benchmarks", description="Measures the engine and its surroundings."
    )
    parser.add_argument("--only", action="append", choices=SECTIONS, help="measure this alone; may be repeated")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write every sample to a file as well")
    size = parser.add_mutually_exclusive_group()
    size.add_argument("--long", action="store_true", help="also the largest books and most quotes, which take long")
    size.add_argument("--quick", action="store_true", help="see that everything runs; the figures mean nothing")
    return parser


if __name__ == "__main__":
    sys.exit(main())
