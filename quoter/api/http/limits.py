"""Who asks too often waits: the limits of the service at the requests that it answers, and the headers that tell.

The headers are those of draft-ietf-httpapi-ratelimit-headers-11 (May 2026, no RFC): `r` may come within `t` seconds.
"""

from collections.abc import Iterable

from flask import Flask, Response, g

from quoter.api.http.origins import sender_address
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.services import services
from quoter.service.access.limits import Standing

TOO_OFTEN = "that was too often; try again in {seconds} s"


def spend_form(key_id: str, how_many: int = 1) -> None:
    """Counts what a visitor of the web form asks with this key: a request, and every further job of a list. Raises
    problem 429 where that is too much.

    For pages too: `Retry-After` is among the headers of the problem, and the answer gets its RateLimit headers.
    """
    standings = services().limits.form(key_id, sender_address(), how_many)
    g.standings = standings
    if not standings[-1].is_allowed:
        raise too_often(standings[-1])


def too_often(standing: Standing) -> ApiProblem:
    """The problem that says when to try again (RFC 6585 section 4)."""
    seconds = standing.more_after_seconds
    headers = {"Retry-After": str(seconds)}
    return ApiProblem(429, "too-many-requests", TOO_OFTEN.format(seconds=seconds), headers=headers)


def register(app: Flask) -> None:
    """Every answer to a caller who is limited says how far they may go."""

    @app.after_request
    def tell(response: Response) -> Response:
        standings: tuple[Standing, ...] = g.get("standings", ())
        if standings:
            response.headers["RateLimit-Policy"] = ", ".join(_policies(standings))
            nearest = min(standings, key=lambda standing: (standing.is_allowed, standing.remaining))
            response.headers["RateLimit"] = (
                f'"{nearest.policy.name}";r={nearest.remaining};t={nearest.more_after_seconds}'
            )
        return response


def _policies(standings: Iterable[Standing]) -> Iterable[str]:
    for policy in (standing.policy for standing in standings):
        yield f'"{policy.name}";q={policy.quota};w={policy.window_seconds}'
