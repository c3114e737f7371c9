"""A call, and every way in which its declaration says that it can go wrong."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import orjson

from quoter.api.description.openapi import description
from quoter.api.http.operations import OPERATIONS, WHOLE_NUMBERS, Operation
from quoter.api.http.repeating import HEADER as IDEMPOTENCY_KEY

SCOPES = ("owner", "desk", "form")
SITE = "https://shop.example"
"""Whose pages may use the form's key."""

LARGEST_BODY = 20_000
"""Bytes: so that a body that is too large need not be large."""

LARGER_THAN_ANY_FILE = 33_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """What is sent. `key` is the scope of one, or None."""

    declared: Operation
    key: str | None
    path: Mapping[str, Any] = field(default_factory=dict)
    query: Mapping[str, Any] = field(default_factory=dict)
    headers: Mapping[str, str] = field(default_factory=dict)
    content: bytes | None = None

    @classmethod
    def of(cls, operation: str, *, body: Any = None, match: str = "", **said: Any) -> "Call":
        """A call of an operation. `match` is the ETag that was seen; `body` is sent as JSON."""
        declared = OPERATIONS[operation]
        said.setdefault("key", declared.scopes[0] if declared.scopes else None)
        headers = dict(said.pop("headers", {}))
        if body is None and declared.body and "content" not in said:
            body = declared.body["example"]
        if body is not None:
            said["content"] = orjson.dumps(body)
            headers.setdefault("Content-Type", "application/json")
        if match:
            headers["If-Match"] = match
        if said["key"] == "form":
            headers.setdefault("Origin", SITE)
        return cls(declared=declared, headers=headers, **said)

    @property
    def parameters(self) -> dict[str, Any]:
        """What is sent beside the body and the key."""
        named = {name: each for name, each in self.headers.items() if name in ("If-Match", IDEMPOTENCY_KEY)}
        return {**self.path, **self.query, **named}

    @property
    def problems(self) -> tuple[int, ...]:
        """The statuses of the problems that the operation is described with."""
        said = description()["paths"][self.declared.path][self.declared.method.lower()]
        return tuple(int(status) for status in said["responses"] if int(status) >= 400)

    def with_headers(self, **headers: str) -> "Call":
        """The same with other headers, named with _ for -."""
        return replace(
            self, headers={**self.headers, **{name.replace("_", "-"): each for name, each in headers.items()}}
        )

    def without(self, header: str) -> "Call":
        """The same without a header."""
        return replace(self, headers={name: each for name, each in self.headers.items() if name != header})


def spoilt(call: Call) -> Iterator[tuple[int, Call]]:
    """The call in every way that is wrong by itself and that its operation declares, with the status that it gets."""
    yield from ((status, wrong) for status, wrong in _wrong(call) if status in call.problems)


def _wrong(call: Call) -> Iterator[tuple[int, Call]]:
    yield from _other_keys(call)
    yield from _other_places(call)
    if call.declared.body or call.declared.upload:
        yield from _other_bodies(call)
    if call.declared.query is not None:
        yield 422, replace(call, query={**call.query, "colour": "red"})
    if call.declared.if_match:
        yield 428, call.without("If-Match")
        yield 412, call.with_headers(If_Match='"0"')
    if call.declared.repeatable:
        yield 400, call.with_headers(Idempotency_Key="a, b")
    yield 406, call.with_headers(Accept="audio/ogg")


def _other_keys(call: Call) -> Iterator[tuple[int, Call]]:
    if call.declared.scopes:
        yield 401, replace(call, key=None)
        yield from ((403, replace(call, key=scope)) for scope in SCOPES if scope not in call.declared.scopes)
    if "form" in call.declared.scopes:
        yield 403, replace(call, key="form").with_headers(Origin="https://elsewhere.example")


def _other_places(call: Call) -> Iterator[tuple[int, Call]]:
    for name in call.path:
        yield 404, replace(call, path={**call.path, name: 999 if name in WHOLE_NUMBERS else "nowhere"})
    if call.declared.query is not None and "book" in call.declared.query.fields:
        yield 404, replace(call, query={**call.query, "book": "nowhere"})


def _other_bodies(call: Call) -> Iterator[tuple[int, Call]]:
    yield 400, replace(call, content=b'{"device": ')
    yield 415, call.with_headers(Content_Type="text/plain")
    yield 413, replace(call, content=b" " * (LARGER_THAN_ANY_FILE if call.declared.upload else LARGEST_BODY + 1))
    if call.declared.body:
        sent = orjson.loads(call.content or b"{}")
        yield 422, replace(call, content=orjson.dumps({**sent, "colour": "red"} if isinstance(sent, dict) else 7))
