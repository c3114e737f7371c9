"""A new revision of a quote: what it is, what it changes, and why it may be refused. Without effects."""

import json
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from quoter.problems import Conflict, CurrenciesDiffer, QuoteRefused, Refusal
from quoter.records.quotes import IssuedQuote, QuoteEvent
from quoter.service.quotes.agreements import is_covered
from quoter.service.quotes.notices import notices_of, untold

LONGEST_REASON = 500

_TOLD = ("lines", "totals", "valid_until", "time", "lead_days", "warranty", "parts", "cautions", "law", "shop")
"""Members of a result that the customer is told."""

_OVER = ("expired", "withdrawn")
"""States out of which the same may be quoted again."""


def revised(seen: IssuedQuote, priced: IssuedQuote, agreed: IssuedQuote | None) -> IssuedQuote:
    """The revision after the one that was seen. `agreed` is the revision that the customer has agreed to, if any.

    Raises CurrenciesDiffer, since an agreement in another currency cannot be weighed against it, and Conflict.
    """
    if seen.standing == "superseded":
        raise Conflict(f"only the newest revision of quote {seen.number} can be revised; ask for it again")
    if priced.result["currency"] != seen.result["currency"]:
        raise CurrenciesDiffer(f"the quote is in {seen.result['currency']}, the rates in {priced.result['currency']}")
    covered = seen.agreement and agreed and is_covered(seen.agreement, agreed, priced)
    return replace(
        priced,
        id=seen.id,
        number=seen.number,
        revision=seen.revision + 1,
        version=seen.version + 1,
        contact=seen.contact,
        link=seen.link,
        told=tuple(dict.fromkeys((*seen.told, *priced.told))),
        standing="accepted" if covered else "issued",
        agreement=seen.agreement,
    )


def check_revision(seen: IssuedQuote, new: IssuedQuote) -> None:
    """That a revision says why, changes something, and that the customer has been told. Raises QuoteRefused."""
    refusals = list(reason_refusals(new.reason))
    if changes_nothing(seen, new):
        detail = "nothing changed: repairs, parts, findings, terms, price and validity are those that there are"
        refusals.append(Refusal("nothing-changed", "/job", detail))
    refusals += untold(notices_of(new.result), new.told)
    if refusals:
        raise QuoteRefused(tuple(refusals))


def reason_refusals(reason: str) -> Iterable[Refusal]:
    """A revision says why there is one."""
    if not 0 < len(reason.strip()) <= LONGEST_REASON:
        yield Refusal("invalid-value", "/reason", f"say in at most {LONGEST_REASON} characters why the quote changes")


def changes_nothing(seen: IssuedQuote, new: IssuedQuote) -> bool:
    """Whether the job and all that came of it are what they were, for a quote that still counts."""
    same = all(_written(seen, member) == _written(new, member) for member in _TOLD)
    return same and not changed_members(seen, new) and seen.state_at(new.issued_at) not in _OVER


def _written(quote: IssuedQuote, member: str) -> str:
    """A member as it is kept: what was read back has lists where what was just priced has tuples."""
    return json.dumps(quote.result.get(member))


def changed_members(seen: IssuedQuote, new: IssuedQuote) -> list[str]:
    """Members of the job that differ, but for the date, which is always that of the revision."""
    return [member for member in new.job if member != "date" and seen.job.get(member) != new.job[member]]


def revision_event(seen: IssuedQuote, new: IssuedQuote) -> QuoteEvent:
    """What is kept for good of a revision; its reason stands with the revision itself."""
    data: dict[str, Any] = {
        "changed": changed_members(seen, new),
        "gross": {"old": seen.result["totals"]["gross"], "new": new.result["totals"]["gross"]},
        "book_version": new.book_version,
        "covered": new.standing == "accepted",
        "told": list(new.told),
    }
    return QuoteEvent(
        quote=new.id,
        version=new.version,
        kind="revised",
        revision=new.revision,
        at=new.issued_at,
        by=new.issued_by,
        data=data,
    )
