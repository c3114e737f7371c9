"""Links of the description lead somewhere, with what really stands in the answers."""

from typing import Any

import pytest

import quoter.app  # noqa: F401 - declares every operation
from quoter.api.description.links import NAMED_IN, READING
from quoter.api.description.openapi import description
from quoter.api.http.operations import OPERATIONS

from .running import BATTERY, Service

LINKS = [
    pytest.param(operation, response, link, id=f"{operation['operationId']}-{name}")
    for item in description()["paths"].values()
    for operation in item.values()
    for response in operation["responses"].values()
    for name, link in response.get("links", {}).items()
]


def resolved(document: Any, pointer: str) -> Any:
    """What an RFC 6901 pointer leads to; none of ours needs an escape."""
    for word in pointer.split("/")[1:]:
        document = document[int(word) if isinstance(document, list) else word]
    return document


@pytest.mark.parametrize(("operation", "response", "link"), LINKS)
def test_a_link_names_parameters_and_finds_their_values(operation: Any, response: Any, link: Any):
    """OpenAPI 3.1 section 4.8.20: expressions are evaluated against the answer, here one that was recorded."""
    target = OPERATIONS[link["operationId"]]
    known = {*NAMED_IN, *(["If-Match"] if target.if_match else [])}
    assert set(link["parameters"]) <= known
    assert any(f"{{{name}}}" in target.path for name in link["parameters"])
    for expression in link["parameters"].values():
        if expression.startswith("$response.body#"):
            examples = response["content"]["application/json"]["examples"].values()
            values = [description()["components"]["examples"][each["$ref"].rpartition("/")[2]] for each in examples]
            assert all(resolved(each["value"], expression.partition("#")[2]) for each in values)
        elif expression.startswith("$request.path."):
            assert f"{{{expression.rpartition('.')[2]}}}" in OPERATIONS[operation["operationId"]].path
        else:
            assert "ETag" in response["headers"]


def test_every_operation_that_is_named_is_there():
    """One that is renamed here alone would have no link, and nobody would miss it."""
    assert {name for sources in NAMED_IN.values() for name in sources} | set(READING) <= set(OPERATIONS)


def test_a_link_is_followed(service: Service):
    """From a quote that was issued to the quote with its contact changed, by what the answer says alone."""
    desk = service.caller("desk")
    issued = desk.post("/v1/quotes", BATTERY)
    links = description()["paths"]["/v1/quotes"]["post"]["responses"]["201"]["links"]
    said = links["changeContact"]["parameters"]
    assert said == {"quote_id": "$response.body#/id", "If-Match": "$response.header.ETag"}
    path = OPERATIONS["changeContact"].path.replace("{quote_id}", resolved(issued.body, "/id"))
    assert desk.send("PUT", path, b'{"name": "A. Example"}', If_Match=issued.headers["ETag"]).status == 200
