"""Which pages of other sites may read an answer: those of the origins of form keys, and only what such a key may ask.

The Fetch standard, fetch.spec.whatwg.org section 3.2. Without these headers, browsers keep an answer from the page.
"""

from flask import Flask, Response, g, request

from quoter.api.http.operations import OPERATIONS, Operation
from quoter.api.http.services import services
from quoter.problems import Unavailable
from quoter.records.access import FORM

REQUEST_HEADERS = "Authorization, Content-Type, Idempotency-Key, If-None-Match, Accept, Accept-Language"
SHOWN_HEADERS = "ETag, Link, Location, RateLimit, RateLimit-Policy, Retry-After"
MAX_AGE_SECONDS = "7200"


def register(app: Flask) -> None:
    """Answers preflights, and lets pages read what they may: problems too, so that a form can say what is wrong."""

    @app.before_request
    def preflight() -> Response | None:
        methods = _methods() if request.method == "OPTIONS" else []
        if not methods:
            return None
        response: Response = app.make_default_options_response()  # with Allow, of all operations at this path
        response.status_code = 204
        if _may_read():
            response.headers["Access-Control-Allow-Methods"] = ", ".join(methods)
            response.headers["Access-Control-Allow-Headers"] = REQUEST_HEADERS
            response.headers["Access-Control-Max-Age"] = MAX_AGE_SECONDS
        return response

    @app.after_request
    def readable(response: Response) -> Response:
        if not _is_for_forms():
            return response
        varies = response.headers.get("Vary")
        response.headers["Vary"] = f"{varies}, Origin" if varies else "Origin"
        if _may_read():
            response.headers["Access-Control-Allow-Origin"] = request.headers["Origin"]
            if request.method != "OPTIONS":
                response.headers["Access-Control-Expose-Headers"] = SHOWN_HEADERS
        return response


def _is_for_forms() -> bool:
    """Whether what was asked for is something that a form may ask."""
    if request.method == "OPTIONS":
        return bool(_methods())
    declared = _declared()
    return declared is not None and FORM in declared.scopes


def _declared() -> Operation | None:
    return OPERATIONS.get((request.endpoint or "").rpartition(".")[2])


def _methods() -> list[str]:
    """What a form may do at this path."""
    asked = _declared()
    path = asked.path if asked else None
    return sorted(each.method for each in OPERATIONS.values() if each.path == path and FORM in each.scopes)


def _may_read() -> bool:
    """Whether the page stands on a site of the key that it sent; where it sent none, of any form's key."""
    if "may_read" not in g:
        g.may_read = _is_listed(request.headers.get("Origin", ""))
    found: bool = g.may_read
    return found


def _is_listed(origin: str) -> bool:
    if not origin:
        return False
    if "presented" in g:
        return g.presented.scope == FORM and origin in g.presented.origins
    try:
        return services().keyring.has_site(origin)
    except Unavailable:  # this must not spoil the answer that says so
        return False
