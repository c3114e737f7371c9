"""Is an answer what the description of the API says? Asked of every answer in these tests, of both kinds of schema."""

from collections.abc import Iterator
from functools import cache
from typing import TYPE_CHECKING, Any

from flask import Flask
from jsonschema import Draft202012Validator
from marshmallow import Schema
from werkzeug.exceptions import HTTPException

from quoter.api.description.openapi import description
from quoter.api.http.answers import ProblemSchema
from quoter.api.http.operations import OPERATIONS, Operation

if TYPE_CHECKING:
    from .running import Reply

PROBLEM = "application/problem+json"


def check_described(app: Flask, method: str, path: str, reply: "Reply") -> None:
    """Fails where the status, the content type or the body are not those that are described."""
    if reply.status in (204, 304):
        assert reply.content == b""
        assert str(reply.status) in _responses(app, method, path)
        return
    content_type = reply.headers["Content-Type"].partition(";")[0]
    if content_type == PROBLEM:
        assert list(faults(ProblemSchema(), reply.body)) == []
        if reply.body["type"] == "about:blank":  # about HTTP itself: no such path, no such method, too large
            return
    declared, described = operation_at(app, method, path), _responses(app, method, path)
    assert declared is not None, f"{method} {path} is not described and answers {reply.status}"
    assert str(reply.status) in described, f"{declared.id} is not said to answer {reply.status}"
    assert content_type in described[str(reply.status)].get("content", {}), f"{declared.id} answers {content_type}"
    if content_type == "application/json" and declared.answers[reply.status].schema is not None:
        schema = declared.answers[reply.status].schema
        for body in reply.body if isinstance(reply.body, list) else [reply.body]:
            assert list(faults(_kind(schema, body), body)) == []


def _responses(app: Flask, method: str, path: str) -> dict[str, Any]:
    declared = operation_at(app, method, path)
    assert declared is not None, f"{method} {path} is not described"
    described: dict[str, Any] = description()["paths"][declared.path][declared.method.lower()]["responses"]
    return described


def operation_at(app: Flask, method: str, path: str) -> Operation | None:
    """What answers there."""
    try:
        endpoint, _ = app.url_map.bind("localhost").match(path.partition("?")[0], method)
    except HTTPException:
        return None
    return OPERATIONS.get(endpoint.rpartition(".")[2])


def faults(schema: Schema, body: Any) -> Iterator[str]:
    """What marshmallow and JSON Schema find in a body of this kind."""
    found = schema.validate(body)
    if found:
        yield f"marshmallow: {found}"
    name = type(schema).__name__.removesuffix("Schema")
    yield from (f"JSON Schema: {error.json_path} {error.message}" for error in _validator(name).iter_errors(body))


def _kind(schema: Schema | None, body: Any) -> Schema:
    """A body's own schema: in a list of prices there may be problems."""
    assert schema is not None
    return ProblemSchema() if {"type", "title", "status"} <= set(body) else schema


@cache
def _validator(name: str) -> Draft202012Validator:
    return Draft202012Validator(
        {"$ref": f"#/components/schemas/{name}", "components": description()["components"]},
        format_checker=Draft202012Validator.FORMAT_CHECKER,
    )
