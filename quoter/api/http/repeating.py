"""Requests with an Idempotency-Key: sent again, also at the same time or after a crash, they are not done twice.

The header is that of draft-ietf-httpapi-idempotency-key-header-07: a string of RFC 9651, or, as many clients send it,
the same without quotes. What a request makes and the answer to it are kept in one transaction. Where the same request
is worked on twice at once, the second finds the answer of the first when it comes to keep its own, and undoes what it
made.
"""

import hashlib
import re
from collections.abc import Callable
from urllib.parse import urlsplit

import orjson
from flask import Response, g, request

from quoter.api.http.auth import current_key
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.services import services
from quoter.problems import Problem
from quoter.service.replies import Asked

HEADER = "Idempotency-Key"

PATTERN = r'^("([!#-\[\]-~]|\\["\\]){1,255}"|[!#-+\--:<-\[\]-~]{1,255})$'
"""1 to 255 visible ASCII signs; with a quote, backslash, comma or semicolon among them only as a string."""

KEPT_HEADERS = ("Content-Type", "Location", "ETag", "Cache-Control")


class _Refused(Exception):
    """Carries an answer that refuses out of the transaction, so that nothing is kept."""

    def __init__(self, answer: Response) -> None:
        super().__init__()
        self.answer = answer


def done_once(view: Callable[[], Response]) -> Response:
    """The answer of a view, or the one that the request got before, where it has a name; else always the view's."""
    sent = request.headers.get(HEADER)
    if sent is None:
        return view()
    asked = Asked(holder=current_key().id, name=name_in(sent), request_sha256=request_sha256())
    return _given_before(asked) or _given_now(view, asked)


def _given_before(asked: Asked) -> Response | None:
    first = services().replies.first(asked)
    return Response(first.body, first.status, first.headers.items()) if first else None


def _given_now(view: Callable[[], Response], asked: Asked) -> Response:
    """The view's answer. Where it refuses, what stands in its way may be that the same request was done meanwhile."""
    g.once_kept = []
    try:
        with services().as_one():
            answer = _kept(view(), asked)
    except _Refused as refused:
        return _given_before(asked) or refused.answer
    except Problem:
        before = _given_before(asked)
        if before is None:
            raise
        return before
    for work in g.once_kept:
        work()
    return answer


def once_kept(work: Callable[[], None]) -> None:
    """Does something when what this request keeps is on disk; nothing where it is refused after all."""
    waiting: list[Callable[[], None]] | None = g.get("once_kept")
    if waiting is None:
        work()
    else:
        waiting.append(work)


def name_in(sent: str) -> str:
    """The name that a request was given, with or without quotes. Raises problem 400."""
    if not re.fullmatch(PATTERN[1:-1], sent):
        detail = f"{HEADER} is not a string of 1 to 255 visible ASCII signs, such as a UUID"
        raise ApiProblem(400, "idempotency-key-unreadable", detail)
    return re.sub(r"\\(.)", r"\1", sent[1:-1]) if sent.startswith('"') else sent


def request_sha256() -> str:
    """What a request says: method, path, parameters and body, however these are written."""
    parts = [request.method, request.path, sorted(request.args.items(multi=True))]
    return hashlib.sha256(orjson.dumps(parts) + b"\n" + _canonical(request.get_data())).hexdigest()


def _canonical(body: bytes) -> bytes:
    """JSON without the order of its members and without spaces; what is none, as it was sent."""
    if request.mimetype != "application/json":
        return request.mimetype.encode() + b"\n" + body
    try:
        return orjson.dumps(orjson.loads(body), option=orjson.OPT_SORT_KEYS)
    except (orjson.JSONDecodeError, orjson.JSONEncodeError):
        return body


def say_what_is_made(path: str) -> None:
    """The path of what this request makes, where its answer does not tell it: erasing that empties the answer too."""
    g.about = path


def _kept(answer: Response, asked: Asked) -> Response:
    if answer.status_code >= 400 or answer.is_streamed:
        raise _Refused(answer)
    headers = {name: answer.headers[name] for name in KEPT_HEADERS if name in answer.headers}
    about = g.get("about") or urlsplit(headers.get("Location", request.path)).path
    services().replies.keep(asked, answer.status_code, headers, answer.get_data(), about=about)
    return answer
