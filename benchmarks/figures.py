"""What a measurement comes to: samples with their median and spread, and ratios inside one run."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import log
from statistics import linear_regression, median, quantiles

TIMES = "×"
"""The unit of a ratio."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One number, measured once a round. `aim` is what we would like it to be, in words: nothing fails by it."""

    name: str
    unit: str
    samples: tuple[float, ...]
    aim: str = ""

    @property
    def median(self) -> float:
        """The middle sample."""
        return median(self.samples)

    @property
    def quartiles(self) -> tuple[float, float]:
        """Half of the samples lie between them."""
        if len(self.samples) < 2:
            return self.median, self.median
        low, _, high = quantiles(self.samples, n=4, method="inclusive")
        return low, high


@dataclass(frozen=True, slots=True)
class Section:
    """The figures of one subject, and what a reader must know to read them."""

    title: str
    figures: tuple[Figure, ...]
    notes: tuple[str, ...] = ()


def in_unit(name: str, seconds: Iterable[float], unit: str, aim: str = "") -> Figure:
    """Seconds as s, ms or µs."""
    factor = {"s": 1, "ms": 1e3, "µs": 1e6}[unit]
    return Figure(name, unit, tuple(each * factor for each in seconds), aim)


def per_second(name: str, count: float, seconds: Iterable[float], what: str, aim: str = "") -> Figure:
    """How many a second."""
    return Figure(name, f"{what}/s", tuple(count / each for each in seconds), aim)


def ratio(name: str, subject: Iterable[float], yardstick: Iterable[float], aim: str = "") -> Figure:
    """Round by round, so that what slows the machine down for a while cancels out."""
    return Figure(name, TIMES, tuple(a / b for a, b in zip(subject, yardstick, strict=True)), aim)


def exponent(sizes: Iterable[float], costs: Iterable[float]) -> float:
    """The b of cost = a × size^b, by least squares on the logarithms: 1 is linear growth."""
    return linear_regression([log(size) for size in sizes], [log(cost) for cost in costs]).slope
