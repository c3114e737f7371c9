"""What comes out: a quote with its lines, what stands beside the price, and how each line came about."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal, localcontext
from functools import cached_property

from quoter.job import Job
from quoter.messages import Message
from quoter.money import ARITHMETIC

LINE_KINDS = (
    "part",
    "consumable",
    "labour",
    "bench",
    "risk",
    "disposal",
    "menu",
    "express",
    "discount",
    "minimum",
    "ending",
)
"""In the order in which they stand on a quote."""

TAXED_KINDS = LINE_KINDS[:6]
"""The kinds to which a tax profile gives a code; the others follow labour or what they reduce."""


@dataclass(frozen=True, slots=True)
class Cell:
    """Where a number came from: a cell of the rate book, or of the job (`table` is then "job")."""

    table: str
    row: str
    column: str
    value: str


@dataclass(frozen=True, slots=True)
class Working:
    """One calculation: `formula` has its numbers filled in, `value` is what it gives."""

    name: str
    formula: str
    value: Decimal


Explanation = tuple[tuple[Cell, ...], tuple[Working, ...]]
"""The cells that a rule read, and its sums."""


@dataclass(frozen=True, eq=False)
class Derivation:
    """How a line came about: the rule, the cells it read, and the sums, to be redone with a pocket calculator.

    Most are never read, so a rule hands over a function that writes out the numbers it has found. Nothing that
    remembers the line may hold on to the whole book by it.
    """

    rule: str
    explanation: Callable[[], Explanation] = field(repr=False)

    @classmethod
    def of(cls, rule: str, inputs: tuple[Cell, ...], working: tuple[Working, ...]) -> "Derivation":
        """One that is written out already."""
        return cls(rule, lambda: (inputs, working))

    @property
    def inputs(self) -> tuple[Cell, ...]:
        """The cells that the rule read."""
        return self._written[0]

    @property
    def working(self) -> tuple[Working, ...]:
        """The sums, in their order."""
        return self._written[1]

    @cached_property
    def _written(self) -> Explanation:
        with localcontext(ARITHMETIC):  # whatever the reader's precision
            return self.explanation()

    def __eq__(self, other: object) -> bool:
        """Of what they say."""
        return isinstance(other, Derivation) and (self.rule, *self._written) == (other.rule, *other._written)

    def __hash__(self) -> int:
        """Of the rule and its last sum: to hash every cell would take longer than to work them out."""
        return hash((self.rule, self.working[-1].formula))


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """A line before anyone asks which tax code it has. `cost` is what it costs the shop, where that is known."""

    kind: str
    ref: str
    description: Message
    net: Decimal
    because: Derivation
    quantity: Decimal = Decimal(1)
    unit: str = "each"
    unit_price: Decimal | None = None
    cost: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Line:
    """A priced row of a quote with its tax code."""

    charge: Charge
    tax_code: str


@dataclass(frozen=True, slots=True)
class TaxRow:
    """Tax of one component on what it is charged on. No code or rate where several are summed."""

    code: str | None
    name: str
    rate: Decimal | None
    taxable: Decimal
    tax: Decimal


@dataclass(frozen=True, slots=True)
class Totals:
    """Before tax, tax, after tax, and what is paid in coins and notes."""

    net: Decimal
    tax: Decimal
    gross: Decimal
    cash: Decimal


@dataclass(frozen=True, slots=True)
class Time:
    """Minutes: the mean, the promise, the waiting, and the whole from start to end."""

    expected_minutes: Decimal
    quoted_minutes: Decimal
    dwell_minutes: Decimal
    elapsed_minutes: Decimal


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a changed job would cost, or why it is refused; `difference` is against the job as it is."""

    gross: Decimal | None = None
    difference: Decimal | None = None
    refused: str | None = None


@dataclass(frozen=True, slots=True)
class Contingency:
    """What the price becomes if the bench comes upon a finding."""

    finding: str
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Alternative:
    """What the price becomes with another grade of a repair's main part."""

    procedure: str
    grade: str
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class RepairWarranty:
    """The terms (their codes) that a repair comes with."""

    procedure: str
    terms: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Economics:
    """For the owner's eyes: never shown to a customer. `margin` is None on a net of nothing."""

    cost: Decimal
    margin: Decimal | None
    floor: Decimal
    below_floor: bool


@dataclass(frozen=True, slots=True)
class StepOnBench:
    """A step of the plan as the bench does it; minutes with allowance."""

    step: str
    repair: str
    expected_minutes: Decimal
    quoted_minutes: Decimal
    dwell_minutes: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """A job's price and all that stands beside it. The same job and book always give the same quote."""

    job: Job
    book: str
    currency: str
    display: str
    lines: tuple[Line, ...]
    tax: tuple[TaxRow, ...]
    tax_reason: str | None
    totals: Totals
    deposit: Decimal
    time: Time
    lead_days: int
    plan: tuple[StepOnBench, ...]
    warranty: tuple[RepairWarranty, ...]
    cautions: tuple[str, ...]
    contingencies: tuple[Contingency, ...]
    ceiling: Outcome
    alternatives: tuple[Alternative, ...]
    economics: Economics = field(repr=False)
    valid_until: dt.date


_SHOWN_DECIMALS = 9
_SHOWN_UNIT = Decimal("0.000000001")


def shown(value: Decimal) -> str:
    """A number in a formula: as it is, or to 9 decimals, which is more than a pocket calculator shows."""
    text = format(value, "f")
    point = text.find(".")
    if point < 0 or len(text) - point - 1 <= _SHOWN_DECIMALS:
        return text
    return format(value.quantize(_SHOWN_UNIT).normalize(), "f")
