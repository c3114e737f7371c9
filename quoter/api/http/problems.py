"""The one place where a problem becomes an HTTP answer."""

from collections.abc import Iterable
from typing import Any
from urllib.parse import quote

import orjson
from flask import Flask, Response, request
from werkzeug.exceptions import HTTPException, InternalServerError, MethodNotAllowed, NotFound, RequestEntityTooLarge

from quoter.api.http.measures import count_refusals
from quoter.api.http.problem_document import CONTENT_TYPE, ApiProblem, problem_body
from quoter.api.http.request_log import request_id
from quoter.problems import EnquiryRefused, Problem, TooManyRequests, Unavailable

RETRY_AFTER_SECONDS = "10"

LONGEST_TOLD = 60
"""Of what was asked for: an answer repeats no more of it."""


def problem_answer(body: dict[str, Any], headers: Iterable[tuple[str, str]] = ()) -> Response:
    """The problem as a response."""
    answer = Response(orjson.dumps(body), body["status"], content_type=CONTENT_TYPE)
    for name, value in headers:
        if name.lower() not in ("content-type", "content-length"):
            answer.headers[name] = value
    return answer


def _headers(problem: Problem) -> dict[str, str]:
    if isinstance(problem, ApiProblem):
        return problem.headers
    wait_seconds = problem.wait_seconds if isinstance(problem, EnquiryRefused | TooManyRequests) else 0
    return {"Retry-After": str(wait_seconds)} if wait_seconds else {}


def _reasons(problem: Problem) -> list[str]:
    """Why a request was refused: each single reason, or the type of the problem."""
    single = problem.errors if isinstance(problem, ApiProblem) else getattr(problem, "refusals", ())
    return [refusal.reason for refusal in single] or [problem.code]


def _what_to_do(error: HTTPException) -> str:
    """Werkzeug's own words for these are for somebody who types an address into a browser."""
    if isinstance(error, NotFound):
        return f"there is {_place() or 'nothing at this address'}; /openapi.json lists all calls"
    if isinstance(error, MethodNotAllowed):
        methods = ", ".join(sorted(error.valid_methods or ()))
        return f"{_told(request.method)} is not among the methods of {_told(quote(request.path))}: {methods}"
    if isinstance(error, RequestEntityTooLarge):
        return f"the body has more than the {request.max_content_length} bytes that are taken here"
    return error.description or error.name


def _place() -> str:
    """What of the API was asked for; of other addresses nothing is repeated."""
    return f"no {_told(quote(request.path))}" if f"{request.path}/".startswith("/v1/") else ""


def _told(text: str) -> str:
    return text if len(text) <= LONGEST_TOLD else f"{text[:LONGEST_TOLD]}…"


def register(app: Flask) -> None:
    """Every error of the app is answered as a problem, and none with its internals."""

    @app.errorhandler(Problem)
    def refused(problem: Problem) -> Response:
        count_refusals(_reasons(problem))
        return problem_answer(problem_body(problem), _headers(problem).items())

    @app.errorhandler(Unavailable)
    def unavailable(problem: Unavailable) -> Response:
        app.logger.error("%s", problem)
        detail = "The service has no access to what it keeps. Nothing was changed; try again in a while."
        return problem_answer(problem_body(problem) | {"detail": detail}, [("Retry-After", RETRY_AFTER_SECONDS)])

    @app.errorhandler(HTTPException)
    def http(error: HTTPException) -> Response:
        code = error.code or 500
        body = {"type": "about:blank", "title": error.name, "status": code, "detail": _what_to_do(error)}
        return problem_answer(body, error.get_headers(request.environ))

    @app.errorhandler(Exception)
    def crashed(error: Exception) -> Response:
        app.logger.exception("a request could not be answered")
        detail = f"The service failed at this; what went wrong is in the log, of request {request_id()}."
        return http(InternalServerError(detail))
