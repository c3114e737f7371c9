"""The description of the API: OpenAPI 3.1, made from what routes and answers, and the same as what is committed."""

import gzip
import re
from pathlib import Path
from typing import Any

import orjson
import pytest
from jsonschema import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator, validate

from quoter.api.description.docs import coded, description_bytes, quoted
from quoter.api.description.openapi import description
from quoter.api.description.topics import TOPICS, topic_of
from quoter.api.http.operations import OPERATIONS
from quoter.api.http.problem_document import TITLES
from quoter.api.prices.examples import JOB_EXAMPLE

from .running import Service

COMMITTED = Path(__file__).parents[2] / "openapi" / "openapi.json"


MOST_BYTES = 600_000
"""Of the description, which programs and people fetch."""

SLOTS = [str(each) for each in range(51)]

METHODS = {"get", "post", "put", "patch", "delete"}


def operations() -> list[tuple[str, str, dict[str, Any]]]:
    """Every operation of the description: (method, path, what is said)."""
    return [
        (method, path, said)
        for path, item in description()["paths"].items()
        for method, said in item.items()
        if method in METHODS
    ]


def braced(rule: str) -> str:
    """A path of Flask's as OpenAPI writes it."""
    return re.sub(r"<(?:[^:<>]*:)?([^<>]*)>", r"{\1}", rule)


def is_for_people(service: Service, endpoint: str) -> bool:
    """The way to the documentation, pages and what belongs to them."""
    module = service.app.view_functions[endpoint].__module__
    return endpoint == "docs.front" or endpoint.endswith(".static") or module.startswith("quoter.pages.")


def test_the_committed_description_is_that_of_the_code():
    """After a change: `make openapi`."""
    if COMMITTED.read_bytes() != description_bytes():
        pytest.fail("openapi/openapi.json is not what the code says; write it anew with `make openapi`")


def test_the_description_is_valid():
    """OpenAPI 3.1."""
    assert description()["openapi"].startswith("3.1.")
    validate(description(), cls=OpenAPIV31SpecValidator)


def test_every_route_is_described_and_every_description_has_a_route(service: Service):
    """Both ways, but for what is for people."""
    routes = {
        f"{method} {braced(rule.rule)}"
        for rule in service.app.url_map.iter_rules()
        if not is_for_people(service, rule.endpoint)
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    described = {f"{method.upper()} {path}" for method, path, _ in operations()}
    assert routes == described


def test_every_operation_has_an_id_of_its_own():
    """Clients name their functions by it."""
    ids = [said["operationId"] for _, _, said in operations()]
    assert sorted(ids) == sorted(set(ids)) == sorted(OPERATIONS)


def test_every_operation_says_what_it_is_for_and_which_key_it_wants():
    """And every parameter and answer what it means."""
    for _, path, said in operations():
        assert said["summary"], path
        assert ("No key is needed." in said["description"]) is ("security" not in said), path
        named = [each for each in said.get("parameters", []) if each["in"] != "path"]
        assert [each["name"] for each in named if not each.get("description")] == [], path
        assert all(answer["description"] for answer in said["responses"].values()), path


def test_every_guarded_operation_says_what_may_go_wrong():
    """No key, the wrong key, no database: as problem documents."""
    for method, path, said in operations():
        if "security" in said:
            assert {"401", "403", "503"} <= set(said["responses"]), (method, path)
        for status, answer in said["responses"].items():
            if int(status) >= 400:
                assert list(answer["content"]) == ["application/problem+json"], (method, path, status)


def test_the_description_that_is_served_says_what_is_committed(service: Service):
    """To anybody, with the media type that is registered for it; without indentation, so of half the size."""
    reply = service.caller(None).get("/openapi.json")
    assert list(orjson.loads(reply.content).items()) == list(description().items())
    assert b"\n" not in reply.content
    assert len(reply.content) < MOST_BYTES
    assert reply.headers["Content-Type"] == "application/openapi+json"


def test_the_description_is_packed_for_who_takes_it(service: Service):
    """Whole, with an ETag of its own (RFC 9110, sections 8.4.1.3 and 8.8.3.3); caches are told what it depends on."""
    nobody = service.app.test_client()
    plain, packed = nobody.get("/openapi.json"), nobody.get("/openapi.json", headers={"Accept-Encoding": "br, gzip"})
    assert gzip.decompress(packed.get_data()) == plain.get_data()
    assert len(packed.get_data()) < MOST_BYTES / 6
    assert (packed.headers["Content-Encoding"], plain.headers.get("Content-Encoding")) == ("gzip", None)
    assert packed.headers["ETag"] != plain.headers["ETag"]
    assert packed.headers["Vary"] == plain.headers["Vary"] == "Accept-Encoding"
    known = {"Accept-Encoding": "gzip", "If-None-Match": packed.headers["ETag"]}
    again = nobody.get("/openapi.json", headers=known)
    assert (again.status_code, again.headers["Vary"]) == (304, "Accept-Encoding")


@pytest.mark.parametrize("path", ["/v1/prices", "/v1/quotes"])
def test_the_example_is_a_job_that_can_be_priced(service: Service, path: str):
    """By the demo book, and by the schema that it illustrates."""
    body = description()["paths"][path]["post"]["requestBody"]["content"]["application/json"]
    assert body["example"] == JOB_EXAMPLE
    schema = body["schema"] | {"components": description()["components"]}
    assert list(Draft202012Validator(schema).iter_errors(JOB_EXAMPLE)) == []
    reply = service.caller("desk").post(path, JOB_EXAMPLE)
    assert reply.status in (200, 201)
    assert [line["ref"] for line in reply.body["lines"] if line["kind"] == "part"] == ["QK5-CEL-G", "QK5-SEA-G"]


def test_the_page_for_people_names_every_operation_and_document(service: Service):
    """Before its one script runs; the root leads to the desk, whose frame leads here."""
    nobody = service.caller(None)
    page = nobody.get("/docs").text
    for method, path, said in operations():
        assert f'id="{said["operationId"]}"' in page, (method, path)
    for name in description()["components"]["schemas"]:
        assert f'id="schema-{name}"' in page
    assert re.findall("<script[^>]*>", page) == ['<script type="module" src="/static/js/docs/page.js">']
    client = service.app.test_client()
    with client.get("/") as front, client.get("/static/style.css") as style:
        assert front.headers["Location"] == "/desk"
        assert style.mimetype == "text/css"


@pytest.mark.parametrize(
    ("field", "right", "wrong"),
    [
        ("discount", [{"rate": "0.10"}, {"rate": "-0.5", "reason": ""}, None], [{"rate": 0.1}, {"rate": "0,1"}, {}]),
        ("date", ["2026-03-02", None], ["2026-3-2", "02.03.2026", 20260302]),
        ("repairs", [[{"procedure": "x"}]], [[], [{}], [{"procedure": "x", "colour": "red"}], [{"procedure": ""}]]),
        ("parts", [{}, {"seal": None}, {"seal": "X"}], [{"seal": 7}, {"seal": ""}, {"": "X"}, dict.fromkeys(SLOTS)]),
        ("customer", [{}, {"kind": "exempt"}], [{"kind": "friend"}, {"name": "X"}]),
        ("urgency", ["express"], ["yesterday", None]),
    ],
)
def test_the_schema_of_a_job_says_what_the_service_takes(field: str, right: list[Any], wrong: list[Any]):
    """A client that checks by the schema is not refused for its form, and cannot send what would be."""
    schema = {"$ref": "#/components/schemas/Job", "components": description()["components"]}
    validator = Draft202012Validator(schema)
    for value in right:
        assert validator.is_valid(JOB_EXAMPLE | {field: value}), value
    for value in wrong:
        assert not validator.is_valid(JOB_EXAMPLE | {field: value}), value


@pytest.mark.parametrize("path", ["/docs", *(f"/problems/{code}" for code in TITLES)])
def test_what_is_code_is_shown_as_code_and_quotes_as_quotes(service: Service, path: str):
    """Neither backticks nor escapes of JSON for scripts are for people."""
    page = service.caller(None).get(path).text
    assert re.findall(r"`|\\u00[0-9a-f]{2}", page) == []
    assert "<code>" in page


def test_text_for_people_is_never_taken_for_markup():
    """What stands between backticks neither."""
    assert coded("`<b>` & 'c'") == "<code>&lt;b&gt;</code> &amp; &#39;c&#39;"
    assert quoted("it's") == "'it'\\''s'"


def test_every_operation_is_about_something():
    """The tags are the topics, in their order; each blueprint with operations is in one of them."""
    assert [tag["name"] for tag in description()["tags"]] == [topic.name for topic in TOPICS]
    named = [blueprint for topic in TOPICS for blueprint in topic.blueprints]
    assert sorted(named) == sorted({declared.blueprint for declared in OPERATIONS.values()})
    tags = {said["operationId"]: said["tags"] for _, _, said in operations()}
    assert tags == {declared.id: [topic_of(declared).name] for declared in OPERATIONS.values()}
    assert tags["compareRevisions"] == ["Quotes"]


def test_the_page_is_sent_small_and_only_to_who_has_it_not(service: Service):
    """RFC 9110, sections 12.5.3 and 13.1.2: gzip, and 304 to who has it; each coding has a tag of its own."""
    nobody = service.caller(None)
    plain, packed = nobody.get("/docs"), nobody.get("/docs", Accept_Encoding="gzip")
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.content) == plain.content
    assert len(packed.content) < len(plain.content) / 5
    assert plain.headers["Vary"] == packed.headers["Vary"] == "Accept-Encoding"
    assert plain.headers["ETag"] != packed.headers["ETag"]
    again = nobody.get("/docs", If_None_Match=plain.headers["ETag"])
    assert (again.status, again.content, again.headers["ETag"]) == (304, b"", plain.headers["ETag"])


def test_the_page_names_the_service_as_its_reader_does(service: Service):
    """Whatever it has been called before, and however strange that is."""
    nobody = service.caller(None)
    for host in ("one.example", "two.example:8080", "one.example"):
        page = nobody.get("/docs", Host=host).text
        assert f"http://{host}/v1/prices" in page
        assert ".invalid" not in page
    assert all(f"http://{other}/" not in page for other in ("two.example:8080", "localhost"))
    assert "<i>" not in nobody.get("/docs", Host="<i>").text
