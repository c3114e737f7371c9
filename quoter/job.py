"""What is asked: a device, the wishes for it, and what is known about it so far."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

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


def job_data(job: Job) -> dict[str, Any]:
    """The job as plain data, with what was assumed filled in."""
    return {
        "device": job.device,
        "repairs": [_repair_data(repair) for repair in job.repairs],
        "parts": dict(job.parts),
        "findings": list(job.findings),
        "customer": {"kind": job.customer_kind},
        "urgency": job.urgency,
        "discount": {"rate": format(job.discount.rate, "f"), "reason": job.discount.reason} if job.discount else None,
        "payment": job.payment,
        "locale": job.locale,
        "date": job.date.isoformat(),
    }


def _repair_data(repair: Repair) -> dict[str, str]:
    wish = {"procedure": repair.procedure, "grade": repair.grade, "part": repair.part}
    return {name: value for name, value in wish.items() if value is not None}


def job_from(data: Mapping[str, Any]) -> Job:
    """What `job_data` came from."""
    discount = data["discount"]
    return Job(
        device=data["device"],
        repairs=tuple(Repair(**repair) for repair in data["repairs"]),
        date=dt.date.fromisoformat(data["date"]),
        parts=data["parts"],
        findings=tuple(data["findings"]),
        customer_kind=data["customer"]["kind"],
        urgency=data["urgency"],
        discount=Discount(Decimal(discount["rate"]), discount["reason"]) if discount else None,
        payment=data["payment"],
        locale=data["locale"],
    )
