"""What a customer must have been told before a quote is issued, by the law that it is issued under."""

from collections.abc import Iterable, Mapping
from typing import Any

from quoter.problems import Refusal


def untold(notices: Iterable[Mapping[str, Any]], told: Iterable[str]) -> tuple[Refusal, ...]:
    """A refusal for each notice that the customer must hear before the quote is issued, and has not heard."""
    known = set(told)
    missing = (notice["code"] for notice in notices if notice["must_be_told"] and notice["code"] not in known)
    return tuple(
        Refusal("notice-required", "/told", f"the customer must be told first: {code}", (code,)) for code in missing
    )


def notices_of(result: Mapping[str, Any]) -> Iterable[Mapping[str, Any]]:
    """The notices that are about a job, as its result has them; none without a law."""
    notices: Iterable[Mapping[str, Any]] = (result.get("law") or {}).get("notices", ())
    return notices
