"""A rate book as the engine reads it: immutable rows, indexed once.

The field names of a row are the column names of its table (`books/tables.py` explains each column). Minutes are
minutes of one person's work unless they say dwell; rates and shares are fractions; costs are in the book's
currency unless the row names another.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, NamedTuple

from quoter.law import LawProfile
from quoter.money import Currency


@dataclass(frozen=True, slots=True, kw_only=True)
class Difficulty:
    """A class of work with its pay and price; `rank` is its row, the easiest 0."""

    code: str
    title: str
    skill: str
    time_factor: Decimal
    hourly_rate: Decimal
    hourly_cost: Decimal
    rank: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A model, with the rounded rectangle (or circle) of its seal in millimetres."""

    code: str
    maker: str
    model: str
    kind: str
    width_mm: Decimal
    height_mm: Decimal
    corner_mm: Decimal
    year: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Procedure:
    """A kind of repair: the slot it is about, and the steps that are its goals."""

    code: str
    title: str
    slot: str | None
    goals: tuple[str, ...]
    difficulty: str
    warranty: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """That the shop does a procedure on a device, and what is special about it there."""

    device: str
    procedure: str
    difficulty: str | None
    extra_steps: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A unit of work with a three-point estimate; in `dwell` nobody works, `tools` are laid out for it."""

    code: str
    title: str
    low: Decimal
    likely: Decimal
    high: Decimal
    dwell: Decimal
    needs: tuple[str, ...]
    slot: str | None
    without_part: str | None
    caution: str | None
    tools: tuple[str, ...] = ()
    rank: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Usage:
    """How much of a consumable a step takes: `quantity` times the `basis` of the device."""

    step: str
    consumable: str
    basis: str
    quantity: Decimal
    row: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumable:
    """What is used up by quantity, bought in packs; a tape has a width."""

    code: str
    title: str
    unit: str
    pack_price: Decimal
    pack_size: Decimal
    waste: Decimal
    increment: Decimal | None
    width_mm: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What fills a slot; `saves` are steps that fitting it makes needless, `condition` is what it is sold as."""

    sku: str
    title: str
    slot: str
    grade: str
    devices: tuple[str, ...]
    cost: Decimal
    currency: str | None
    freight: Decimal
    lead_days: int
    saves: tuple[str, ...]
    warranty: str | None
    failure_rate: Decimal
    condition: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MenuPrice:
    """A fixed net price for one repair alone; no grade means any."""

    device: str
    procedure: str
    grade: str | None
    net: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something seen on the device that changes time, steps, risk or price. No procedures means all."""

    code: str
    title: str
    procedures: tuple[str, ...]
    time_factor: Decimal
    affects: tuple[str, ...]
    adds: tuple[str, ...]
    replaces: tuple[tuple[str, str], ...]
    stops: bool
    charge: Decimal
    disposal: Decimal
    chance: Decimal
    consequence: Decimal
    emerges: bool
    warranty: str | None
    caution: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WarrantyTerm:
    """A promise in days, with what it covers and what it leaves out."""

    code: str
    title: str
    days: int
    covers: tuple[str, ...]
    excludes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A warning about work that can hurt someone, and who says so; `customer` is the same in words for the customer."""

    code: str
    text: str
    source: str
    customer: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Translation:
    """A text of another row in another language."""

    table: str
    key: str
    column: str
    language: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """Who quotes."""

    name: str
    address: str
    email: str
    phone: str
    tax_number: str
    timezone: str
    contact: str = ""
    handover: str = ""
    loan_device: str = ""


@dataclass(frozen=True, slots=True)
class Band:
    """A graduated markup: `rate` on the slice of landed cost up to `upto` (None: without end)."""

    upto: Decimal | None
    rate: Decimal


@dataclass(frozen=True, slots=True)
class PriceEnding:
    """Prices that end on a multiple of `unit` less `minus`; mode none, up, down or nearest."""

    mode: str
    unit: Decimal
    minus: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """The owner's decisions that are not about one row: the sections of book.toml, flat.

    `z` is the standard normal quantile of `confidence`.
    """

    confidence: Decimal
    z: Decimal
    allowance: Decimal
    increment_minutes: Decimal
    bench_rate: Decimal
    parts_markup: tuple[Band, ...]
    consumables_markup: Decimal
    risk_loading: Decimal
    minimum_net: Decimal
    express_rate: Decimal
    minimum_margin: Decimal
    max_discount: Decimal
    validity_days: int
    deposit_rate: Decimal
    price_ending: PriceEnding
    fx: Mapping[str, Decimal]
    diagnosis_procedures: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Component:
    """One of the rates that make up a tax, and the first day on which it counts."""

    name: str
    rate: Decimal
    since: dt.date


@dataclass(frozen=True, slots=True)
class Reclass:
    """Gives lines of some kinds another tax code when the whole job calls for it."""

    when: str
    above: Decimal
    lines: tuple[str, ...]
    code: str


@dataclass(frozen=True, slots=True)
class CustomerRule:
    """One tax code for all that a kind of customer buys, and the reason to print."""

    code: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxProfile:
    """How a place taxes repairs: which code for which line, at which stage and how it is rounded."""

    code: str
    title: str
    source: str
    display: str
    stage: str
    mode: str
    combined: bool
    cash_increment: Decimal | None
    cash_mode: str
    codes: Mapping[str, tuple[Component, ...]]
    lines: Mapping[str, str]
    customers: Mapping[str, CustomerRule]
    reclass: tuple[Reclass, ...]


TextPlace = tuple[str, str, str]
"""Where a text stands in a book: its table, the key of its row, its column."""


class OfferedRepair(NamedTuple):
    """What a procedure amounts to on a device: all that the plan of a repair hangs on.

    A tuple, because it is a key: repairs of many devices share one plan.
    """

    procedure: str
    difficulty: str
    extra_steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Memory:
    """What rules have worked out from this book alone. Bounded; forgetting it changes nothing but time."""

    shelves: dict[Any, dict[Any, Any]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RateBook:
    """A checked book. Each mapping keeps the order of its table, which is the owner's order of preference."""

    code: str
    title: str
    currency: Currency
    locale: str
    shop: Shop
    policy: Policy
    tax: TaxProfile
    digest: str
    difficulties: Mapping[str, Difficulty]
    devices: Mapping[str, Device]
    procedures: Mapping[str, Procedure]
    offers: Mapping[tuple[str, str], Offer]
    steps: Mapping[str, Step]
    usage: tuple[Usage, ...]
    consumables: Mapping[str, Consumable]
    parts: Mapping[str, Part]
    menu: tuple[MenuPrice, ...]
    findings: Mapping[str, Finding]
    warranties: Mapping[str, WarrantyTerm]
    cautions: Mapping[str, Caution]
    translations: Mapping[str, Mapping[TextPlace, str]] = field(default_factory=dict)
    """By language, then by the place of the text that it stands for."""

    slots: tuple[str, ...]
    grades: tuple[str, ...]
    offered: Mapping[str, Mapping[str, OfferedRepair]]
    """By device, then by procedure."""
    fitting: Mapping[tuple[str, str], tuple[Part, ...]]
    """By (device, slot): the parts that fit, in the order of the table."""
    menu_by_repair: Mapping[tuple[str, str], tuple[MenuPrice, ...]]
    """By (device, procedure)."""
    usage_by_step: Mapping[str, tuple[Usage, ...]]
    law: LawProfile | None = None
    memory: Memory = field(default_factory=Memory, repr=False)

    def parts_for(self, device: str, slot: str) -> tuple[Part, ...]:
        """The parts that fit a slot of a device, the preferred one first."""
        return self.fitting.get((device, slot), ())

    def text_in(self, tag: str, place: TextPlace, text: str) -> str:
        """A text in a language: for de-AT that of de-AT, else that of de, else `text`, which is the book's own.

        RFC 4647, 3.4 (lookup): the tag gets shorter from its end.
        """
        while tag:
            found = self.translations.get(tag, {}).get(place)
            if found is not None:
                return found
            tag = tag.rpartition("-")[0]
        return text
