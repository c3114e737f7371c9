"""A rate book of any size, the same on every run: fixed work and rates, generated devices, offers and parts.

A larger book begins with the rows of a smaller one. Every part fits one device, so that nothing which is worked out for
one entry of the price list serves another but the plan and its labour.
"""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random
from shutil import copytree
from typing import NamedTuple

from quoter.books.load import read_folder
from quoter.books.raw import RawBook, RawRow
from quoter.books.tables import TABLE_BY_NAME

RATES = Path(__file__).parent / "rates"
NAME = "generated"
SEED = "devices of the benchmarks"

Cells = Mapping[str, str]


class Kind(NamedTuple):
    """A sort of device: its name, millimetres from and to, and what its parts cost beside a phone's."""

    name: str
    width: tuple[int, int]
    height: tuple[int, int]
    cost: float


class Grade(NamedTuple):
    """A class of parts: what it costs beside the maker's own, and where it comes from."""

    name: str
    cost: float
    currency: str
    freight: str
    lead_days: str
    warranty: str
    failure_rate: str


KINDS = (
    Kind("phone", (62, 80), (130, 168), 1.0),
    Kind("tablet", (130, 220), (190, 290), 1.7),
    Kind("wearable", (30, 38), (38, 48), 0.8),
)
FREQUENCIES = (6, 3, 1)

GRADES = (
    Grade("genuine", 1.0, "", "0.90", "1", "part-365", "0.012"),
    Grade("compatible", 0.6, "USD", "1.10", "0", "part-180", "0.03"),
    Grade("refurbished", 0.5, "GBP", "2.00", "3", "part-90", "0.05"),
)

COST_BY_PROCEDURE = {
    "battery": 14.0,
    "screen": 70.0,
    "charge-port": 9.0,
    "back-glass": 19.0,
    "camera": 32.0,
    "speaker": 6.0,
}
"""What the genuine part of a phone costs; the slot is named like the procedure."""


@dataclass(frozen=True, slots=True)
class BookSize:
    """Of so many devices, with so many procedures offered for each and so many grades of part for each of those."""

    devices: int
    procedures: int = 6
    grades: int = 2
    only_offered: bool = False
    """Parts for what is offered alone; only the first device has all, since no step may be without a part."""

    def __post_init__(self) -> None:
        if not 1 <= self.procedures <= len(COST_BY_PROCEDURE) or not 1 <= self.grades <= len(GRADES):
            raise ValueError(f"{self}: up to {len(COST_BY_PROCEDURE)} procedures and {len(GRADES)} grades")

    @property
    def entries(self) -> int:
        """Rows of the price list."""
        return self.devices * self.procedures * self.grades


def raw_book(size: BookSize) -> RawBook:
    """The text of a book of that size."""
    fixed = read_folder(RATES / NAME)
    generated = {table: _raw_rows(table, rows) for table, rows in _generated(size).items()}
    return replace(fixed, tables={**fixed.tables, **generated})


def write_book(size: BookSize, folder: Path) -> Path:
    """Writes the same book as files below `folder`, and says where."""
    copytree(RATES, folder)
    for table, rows in _generated(size).items():
        with (folder / NAME / f"{table}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, TABLE_BY_NAME[table].header, restval="")
            writer.writeheader()
            writer.writerows(rows)
    return folder / NAME


def _generated(size: BookSize) -> dict[str, list[Cells]]:
    tables: dict[str, list[Cells]] = {"devices": [], "offers": [], "parts": []}
    procedures = tuple(COST_BY_PROCEDURE)[: size.procedures]
    for number in range(size.devices):
        random = Random(f"{SEED} {number}")
        kind = random.choices(KINDS, FREQUENCIES)[0]
        code = f"device-{number:05}"
        tables["devices"].append(_device(number, code, kind, random))
        tables["offers"] += (_offer(number, code, procedure) for procedure in procedures)
        slots = procedures if size.only_offered and number else tuple(COST_BY_PROCEDURE)
        tables["parts"] += _parts(number, code, kind, slots, GRADES[: size.grades], random)
    return tables


def _device(number: int, code: str, kind: Kind, random: Random) -> Cells:
    width = random.randint(*kind.width)
    return {
        "code": code,
        "maker": ("Quellimar", "Brontec", "Ostervane")[number % 3],
        "model": f"{kind.name.capitalize()} {number}",
        "kind": kind.name,
        "width_mm": str(width),
        "height_mm": f"{random.randint(*kind.height)}.5",
        "corner_mm": str(random.randint(4, width // 3)),
    }


def _offer(number: int, code: str, procedure: str) -> Cells:
    """One device in three is glued tightly, one in five wants its new screen or battery registered."""
    is_paired = number % 5 == 0 and procedure in ("battery", "screen")
    return {
        "device": code,
        "procedure": procedure,
        "difficulty": "tight" if number % 3 == 0 else "",
        "extra_steps": "pair-part" if is_paired else "",
    }


def _parts(
    number: int, code: str, kind: Kind, slots: tuple[str, ...], grades: tuple[Grade, ...], random: Random
) -> Iterator[Cells]:
    """Every grade for every slot, and for every other device a seal."""
    for slot in slots:
        cost = COST_BY_PROCEDURE[slot] * kind.cost * random.uniform(0.7, 1.6)
        for grade in grades:
            yield _part(f"{slot}-{number:05}-{grade.name}", slot, code, grade, cost * grade.cost)
    if number % 2 == 0:
        yield _part(f"seal-{number:05}", "seal", code, GRADES[0], random.uniform(1.5, 4))


def _part(sku: str, slot: str, device: str, grade: Grade, cost: float) -> Cells:
    return {
        "sku": sku,
        "title": f"{slot.capitalize()}, {grade.name}, {device}",
        "slot": slot,
        "grade": grade.name,
        "devices": device,
        "cost": f"{cost:.2f}",
        "currency": grade.currency,
        "freight": grade.freight,
        "lead_days": grade.lead_days,
        "saves": "lay-adhesive" if slot == "battery" and grade.name == "genuine" else "",
        "warranty": grade.warranty,
        "failure_rate": grade.failure_rate,
    }


def _raw_rows(table: str, rows: list[Cells]) -> tuple[RawRow, ...]:
    blank = dict.fromkeys(TABLE_BY_NAME[table].header, "")
    return tuple(RawRow(number, {**blank, **row}) for number, row in enumerate(rows, start=2))
