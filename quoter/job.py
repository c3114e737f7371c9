"""What is asked: a device, the wishes for it, and what is known about it so far."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

CUSTOMER_KINDS = ("consumer", "business", "exempt")
URGENCIES = ("standard", "express")
PAYMENTS = ("cash", "other")


@dataclass(frozen=True, slots=True)
class Repair:
    """One wish: a procedure, and for its main slot a grade or a certain part (its SKU)."""

    procedure: str
    grade: str | None = None
    part: str | None = None


@dataclass(frozen=True, slots=True)
class Discount:
    """A share of the price that is taken off (0.10 is 10 %), and why."""

    rate: Decimal
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Everything that a price depends on beside the rate book.

    `parts` maps a slot to the SKU to fit, or to None for doing without. `findings` are codes in the
    order in which they were seen. `date` is the day whose tax rates count.
    """

    device: str
    repairs: tuple[Repair, ...]
    date: dt.date
    parts: Mapping[str, str | None]
    findings: tuple[str, ...]
    customer_kind: str
    urgency: str
    discount: Discount | None
    payment: str
    locale: str
