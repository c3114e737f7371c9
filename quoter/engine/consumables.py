"""Consumables: geometry of the device, waste, increments."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from quoter.book import Consumable, Device, Policy, RateBook, Usage
from quoter.engine.arithmetic import arithmetic
from quoter.engine.memory import remembered
from quoter.engine.plan import Plan
from quoter.messages import Message
from quoter.money import ONE, ZERO, rounded_up, settled
from quoter.quote import Cell, Charge, Derivation, Explanation, Working, shown

PI = Decimal("3.141592653589793238462643383")
"""To the 28 digits of the arithmetic (OEIS A000796)."""

BASES = ("each", "perimeter", "long_sides", "short_sides", "area")

Uses = tuple[int, ...]
"""Which rows of usage.csv use a consumable, as places in the table."""


@dataclass(frozen=True, slots=True)
class Consumption:
    """How much of a consumable a job takes, waste included, and how much of it is billed; in its unit."""

    consumable: Consumable
    needed: Decimal
    billed: Decimal


def consumable_charges(device: str, plan: Plan, book: RateBook) -> list[Charge]:
    """One for each consumable that the steps of the plan use, in the order of consumables.csv."""
    return [consumable_charge(book, device, consumable, uses) for consumable, uses in uses_of(book, plan)]


@remembered
def uses_of(book: RateBook, plan: Plan) -> tuple[tuple[str, Uses], ...]:
    """Each consumable of a plan with the rows of usage.csv that ask for it."""
    return uses_of_steps(book, (step.code for step in plan.steps))


def uses_of_steps(book: RateBook, steps: Iterable[str]) -> tuple[tuple[str, Uses], ...]:
    """`uses_of` for steps by their codes, each once."""
    rows = sorted(usage.row for step in steps for usage in book.usage_by_step.get(step, ()))
    uses: dict[str, list[int]] = {}
    for row in rows:
        uses.setdefault(book.usage[row].consumable, []).append(row)
    return tuple((code, tuple(uses[code])) for code in book.consumables if code in uses)


@remembered
def lengths_of(book: RateBook, device: str) -> dict[str, Decimal]:
    """The bases of a rounded rectangle w x h with corner radius r, in metres and square metres.

    perimeter = 2(w + h) - 8r + 2 pi r; long sides = 2(h - 2r); short sides = 2(w - 2r), h the longer side;
    area = wh - (4 - pi)r².
    """
    return bases_of(book.devices[device])


def bases_of(device: Device) -> dict[str, Decimal]:
    """`lengths_of` for a device that need not be in a book."""
    short, long = sorted((device.width_mm / 1000, device.height_mm / 1000))
    radius = device.corner_mm / 1000
    return {
        "each": ONE,
        "perimeter": 2 * (short + long) - 8 * radius + 2 * PI * radius,
        "long_sides": 2 * (long - 2 * radius),
        "short_sides": 2 * (short - 2 * radius),
        "area": short * long - (4 - PI) * radius * radius,
    }


@remembered
def consumable_charge(book: RateBook, device: str, code: str, uses: Uses) -> Charge:
    """needed = sum of basis x quantity / (1 - waste); billed = needed in increments, rounded up.

    unit price = pack price / pack size x (1 + markup); net = round(billed x unit price).
    """
    item = book.consumables[code]
    lengths = lengths_of(book, device)
    rows = [book.usage[row] for row in uses]
    needed, billed = _amounts(item, lengths, rows)
    markup = ONE + book.policy.consumables_markup
    unit_price = item.pack_price / item.pack_size * markup
    net = book.currency.round(billed * unit_price)
    size, policy = book.devices[device], book.policy

    def explanation() -> Explanation:
        total = " + ".join(f"{shown(lengths[row.basis])} × {shown(row.quantity)}" for row in rows)
        price = f"{shown(item.pack_price)} ÷ {shown(item.pack_size)} × {shown(markup)}"
        working = (
            *_measured(size, lengths, rows),
            Working("needed", f"({total}) ÷ (1 − {shown(item.waste)})", needed),
            Working("billed", _billed_formula(needed, item), billed),
            Working("unit price", price, unit_price),
            Working("net", f"round({shown(billed)} × {shown(unit_price)})", net),
        )
        return _cells(size, item, rows, policy), working

    return Charge(
        kind="consumable",
        ref=code,
        description=Message("{consumable}", {"consumable": item.title}),
        quantity=billed,
        unit=item.unit,
        unit_price=unit_price,
        net=net,
        cost=billed * item.pack_price / item.pack_size,
        because=Derivation("consumable", explanation),
    )


def _amounts(item: Consumable, lengths: dict[str, Decimal], rows: list[Usage]) -> tuple[Decimal, Decimal]:
    used = sum((lengths[row.basis] * row.quantity for row in rows), ZERO)
    needed = used / (ONE - item.waste)
    return needed, settled(needed) if item.increment is None else rounded_up(needed, item.increment)


def consumption(book: RateBook, device: str, steps: tuple[str, ...]) -> tuple[Consumption, ...]:
    """What the steps of a plan use up on a device, in the order of consumables.csv, by the formulas of the charge."""
    with arithmetic():
        return tuple(_consumption(book, device, code, uses) for code, uses in uses_of_steps(book, steps))


def _consumption(book: RateBook, device: str, code: str, uses: Uses) -> Consumption:
    item = book.consumables[code]
    needed, billed = _amounts(item, lengths_of(book, device), [book.usage[row] for row in uses])
    return Consumption(item, settled(needed), billed)


def _measured(size: Device, lengths: dict[str, Decimal], rows: list[Usage]) -> list[Working]:
    """How the measures of the device come about that these rows are multiplied by."""
    workings = measure_workings(size, lengths)
    return [workings[basis] for basis in dict.fromkeys(row.basis for row in rows) if basis in workings]


def measure_workings(size: Device, lengths: dict[str, Decimal]) -> dict[str, Working]:
    """Each measure of a device from its millimetres, in metres and square metres."""
    short, long = (shown(side) for side in sorted((size.width_mm, size.height_mm)))
    corner, pi = shown(size.corner_mm), shown(PI)
    formulas = {
        "perimeter": f"(2 × ({short} + {long}) − 8 × {corner} + 2 × {pi} × {corner}) ÷ 1000",
        "long_sides": f"2 × ({long} − 2 × {corner}) ÷ 1000",
        "short_sides": f"2 × ({short} − 2 × {corner}) ÷ 1000",
        "area": f"({short} × {long} − (4 − {pi}) × {corner} × {corner}) ÷ 1000000",
    }
    return {basis: Working(basis.replace("_", " "), formula, lengths[basis]) for basis, formula in formulas.items()}


def _billed_formula(needed: Decimal, item: Consumable) -> str:
    if item.increment is None:
        return f"to 6 decimals({shown(needed)})"
    return f"up({shown(settled(needed))} ÷ {shown(item.increment)}) × {shown(item.increment)}"


def _cells(size: Device, item: Consumable, rows: list[Usage], policy: Policy) -> tuple[Cell, ...]:
    columns = ("pack_price", "pack_size", "waste", "increment")
    values = ((column, getattr(item, column)) for column in columns)
    return (
        *(_device_cells(size) if any(row.basis != "each" for row in rows) else ()),
        *(Cell("usage", f"{row.step} {row.consumable} {row.basis}", "quantity", str(row.quantity)) for row in rows),
        *(Cell("consumables", item.code, column, str(value)) for column, value in values if value is not None),
        Cell("book", "consumables", "markup", str(policy.consumables_markup)),
    )


def _device_cells(size: Device) -> Iterator[Cell]:
    for column in ("width_mm", "height_mm", "corner_mm"):
        yield Cell("devices", size.code, column, str(getattr(size, column)))
