"""Takes times. Subjects that are to be compared take turns, so that a slow moment of the machine hits all of them."""

import gc
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from time import perf_counter

Call = Callable[[], object]


@dataclass(frozen=True, slots=True)
class Subject:
    """What is timed. A call does `units` of work; `before` is done ahead of each call, off the clock."""

    call: Call
    units: int = 1
    before: Call | None = None


Seconds = dict[str, tuple[float, ...]]
"""By subject, for a unit of work: one figure a round."""


def interleaved(subjects: Mapping[str, Subject], rounds: int, block_seconds: float = 0) -> Seconds:
    """Every round times each subject in turn, in blocks of as many calls as fill `block_seconds` (one at least).

    Each subject runs once beforehand. The garbage collector stays on, as it does in the service.
    """
    calls = {name: 1 + int(block_seconds / _seconds_of(subject, 1)) for name, subject in subjects.items()}
    found: dict[str, list[float]] = {name: [] for name in subjects}
    for number in range(1, rounds + 1):
        for name, subject in subjects.items():
            if not block_seconds:
                progress(f"  {name}, {number} of {rounds}")
            found[name].append(_seconds_of(subject, calls[name]) / calls[name] / subject.units)
    return {name: tuple(each) for name, each in found.items()}


def _seconds_of(subject: Subject, calls: int) -> float:
    gc.collect()
    if subject.before is None:
        start = perf_counter()
        for _ in range(calls):
            subject.call()
        return perf_counter() - start
    seconds = 0.0
    for _ in range(calls):
        subject.before()
        start = perf_counter()
        subject.call()
        seconds += perf_counter() - start
    return seconds


def progress(words: str) -> None:
    """What is being done, for whoever waits."""
    print(words, file=sys.stderr, flush=True)
