"""Runs tests again and again and names those that do not always pass (make steady, RUNS=20 ONLY="tests/wire").

Each run has processes of its own, as every `make test` has. Tests that only compute end alike each time, since
hypothesis is repeatable here: this is for those with clocks, threads, processes, sockets and a browser.
"""

import argparse
import subprocess
import sys
import time
import xml.etree.ElementTree as ET
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory

Outcomes = dict[str, str]
"""Each test by file and name: passed, failed, error or skipped."""

FAULTS = {"failure": "failed", "error": "error", "skipped": "skipped"}
BROKEN = {"failed", "error"}


def main() -> int:
    """Runs the tests as often as is asked for and sums the runs up; 1 where any test failed in any of them."""
    options = parser().parse_args()
    runs = []
    for number in range(1, options.runs + 1):
        began = time.monotonic()
        runs.append(one_run(options.workers, options.tests))
        print(f"run {number} of {options.runs}: {counted(runs[-1])}, {time.monotonic() - began:.0f} s", flush=True)
    return summed_up(runs)


def parser() -> argparse.ArgumentParser:
    """What may be said on the command line."""
    made = argparse.ArgumentParser(description="Runs tests again and again and names those that do not always pass.")
    made.add_argument("--runs", type=int, default=20)
    made.add_argument("--workers", default="auto", help="processes that run tests at the same time")
    made.add_argument("tests", nargs="*", default=["tests"], help="files or folders; otherwise all")
    return made


def one_run(workers: str, tests: list[str]) -> Outcomes:
    """What became of each test; what pytest says is printed where one failed, or where it could not run to its end."""
    with TemporaryDirectory() as folder:
        report = Path(folder) / "report.xml"
        side_by_side = ["-n", workers, "--maxprocesses", "8", "--dist", "worksteal"]
        command = [sys.executable, "-m", "pytest", "-q", "--tb=short", *side_by_side, f"--junit-xml={report}", *tests]
        done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        if done.returncode:
            print(done.stdout, flush=True)
        return outcomes(report) if report.exists() else {}


def outcomes(report: Path) -> Outcomes:
    """Each test of a report in JUnit's form."""
    cases = ET.parse(report).getroot().iter("testcase")
    return {f"{case.get('classname')}::{case.get('name')}": outcome(case) for case in cases}


def outcome(case: ET.Element) -> str:
    """What became of one test."""
    return next((FAULTS[child.tag] for child in case if child.tag in FAULTS), "passed")


def counted(run: Outcomes) -> str:
    """How many ended in which way."""
    return ", ".join(f"{count} {became}" for became, count in sorted(Counter(run.values()).items())) or "nothing ran"


def summed_up(runs: list[Outcomes]) -> int:
    """Prints each test that failed and how often, and each that did not run every time."""
    ran = Counter(test for run in runs for test in run)
    broken = Counter(test for run in runs for test, became in run.items() if became in BROKEN)
    missing = {test: count for test, count in ran.items() if count < len(runs)}
    for test, count in broken.most_common():
        print(f"failed in {count} of {ran[test]} runs: {test}")
    for test, count in missing.items():
        print(f"ran in {count} of {len(runs)} runs: {test}")
    print(f"{len(ran)} tests, {len(runs)} runs: {len(broken)} failed at least once, {len(missing)} did not always run")
    return int(bool(broken or missing or not ran))


if __name__ == "__main__":
    sys.exit(main())
