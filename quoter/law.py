"""What the law of a place wants a quote to say, as a law profile has it. A template: no legal advice."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

LABELS = ("quotation", "estimate")
"""What a priced offer is: one that binds, or an informed guess."""

CONSENT_WAYS = ("counter", "phone", "message", "link")
"""How a customer may agree to more than was accepted."""

NOTICE_CODES = (
    "statutory-rights",
    "data-loss",
    "diagnosis-fee",
    "parts-condition",
    "ceiling",
    "validity",
    "form",
)
"""What a law may want a customer to be told."""

CONCERNS = ("always", "diagnosis", "used_parts", "parts")
"""The jobs that a notice is about: all, those with a paid diagnosis, with parts that are not new, with any part."""


@dataclass(frozen=True, slots=True)
class Excess:
    """By what `share` of the accepted amount, gross or net, a later price may be higher without a new consent.

    Consent is needed only above the share, or, where `starts_at` it, already from it on.
    """

    share: Decimal
    of: str
    starts_at: bool


@dataclass(frozen=True, slots=True)
class ConsentRule:
    """How consent to a higher price may be given, and whether the number called or written to must be recorded."""

    how: tuple[str, ...]
    number: bool


@dataclass(frozen=True, slots=True)
class LawNotice:
    """What a customer is told, by language: on paper, and before the quote is issued where it `must_be_told`."""

    code: str
    must_be_told: bool
    when: str
    texts: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class LawProfile:
    """What the law of a place wants a quote to say. `reviewed` blank: a template that no adviser has reviewed."""

    code: str
    title: str
    source: str
    reviewed: str
    label: str
    tax_in_price: bool
    minimum_validity_days: int
    excess: Excess
    consent: ConsentRule
    notices: tuple[LawNotice, ...]
