"""How much a run measures."""

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """`rounds` of short measurements, each of `block_seconds`; `long_rounds` of those that take seconds.

    `devices` in the book, `growth` and `searched` are sizes of books. `connections` at a time load the service, each
    number for `load_seconds` in every long round; `resident` are sizes of books whose memory is looked
    at, `compared` are sizes of books and `stored` numbers of quotes of which the effect of a change is measured.
    """

    rounds: int
    block_seconds: float
    long_rounds: int
    devices: int
    growth: tuple[int, ...]
    starts: int
    searched: tuple[int, ...]
    connections: tuple[int, ...]
    load_seconds: float
    compared: tuple[int, ...]
    stored: tuple[int, ...]
    resident: tuple[int, ...]
    resident_seconds: float


NORMAL = Scale(
    rounds=15,
    block_seconds=0.05,
    long_rounds=5,
    devices=2000,
    growth=(100, 250, 500, 1000, 2000, 4000),
    starts=10,
    searched=(100, 5_000, 50_000),
    connections=(1, 16, 64),
    load_seconds=2,
    compared=(100, 1_000),
    stored=(1_000, 5_000),
    resident=(100, 1_000, 5_000),
    resident_seconds=10,
)

LONG = replace(
    NORMAL,
    growth=(100, 1_000, 10_000),
    compared=(100, 1_000, 10_000),
    stored=(1_000, 10_000, 100_000),
    resident=(100, 1_000, 5_000, 10_000),
)
"""The largest sizes, which take long."""

QUICK = Scale(
    rounds=3,
    block_seconds=0.002,
    long_rounds=1,
    devices=10,
    growth=(5, 10, 20),
    starts=2,
    searched=(5, 10),
    connections=(1, 2),
    load_seconds=0.1,
    compared=(2, 4),
    stored=(5, 10),
    resident=(5,),
    resident_seconds=0.1,
)
"""Only to see that everything runs: its figures mean nothing."""
