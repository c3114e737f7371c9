"""The shape of every error that the service answers with."""

import re
from typing import Any

from quoter.api.http.problem_document import TITLES

from .running import Caller, Reply

MEMBERS = {"type", "title", "status", "detail", "errors"}
INTERNALS = re.compile(r"Traceback|File \\\"|\.py\b|sqlite|marshmallow|Decimal\(|<class|object at 0x", re.ASCII)


def problem(reply: Reply, status: int, code: str | None) -> list[dict[str, Any]]:
    """The errors of a problem document of this status and type (None: it is about HTTP alone). Fails at any other."""
    assert reply.status == status, reply.text[:500]
    assert reply.headers["Content-Type"] == "application/problem+json"
    assert not INTERNALS.search(reply.text), reply.text[:500]
    body = reply.body
    assert set(body) <= MEMBERS
    assert body["status"] == status
    assert body["detail"]
    if code is None:
        assert body["type"] == "about:blank"
        assert "errors" not in body
        return []
    assert (body["type"], body["title"]) == (f"/problems/{code}", TITLES[code])
    errors: list[dict[str, Any]] = body.get("errors", [])
    for error in errors:
        assert error["reason"] in TITLES
        assert error["pointer"] == "" or error["pointer"].startswith("/")
        assert error["detail"]
    return errors


def pointers(reply: Reply, status: int, code: str) -> list[str]:
    """Where the errors of a problem point."""
    return [error["pointer"] for error in problem(reply, status, code)]


def has_a_page(anybody: Caller, code: str) -> bool:
    """Does the type of a problem lead to a page that says what it means?"""
    page = anybody.get(f"/problems/{code}")
    return page.status == 200 and TITLES[code] in page.text.replace("&#39;", "'")
