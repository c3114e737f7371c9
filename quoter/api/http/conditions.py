"""Preconditions of requests (RFC 9110 section 13): what the caller has seen, and what they have already."""

import hashlib
import re

from flask import Response, request

from quoter.api.http.problem_document import ApiProblem

_TAG = re.compile(r'(W/)?("[\x21\x23-\x7e\x80-\xff]*")')
_LIST = re.compile(rf"[ \t,]*{_TAG.pattern}(?:[ \t]*,[ \t,]*{_TAG.pattern})*[ \t,]*")

NOT_MODIFIED = 304
SENT_WITH_304 = ("ETag", "Cache-Control", "Content-Location", "Expires", "Vary")
"""Beside what every answer has (section 15.4.5)."""


def if_match(what: str) -> str:
    """The ETag of what the caller has seen. Raises problem 428 where they do not say."""
    seen = request.headers.get("If-Match")
    if seen is None:
        raise ApiProblem(428, "if-match-required", f"send the ETag of the {what} that you have seen as If-Match")
    return seen


def matches(header: str, tag: str, *, weakly: bool = False) -> bool:
    """Whether an entity tag is among those of a header, which may be a list or `*`.

    Strongly, as If-Match compares, a weak tag is like no other; weakly, as If-None-Match does, W/ makes no difference
    (section 8.8.3.2). What is no list of tags matches nothing.
    """
    if header.strip() == "*":
        return True
    if not _LIST.fullmatch(header):
        return False
    return any(tag == found[2] and (weakly or not found[1]) for found in _TAG.finditer(header))


def conditional(answer: Response, tag: str = "") -> Response:
    """An answer with its entity tag, made from its content where none is given; 304 to who has it already.

    The tag must be another as soon as anything in the answer is.
    """
    tag = tag or f'"{hashlib.sha256(answer.get_data()).hexdigest()[:32]}"'
    answer.headers["ETag"] = tag
    had = request.headers.get("If-None-Match")
    if had is None or request.method not in ("GET", "HEAD") or not matches(had, tag, weakly=True):
        return answer
    kept = [(name, value) for name, value in answer.headers if name in SENT_WITH_304]
    unchanged = Response(status=NOT_MODIFIED, headers=kept)
    unchanged.headers.pop("Content-Type", None)
    return unchanged
