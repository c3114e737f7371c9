"""What a customer must have been told before a quote is issued, by the law that it is issued under."""

from collections.abc import Iterable, Mapping
from typing import Any

from quoter.problems import Refusal


def untold(result: Mapping[str, Any], told: Iterable[str]) -> tuple[str, ...]:
    """Codes of notices that must be told and have not been."""
    known, law = set(told), result.get("law") or {}
    must = [notice["code"] for notice in law.get("notices", ()) if notice["must_be_told"]]
    return tuple(code for code in must if code not in known)


def notice_refusals(result: Mapping[str, Any], told: Iterable[str]) -> list[Refusal]:
    """What is missing, as a refusal that names it."""
    missing = untold(result, told)
    detail = f"tell the customer first, and say so: {', '.join(missing)}"
    return [Refusal("notice-required", "/told", detail, missing)] if missing else []
