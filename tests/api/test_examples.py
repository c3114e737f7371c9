"""The examples in the description: of every call and every status, true, and of the form that is described."""

import json
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from markupsafe import escape

import quoter.app  # noqa: F401 - declares every operation
from examples.making import EXAMPLES, made
from quoter.api.description.docs import coded
from quoter.api.description.openapi import description
from quoter.api.description.problem_pages import PROBLEM_PAGES
from quoter.api.description.recorded import problem_example, recorded
from quoter.api.http.operations import OPERATIONS, Operation
from quoter.api.http.problem_document import CONTENT_TYPE, TITLES

from .running import Service

BYTES = ("application/pdf", "application/zip", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
"""What no example in JSON can show."""

ADD = (
    "{id} has no example of its answer {status}. Add a line to a scene in examples/*_scenes.py: "
    "asking.succeed({id!r}, …) "
    "for an operation as a whole, asking.fail({id!r}, {status}, CODE, …) for what only certain requests get; "
    "then `make openapi`."
)

EACH_OPERATION = pytest.mark.parametrize("declared", OPERATIONS.values(), ids=lambda declared: declared.id)


def described(declared: Operation) -> dict[str, Any]:
    """What the description says about an operation."""
    said: dict[str, Any] = description()["paths"][declared.path][declared.method.lower()]
    return said


def validator(schema: dict[str, Any]) -> Draft202012Validator:
    """For a schema of the description."""
    with_components = {**schema, "components": description()["components"]}
    return Draft202012Validator(with_components, format_checker=Draft202012Validator.FORMAT_CHECKER)


def value_of(reference: dict[str, str]) -> Any:
    """What an example says."""
    name = reference["$ref"].removeprefix("#/components/examples/")
    return description()["components"]["examples"][name]["value"]


def test_the_examples_are_what_the_service_answers():
    """Played again to a service that has just been born; ids and links are replaced by some that count up."""
    if EXAMPLES.read_bytes() != made():
        pytest.fail(
            "quoter/api/description/examples.json is not what the service answers; write it anew with `make openapi`"
        )


@EACH_OPERATION
def test_every_operation_has_an_example_of_every_answer(declared: Operation):
    """Of each status that it declares, and of each kind of text that an answer comes in."""
    for status, answer in described(declared)["responses"].items():
        for content_type, content in answer.get("content", {}).items():
            assert content_type in BYTES or content.get("examples"), ADD.format(id=declared.id, status=status)


@EACH_OPERATION
def test_every_operation_has_an_example_of_its_body(declared: Operation):
    """Where it has one that is JSON; scenes send just that one."""
    content = described(declared).get("requestBody", {}).get("content", {})
    for content_type, body in content.items():
        assert content_type in declared.upload or list(validator(body["schema"]).iter_errors(body["example"])) == []


@EACH_OPERATION
def test_every_example_is_of_the_form_that_is_described(declared: Operation):
    """JSON Schema, dialect 2020-12, as OpenAPI 3.1 says."""
    for status, answer in described(declared)["responses"].items():
        for content in answer.get("content", {}).values():
            for name, reference in content.get("examples", {}).items():
                found = [error.message for error in validator(content["schema"]).iter_errors(value_of(reference))]
                assert found == [], (status, name)


@EACH_OPERATION
def test_an_example_of_a_problem_has_the_status_that_it_illustrates(declared: Operation):
    """And its type has a page that speaks of the status; about:blank is about HTTP alone (RFC 9457, section 4.2.1)."""
    for status, answer in described(declared)["responses"].items():
        for reference in answer.get("content", {}).get(CONTENT_TYPE, {}).get("examples", {}).values():
            shown = value_of(reference)
            assert shown["status"] == int(status)
            if shown["type"] != "about:blank":
                assert shown["status"] in PROBLEM_PAGES[shown["type"].removeprefix("/problems/")].statuses


@EACH_OPERATION
def test_every_parameter_of_a_path_has_an_example(declared: Operation):
    """Who tries a call has something to begin with."""
    of_path = [each for each in described(declared).get("parameters", ()) if each["in"] == "path"]
    assert [each["name"] for each in of_path if "example" not in each] == []


def test_no_example_is_left_over():
    """Of an operation that is no more, or that none refers to."""
    kept = recorded()
    used = {
        name
        for each in kept["operations"].values()
        for by in each["answers"].values()
        for names in by.values()
        for name in names.values()
    }
    assert set(kept["operations"]) <= set(OPERATIONS)
    assert used | {*kept["everywhere"].values(), *kept["problems"].values()} == set(kept["values"])


def test_the_problem_pages_are_those_of_the_types():
    """All of them, in the same order."""
    assert sorted(PROBLEM_PAGES) == sorted(TITLES)


@pytest.mark.parametrize("code", TITLES)
def test_the_page_of_a_problem_says_what_to_do(shared: Service, code: str):
    """Title, meaning, remedy, status, and a problem document of this type, or with this reason."""
    about, example = PROBLEM_PAGES[code], problem_example(code)
    assert example["type"] == f"/problems/{code}" or code in {each["reason"] for each in example["errors"]}
    assert example["status"] in about.statuses
    assert len(about.meaning.split()) >= 8
    page = shared.caller(None).get(f"/problems/{code}").text
    for said in (about.meaning, about.remedy):
        assert coded(said) in page
    for said in (TITLES[code], json.dumps(example["detail"], ensure_ascii=False)):
        assert escape(said) in page
    assert f"<strong>{about.statuses[0]}</strong>" in page
