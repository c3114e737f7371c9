"""A copy of a book for pricing very many jobs: it remembers what lines come to, not how they came about.

The derivations are nine tenths of what a book remembers, and who adds up a hundred thousand prices reads none of them.
"""

from dataclasses import replace
from inspect import unwrap
from typing import Any

from quoter.book import Memory, RateBook
from quoter.engine.bench import bench_charges
from quoter.engine.consumables import consumable_charge
from quoter.engine.labour import Efforts, efforts_of, labour_charges
from quoter.engine.parts import part_charge
from quoter.engine.risk import disposal_charges, risk_charges
from quoter.messages import NOT_SAID, Message
from quoter.quote import Charge, Derivation

HEAVY_RULES = (
    efforts_of,
    part_charge,
    consumable_charge,
    labour_charges,
    bench_charges,
    risk_charges,
    disposal_charges,
)
"""What they find is large and can be kept small."""

MOST_EFFORTS = 16
"""The efforts of a plan are needed until its labour is known."""

MOST_REMEMBERED = 150_000
"""Findings of all rules together; some 100 MB."""

_NOT_KEPT = Derivation.of("", (), ())
_NO_WORDS = Message(NOT_SAID)


class _LightShelf(dict[Any, Any]):
    """What a rule has found, without words and derivations."""

    def __setitem__(self, key: Any, found: Any) -> None:
        if isinstance(found, Efforts) and len(self) >= MOST_EFFORTS:
            self.clear()
        super().__setitem__(key, _light(found))


def light_copy(book: RateBook) -> RateBook:
    """The same book with a memory of its own. It prices alike; its lines' words and derivations mean nothing."""
    return replace(book, memory=Memory({unwrap(rule): _LightShelf() for rule in HEAVY_RULES}))


def forget_much(book: RateBook, most: int = MOST_REMEMBERED) -> None:
    """Empties the book's memory where it has grown large. To be called now and then, between two prices."""
    shelves = list(book.memory.shelves.values())  # another thread may be adding one
    if sum(map(len, shelves)) > most:
        for shelf in shelves:
            shelf.clear()


def _light(found: Any) -> Any:
    if isinstance(found, Charge):
        return _light_charge(found)
    return tuple(map(_light, found)) if isinstance(found, tuple) else found


def _light_charge(charge: Charge) -> Charge:
    """`replace` would take three times as long."""
    return Charge(
        kind=charge.kind,
        ref=charge.ref,
        description=_NO_WORDS,
        net=charge.net,
        because=_NOT_KEPT,
        quantity=charge.quantity,
        unit=charge.unit,
        unit_price=charge.unit_price,
        cost=charge.cost,
    )
