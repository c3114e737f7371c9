"""What a customer has agreed to, which later price that still covers, and what may be decided: rules without effects.

limit    = what was accepted × (1 + the share that the law allows without asking again), or the ceiling if that is
           more and was accepted
covered  = the same promise, at a price that is not beyond the limit; between share and ceiling, for findings alone
extra    = amount of the new revision − amount that was accepted, gross or net as the limit is, where it is beyond it
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Any

from quoter.money import ONE
from quoter.problems import Refusal
from quoter.records.quotes import WAYS, Agreement, Decision, IssuedQuote

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

PRICED_OTHERWISE = ("discount", "urgency", "payment")
"""Members that move the price though the bench has found nothing."""

_NO_EXCESS: Mapping[str, Any] = {"share": "0", "of": "gross", "from": False}


@dataclass(frozen=True, slots=True)
class Consent:
    """What must be agreed to before a price beyond the limit is accepted: how much more, and the limit of so far.

    Both are gross or net as `of` says: where the law limits the net, the customer agrees to more before tax.
    """

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
    amount = _amount(result, agreement)
    reaches = agreement.from_limit and _agreed_amount(agreement) < amount == agreement.limit
    return amount > agreement.limit or reaches


def _amount(result: Mapping[str, Any], agreement: Agreement) -> Decimal:
    """A price in the measure of an agreement's limit."""
    return Decimal(result["totals"][agreement.of])


def _agreed_amount(agreement: Agreement) -> Decimal:
    return agreement.net if agreement.of == "net" else agreement.gross


def is_covered(agreement: Agreement, agreed: IssuedQuote, new: IssuedQuote) -> bool:
    """Whether a new revision is accepted already, with the revision that was agreed to.

    A ceiling was agreed to for what the bench may find: whatever else makes it dearer is asked for.
    """
    if not _is_same_promise(agreed, new) or is_beyond(agreement, new.result):
        return False
    return _differs_in_findings_alone(agreed, new) or not is_beyond(agreement_to(agreed, "price"), new.result)


def _is_same_promise(agreed: IssuedQuote, new: IssuedQuote) -> bool:
    same = all(agreed.job[member] == new.job[member] for member in SAME_SUBSTANCE)
    return same and _parts(agreed) <= _parts(new) and _terms(agreed) == _terms(new)


def _differs_in_findings_alone(agreed: IssuedQuote, new: IssuedQuote) -> bool:
    more = set(agreed.job["findings"]) <= set(new.job["findings"])
    return more and all(agreed.job[member] == new.job[member] for member in PRICED_OTHERWISE)


def _parts(quote: IssuedQuote) -> set[tuple[str, str | None]]:
    """What is fitted, and whether it is new. A finding may add to it; what was agreed to must not be exchanged."""
    conditions = {part["sku"]: part.get("condition") for part in quote.result.get("parts", ())}
    parts = (line["ref"] for line in quote.result["lines"] if line["kind"] == "part")
    return {(sku, conditions.get(sku)) for sku in parts}


def _terms(quote: IssuedQuote) -> tuple[Any, ...]:
    """What is promised beside the price: the warranty of each repair, and whether it is a quotation."""
    warranty = [
        (each["procedure"], [(term["code"], term["days"]) for term in each["terms"]])
        for each in quote.result.get("warranty", ())
    ]
    return warranty, _law(quote).get("label", "quotation")


def consent_needed(quote: IssuedQuote) -> Consent | None:
    """What must be agreed to expressly before this revision is accepted."""
    agreement = quote.agreement
    if agreement is None or "accepted" not in NEXT[quote.standing] or not is_beyond(agreement, quote.result):
        return None
    return Consent(_amount(quote.result, agreement) - _agreed_amount(agreement), agreement.limit, agreement.of)


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
