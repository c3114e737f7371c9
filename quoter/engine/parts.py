"""Parts: landed cost and graduated markup."""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from quoter.book import Band, Part, RateBook
from quoter.engine.memory import remembered
from quoter.messages import Message
from quoter.money import ONE, ZERO
from quoter.quote import Cell, Charge, Derivation, Explanation, Working, shown


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
    rate, slices = exchange_rate(part, book), _markup(landed, book)
    unit_price = landed + sum([band.rate * amount for band, amount in slices], ZERO)
    net = book.currency.round(unit_price)
    is_foreign = part.currency not in (None, book.currency.code)

    def explanation() -> Explanation:
        markup = "".join(f" + {shown(band.rate)} × {shown(amount)}" for band, amount in slices)
        working = (
            Working("landed cost", _landed_formula(part, rate), landed),
            Working("unit price", shown(landed) + markup, unit_price),
            Working("net", f"round({shown(unit_price)})", net),
        )
        currency = _currency_cells(part, rate) if is_foreign else ()
        return (*_part_cells(part, currency), *_band_cells([band for band, _ in slices])), working

    return Charge(
        kind="part",
        ref=sku,
        description=Message("{part}", {"part": part.title}),
        unit_price=unit_price,
        net=net,
        cost=landed,
        because=Derivation("part", explanation),
    )


def _markup(landed: Decimal, book: RateBook) -> list[tuple[Band, Decimal]]:
    """The bands that the landed cost reaches, each with the part of it inside the band."""
    slices: list[tuple[Band, Decimal]] = []
    lower = ZERO
    for band in book.policy.parts_markup:
        if band.upto is None or landed <= band.upto:
            return [*slices, (band, landed - lower)]
        slices.append((band, band.upto - lower))
        lower = band.upto
    return slices


def _landed_formula(part: Part, rate: Decimal) -> str:
    cost = shown(part.cost) if rate == ONE else f"{shown(part.cost)} × {shown(rate)}"
    return f"{cost} + {shown(part.freight)}"


def _part_cells(part: Part, currency: tuple[Cell, ...]) -> tuple[Cell, ...]:
    cost, freight = (Cell("parts", part.sku, column, str(getattr(part, column))) for column in ("cost", "freight"))
    return cost, *currency, freight


def _currency_cells(part: Part, rate: Decimal) -> tuple[Cell, ...]:
    code = str(part.currency)
    return Cell("parts", part.sku, "currency", code), Cell("book", "fx", code, str(rate))


def _band_cells(bands: Iterable[Band]) -> Iterator[Cell]:
    for number, band in enumerate(bands, start=1):
        yield Cell("book", f"parts.markup {number}", "rate", str(band.rate))
        if band.upto is not None:
            yield Cell("book", f"parts.markup {number}", "upto", str(band.upto))
