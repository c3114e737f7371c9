"""Parts: landed cost and graduated markup."""

from collections.abc import Iterable
from decimal import Decimal

from quoter.book import Part, RateBook
from quoter.engine.memory import remembered
from quoter.messages import Message
from quoter.money import ONE, ZERO
from quoter.quote import Cell, Charge, Derivation, Working, shown


def part_charges(parts: Iterable[Part], book: RateBook) -> list[Charge]:
    """One for each part that the plan fits."""
    return [part_charge(book, part.sku) for part in parts]


def landed_cost(part: Part, book: RateBook) -> Decimal:
    """cost x fx + freight, in the book's currency."""
    return part.cost * exchange_rate(part, book) + part.freight


def exchange_rate(part: Part, book: RateBook) -> Decimal:
    """Book currency for one unit of the currency that the part is bought in."""
    if part.currency in (None, book.currency.code):
        return ONE
    return book.policy.fx[str(part.currency)]


@remembered
def part_charge(book: RateBook, sku: str) -> Charge:
    """unit price = landed + the sum over bands of rate x (the part of landed inside the band); net = round(it)."""
    part = book.parts[sku]
    landed = landed_cost(part, book)
    cells, slices = _markup(landed, book)
    unit_price = landed + sum((rate * amount for rate, amount in slices), ZERO)
    net = book.currency.round(unit_price)
    markup = "".join(f" + {shown(rate)} × {shown(amount)}" for rate, amount in slices)
    working = (
        Working("landed cost", _landed_formula(part, book), landed),
        Working("unit price", shown(landed) + markup, unit_price),
        Working("net", f"round({shown(unit_price)})", net),
    )
    return Charge(
        kind="part",
        ref=sku,
        description=Message("{part}", {"part": part.title}),
        unit_price=unit_price,
        net=net,
        cost=landed,
        because=Derivation("part", (*_cells(part, book), *cells), working),
    )


def _markup(landed: Decimal, book: RateBook) -> tuple[list[Cell], list[tuple[Decimal, Decimal]]]:
    """The bands that the landed cost reaches: their cells, and (rate, slice) of each."""
    cells: list[Cell] = []
    slices: list[tuple[Decimal, Decimal]] = []
    lower = ZERO
    for number, band in enumerate(book.policy.parts_markup, start=1):
        if landed <= lower and slices:
            break
        upper = landed if band.upto is None else min(landed, band.upto)
        cells.append(Cell("book", f"parts.markup {number}", "rate", str(band.rate)))
        if band.upto is not None:
            cells.append(Cell("book", f"parts.markup {number}", "upto", str(band.upto)))
            slices.append((band.rate, upper - lower))
            lower = band.upto
        else:
            slices.append((band.rate, upper - lower))
    return cells, slices


def _landed_formula(part: Part, book: RateBook) -> str:
    rate = exchange_rate(part, book)
    cost = shown(part.cost) if rate == ONE else f"{shown(part.cost)} × {shown(rate)}"
    return f"{cost} + {shown(part.freight)}"


def _cells(part: Part, book: RateBook) -> list[Cell]:
    cells = [
        Cell("parts", part.sku, "cost", str(part.cost)),
        Cell("parts", part.sku, "freight", str(part.freight)),
    ]
    if part.currency not in (None, book.currency.code):
        rate = exchange_rate(part, book)
        cells[1:1] = [
            Cell("parts", part.sku, "currency", str(part.currency)),
            Cell("book", "fx", str(part.currency), str(rate)),
        ]
    return cells
