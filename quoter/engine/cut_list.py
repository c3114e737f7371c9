"""The cut list: which strips of tape a bench cuts for a job, before waste."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from quoter.book import Consumable, Device, RateBook, Usage
from quoter.engine.arithmetic import arithmetic
from quoter.engine.consumables import PI, bases_of, uses_of_steps
from quoter.money import ZERO, rounded_up

METRE = "m"
"""The unit of what is cut to length."""

MILLIMETRES = 1000
CUT_TO = Decimal("0.1")
"""Millimetres to which a strip is cut, upwards: one that is too short leaves a gap in the seal."""


@dataclass(frozen=True, slots=True)
class Piece:
    """So many strips of one length. `basis` is what they are laid along; of one that is laid along nothing, its own."""

    step: str
    basis: str
    count: int
    length_mm: Decimal


@dataclass(frozen=True, slots=True)
class Cut:
    """What is cut from one consumable."""

    consumable: Consumable
    pieces: tuple[Piece, ...]


def cut_list(book: RateBook, device: str, steps: tuple[str, ...]) -> tuple[Cut, ...]:
    """The strips for the steps of a plan, for each consumable by the metre, in the order of consumables.csv."""
    with arithmetic():
        return tuple(
            Cut(book.consumables[code], tuple(_pieces(book.devices[device], [book.usage[row] for row in uses])))
            for code, uses in uses_of_steps(book, steps)
            if book.consumables[code].unit == METRE
        )


def _pieces(device: Device, rows: list[Usage]) -> Iterator[Piece]:
    for row in rows:
        yield from pieces_of(device, row)


def pieces_of(device: Device, usage: Usage) -> Iterator[Piece]:
    """The strips that one row of usage.csv stands for, in millimetres, each rounded up to 0.1 mm.

    Of a rounded rectangle w x h with corner radius r, h the longer side: `long_sides` are two strips of h - 2r,
    `short_sides` two of w - 2r; `perimeter` is both of these and the corners, one strip of 2 pi r that is bent round
    them. Strips of no length are left out: a round device has corners only. The quantity is metres of tape for a metre
    of the basis. Its whole part counts layers, and what remains makes the strips longer: n = max(1, floor(quantity))
    times as many, each quantity / n times as long, so that count x length = basis x quantity, as it is charged.
    `each` is one strip of the quantity as it is, `area` one of area x quantity: both in metres x 1000.
    """
    if usage.basis in ("each", "area"):
        strips, layers = [(usage.basis, 1, bases_of(device)[usage.basis] * MILLIMETRES)], 1
    else:
        strips, layers = _strips(device, usage.basis), max(1, int(usage.quantity))
    for along, count, length in strips:
        cut = rounded_up(length * usage.quantity / layers, CUT_TO)
        if cut > ZERO:
            yield Piece(usage.step, along, count * layers, cut)


def _strips(device: Device, basis: str) -> list[tuple[str, int, Decimal]]:
    short, long = sorted((device.width_mm, device.height_mm))
    corners = 2 * device.corner_mm
    sides = [("long_sides", 2, long - corners), ("short_sides", 2, short - corners)]
    if basis == "perimeter":
        return [*sides, ("corners", 1, PI * corners)]
    return [side for side in sides if side[0] == basis]
