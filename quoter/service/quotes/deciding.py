"""A decision about a quote: whether it can be taken, and what the quote is after it. Without effects."""

from dataclasses import replace

from quoter.problems import Conflict, QuoteRefused, Refusal
from quoter.records.quotes import DECISIONS, UP_TO, WAYS, Agreement, Decision, IssuedQuote, QuoteEvent
from quoter.service.quotes.agreements import agreement_to, ceiling_of, consent_needed, consent_refusals, next_decisions

LONGEST_NAME, LONGEST_NOTE = 200, 1000

BY_LINK = ("accepted", "declined")
"""What a customer may decide alone."""


def decided(seen: IssuedQuote, decision: Decision) -> tuple[IssuedQuote, QuoteEvent]:
    """The quote after a decision that was recorded now, and the event. Raises Conflict or QuoteRefused."""
    _check_possible(seen, decision)
    refusals = [*_form_refusals(decision), *_time_refusals(seen, decision), *_ceiling_refusals(seen, decision)]
    refusals += consent_refusals(seen, decision)
    if refusals:
        raise QuoteRefused(tuple(refusals))
    after = replace(
        seen,
        version=seen.version + 1,
        standing=decision.decision,
        decision=decision,
        agreement=_agreement_after(seen, decision),
    )
    return after, _event(seen, after, decision)


def check_by_link(seen: IssuedQuote, decision: str, now: str) -> None:
    """That a customer may decide this alone, on a quote that still holds. Raises QuoteRefused or Conflict."""
    if decision not in BY_LINK:
        detail = f"not one of {', '.join(BY_LINK)}"
        raise QuoteRefused((Refusal("invalid-value", "/decision", detail, BY_LINK),))
    if seen.state_at(now) == "expired":
        raise Conflict(f"quote {seen.number} held until {seen.result['valid_until']}; ask the shop for a new one")


def _agreement_after(seen: IssuedQuote, decision: Decision) -> Agreement | None:
    """Who declines a revision stays with what they agreed to before; a quote that is withdrawn binds nobody."""
    if decision.decision == "accepted":
        return agreement_to(seen, decision.up_to)
    return seen.agreement if decision.decision == "declined" else None


def _check_possible(seen: IssuedQuote, decision: Decision) -> None:
    """That the quote is in a state for it."""
    now = decision.recorded_at
    if decision.revision != seen.revision or seen.standing == "superseded":
        raise Conflict(f"only the newest revision of quote {seen.number} can be decided on; ask for it again")
    if decision.decision in next_decisions(seen, now) or decision.decision not in DECISIONS:
        return
    if decision.decision == "accepted" and seen.is_over_at(now) and seen.standing in ("issued", "declined"):
        until = seen.result["valid_until"]
        raise Conflict(f"quote {seen.number} held until {until}; revise it, and the new revision can be accepted")
    raise Conflict(f"quote {seen.number} is {seen.state_at(now)} and cannot be {decision.decision}")


def _form_refusals(decision: Decision) -> list[Refusal]:
    refusals = [
        Refusal("invalid-value", f"/{member}", f"not one of {', '.join(allowed)}", allowed)
        for member, allowed in (("decision", DECISIONS), ("how", WAYS), ("up_to", UP_TO))
        if getattr(decision, member) not in allowed
    ]
    if not is_name(decision.name):
        detail = f"say in at most {LONGEST_NAME} characters, all of them to be seen, who decided"
        refusals.append(Refusal("invalid-value", "/name", detail))
    if len(decision.note) > LONGEST_NOTE:
        refusals.append(Refusal("invalid-value", "/note", f"at most {LONGEST_NOTE} characters"))
    return refusals


def is_name(text: str) -> bool:
    """Whether somebody can be read out of it: letters, on one line, with no sign that hides or turns others."""
    seen = text.translate(_JOINERS)
    return 0 < len(text) <= LONGEST_NAME and seen.isprintable() and any(map(str.isalnum, seen))


_JOINERS = dict.fromkeys((0x200C, 0x200D))
"""Signs without a shape of their own that Persian names and the scripts of India are written with."""


def _time_refusals(seen: IssuedQuote, decision: Decision) -> list[Refusal]:
    """Nobody decides before there is something to decide on, nor before the last decision, nor later than now."""
    earliest = max(seen.issued_at, seen.decision.at if seen.decision else "")
    if earliest <= decision.at <= decision.recorded_at:
        return []
    detail = (
        f"{decision.at} is not between {earliest}, when it was issued or decided last, and now, {decision.recorded_at}"
    )
    return [Refusal("out-of-range", "/at", detail)]


def _ceiling_refusals(seen: IssuedQuote, decision: Decision) -> list[Refusal]:
    if decision.up_to != "ceiling" or ceiling_of(seen) is not None:
        return []
    return [Refusal("invalid-value", "/up_to", "this quote has no ceiling that could be agreed to", ("price",))]


def _event(seen: IssuedQuote, after: IssuedQuote, decision: Decision) -> QuoteEvent:
    """Without name, number and note, which are kept where they can be erased."""
    data = {"decided_at": decision.at, "how": decision.how}
    if decision.decision == "accepted" and after.agreement:
        data |= {"up_to": decision.up_to, "limit": str(after.agreement.limit), "of": after.agreement.of}
        consent = consent_needed(seen)
        data |= {"extra": str(consent.extra), "extra_of": consent.of} if consent else {}
    return QuoteEvent(
        quote=after.id,
        version=after.version,
        kind=decision.decision,
        revision=after.revision,
        at=decision.recorded_at,
        by=decision.recorded_by,
        data=data,
    )
