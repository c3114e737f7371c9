"""What a customer has agreed to, which later price that still covers, and what may be decided: rules without effects.

limit    = what was accepted × (1 + the share that the law allows without asking again), or the ceiling if that is
           more and was accepted
covered  = not beyond the limit, for the same repairs, parts and customer
extra    = gross of the new revision − gross that was accepted, where it is beyond the limit
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Any

from quoter.money import ONE
from quoter.problems import Refusal
from quoter.records import WAYS, Agreement, Decision, IssuedQuote

NEXT: Mapping[str, tuple[str, ...]] = {
    "issued": ("accepted", "declined", "withdrawn"),
    "declined": ("accepted", "withdrawn"),
    "accepted": ("withdrawn",),
    "expired": ("declined", "withdrawn"),
    "withdrawn": (),
    "superseded": (),
}
"""What may be decided about a revision in each state. What is over is not accepted any more, in whatever state."""

SAME_SUBSTANCE = ("repairs", "parts", "customer")
"""Members of a job that an agreement is about. Findings, discount, urgency and payment move only the price."""

_NO_EXCESS: Mapping[str, Any] = {"share": "0", "of": "gross", "from": False}


@dataclass(frozen=True, slots=True)
class Consent:
    """What must be agreed to before a price beyond the limit is accepted: how much more, and the limit of so far."""

    extra: Decimal
    limit: Decimal
    of: str


def next_decisions(quote: IssuedQuote, now: str) -> tuple[str, ...]:
    """What can be decided about a revision at a moment."""
    over = quote.is_over_at(now)
    return tuple(each for each in NEXT[quote.state_at(now)] if each != "accepted" or not over)


def ceiling_of(quote: IssuedQuote) -> Decimal | None:
    """Gross with all that the bench may come upon; None where that would be refused."""
    gross = quote.result["ceiling"].get("gross")
    return None if gross is None else Decimal(gross)


def agreement_to(quote: IssuedQuote, up_to: str) -> Agreement:
    """What a customer has agreed to who accepts a revision.

    The limit is rounded to the side on which the same amounts are beyond it. A ceiling is a gross amount, so it is
    weighed against what the share makes of the gross, and becomes the limit where it is more.
    """
    excess = _law(quote).get("excess") or _NO_EXCESS
    gross, net = (Decimal(quote.result["totals"][name]) for name in ("gross", "net"))
    factor, from_limit = ONE + Decimal(excess["share"]), bool(excess["from"])
    unit = ONE.scaleb(-quote.result["digits"])
    amount = net if excess["of"] == "net" else gross
    limit = (amount * factor).quantize(unit, ROUND_CEILING if from_limit else ROUND_FLOOR)
    agreement = Agreement(
        revision=quote.revision, gross=gross, net=net, limit=limit, of=excess["of"], from_limit=from_limit
    )
    ceiling = ceiling_of(quote) if up_to == "ceiling" else None
    if ceiling is None or ceiling <= gross * factor:
        return agreement
    return replace(agreement, limit=ceiling, of="gross", from_limit=False)


def is_beyond(agreement: Agreement, result: Mapping[str, Any]) -> bool:
    """Whether a price passes the limit of an agreement; what was agreed to itself never does."""
    amount = Decimal(result["totals"][agreement.of])
    agreed = agreement.net if agreement.of == "net" else agreement.gross
    return amount > agreement.limit or (agreement.from_limit and agreed < amount == agreement.limit)


def is_covered(agreement: Agreement, agreed: IssuedQuote, new: IssuedQuote) -> bool:
    """Whether a new revision is accepted already, with the revision that was agreed to."""
    same = all(agreed.job[member] == new.job[member] for member in SAME_SUBSTANCE)
    return same and _parts(agreed) <= _parts(new) and not is_beyond(agreement, new.result)


def _parts(quote: IssuedQuote) -> set[str]:
    """What is fitted. A finding may add to it; what was agreed to must not be exchanged."""
    return {line["ref"] for line in quote.result["lines"] if line["kind"] == "part"}


def consent_needed(quote: IssuedQuote) -> Consent | None:
    """What must be agreed to expressly before this revision is accepted."""
    agreement = quote.agreement
    if agreement is None or "accepted" not in NEXT[quote.standing] or not is_beyond(agreement, quote.result):
        return None
    return Consent(Decimal(quote.result["totals"]["gross"]) - agreement.gross, agreement.limit, agreement.of)


def consent_ways(quote: IssuedQuote) -> tuple[str, ...]:
    """How such a consent may be given by the law of the quote; without one, in any way."""
    return tuple(_consent_rules(quote).get("how") or WAYS)


def consent_refusals(quote: IssuedQuote, decision: Decision) -> list[Refusal]:
    """What is missing of a consent, or too much where none is needed."""
    consent = consent_needed(quote) if decision.decision == "accepted" else None
    if consent is None:
        detail = "nothing beyond what was agreed needs consent here; leave it out"
        return [] if decision.extra is None else [Refusal("invalid-value", "/extra", detail)]
    refusals, ways = [], consent_ways(quote)
    if decision.extra != consent.extra:
        detail = f"the customer must agree to {consent.extra} more than before; the limit was {consent.limit}"
        refusals.append(Refusal("consent-required", "/extra", detail, (str(consent.extra),)))
    if decision.how not in ways:
        detail = f"consent to a higher price cannot be given by {decision.how}; it can by {', '.join(ways)}"
        refusals.append(Refusal("consent-required", "/how", detail, ways))
    if _consent_rules(quote).get("number") and not decision.contact.strip():
        detail = "the number or address at which the customer agreed must be recorded"
        refusals.append(Refusal("consent-required", "/contact", detail))
    return refusals


def _law(quote: IssuedQuote) -> Mapping[str, Any]:
    """The law that a revision was issued under; nothing where there is none."""
    return quote.result.get("law") or {}


def _consent_rules(quote: IssuedQuote) -> Mapping[str, Any]:
    return _law(quote).get("consent") or {}
