"""Problem details (RFC 9457) as plain data, for the API and the command line alike."""

from collections.abc import Iterable
from typing import Any

from quoter.problems import (
    REASONS,
    AddressRefused,
    BookFlawed,
    CalculationRefused,
    ChangedMeanwhile,
    Conflict,
    CurrenciesDiffer,
    EditRefused,
    EnquiryRefused,
    Flaw,
    JobRefused,
    NameReused,
    NotAllowed,
    NotFound,
    Problem,
    PublicationRefused,
    QuoteRefused,
    Refusal,
    Refused,
    ReplyErased,
    TooLarge,
    TooManyRequests,
    Unavailable,
    Unreadable,
)

CONTENT_TYPE = "application/problem+json"

STATUS: dict[type[Problem], int] = {
    JobRefused: 422,
    QuoteRefused: 422,
    EnquiryRefused: 422,
    EditRefused: 422,
    PublicationRefused: 422,
    CalculationRefused: 422,
    AddressRefused: 422,
    CurrenciesDiffer: 422,
    NameReused: 422,
    TooLarge: 422,
    BookFlawed: 422,
    Conflict: 409,
    ReplyErased: 409,
    ChangedMeanwhile: 412,
    NotFound: 404,
    NotAllowed: 403,
    Unreadable: 400,
    TooManyRequests: 429,
    Unavailable: 503,
}

TITLES = {
    **REASONS,
    "not-found": NotFound.title,
    "not-allowed": NotAllowed.title,
    "unreadable": Unreadable.title,
    "unavailable": Unavailable.title,
    "book-flawed": BookFlawed.title,
    "edit-refused": EditRefused.title,
    "publication-refused": PublicationRefused.title,
    "calculation-refused": CalculationRefused.title,
    "address-refused": AddressRefused.title,
    "currencies-differ": CurrenciesDiffer.title,
    "too-large": TooLarge.title,
    NameReused.code: NameReused.title,
    ReplyErased.code: ReplyErased.title,
    "idempotency-key-unreadable": "The header Idempotency-Key is not a string that can be kept",
    "too-many-requests": TooManyRequests.title,
    "conflict": Conflict.title,
    "changed-meanwhile": ChangedMeanwhile.title,
    "if-match-required": "The header If-Match is missing",
    "forged": "The request does not come from a page of this service",
    "invalid-request": "Parameters that are missing, unknown or of the wrong kind",
    "too-many": "More at once than the service takes",
    "origin-not-allowed": "This key does not count on this site",
    "key-required": "This needs a key that counts",
    "not-acceptable": "Not in any of the types that the header Accept takes",
    "wrong-content-type": "The body is not of a type that is understood here",
}
"""Every problem type with its title; the API serves a page on each under /problems/."""


class ApiProblem(Problem):
    """A problem that only a web service has: its status, its type and what else must be said."""

    def __init__(
        self,
        status: int,
        code: str,
        detail: str,
        errors: Iterable[Refusal] = (),
        headers: dict[str, str] | None = None,
        told: Iterable[str] = (),
    ) -> None:
        """`told` is what has happened meanwhile, a line each."""
        super().__init__(detail)
        self.status, self.code, self.errors, self.headers = status, code, tuple(errors), headers or {}
        self.told = tuple(told)


def problem_body(problem: Problem) -> dict[str, Any]:
    """The members of a problem document."""
    status = problem.status if isinstance(problem, ApiProblem) else STATUS[type(problem)]
    body: dict[str, Any] = {
        "type": f"/problems/{problem.code}",
        "title": TITLES[problem.code],
        "status": status,
        "detail": str(problem),
    }
    members = {"errors": _errors(problem), "meanwhile": _meanwhile(problem)}
    return body | {name: value for name, value in members.items() if value}


def _meanwhile(problem: Problem) -> list[str]:
    if isinstance(problem, Conflict):
        return list(problem.changes)
    return list(problem.told) if isinstance(problem, ApiProblem) else []


def _errors(problem: Problem) -> list[dict[str, Any]]:
    if isinstance(problem, BookFlawed):
        return [_flaw_error(flaw) for flaw in problem.flaws]
    if isinstance(problem, Refused | NotAllowed):
        return [_error(refusal) for refusal in problem.refusals]
    if isinstance(problem, ApiProblem):
        return [_error(refusal) for refusal in problem.errors]
    if isinstance(problem, NotFound) and problem.allowed:
        return [_error(Refusal(problem.code, problem.where, str(problem), problem.allowed))]
    return []


def _error(refusal: Refusal) -> dict[str, Any]:
    error: dict[str, Any] = {"reason": refusal.reason, "pointer": refusal.pointer, "detail": refusal.detail}
    if refusal.allowed:
        error["allowed"] = list(refusal.allowed)
    if refusal.caution:
        error["caution"] = refusal.caution
    return error


def _flaw_error(flaw: Flaw) -> dict[str, Any]:
    place = {"table": flaw.table, "column": flaw.column, "row": flaw.row, "key": flaw.key, "value": flaw.value}
    return {"reason": "book-flawed", "pointer": "", "detail": str(flaw), "place": place}
