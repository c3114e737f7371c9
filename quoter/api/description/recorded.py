"""Examples for the description of the API: what a service with the demo books answered when it was asked everything.

`examples.json` is written by `make openapi` and never by hand: `examples/` at the root of the repository asks every
operation and keeps what it said.
"""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import orjson

from quoter.api.http.problem_document import CONTENT_TYPE

RECORDED = Path(__file__).with_name("examples.json")


@cache
def recorded() -> Mapping[str, Any]:
    """Everything that was answered: `values` by name, `operations` with the names of theirs, `problems` by code."""
    data: dict[str, Any] = orjson.loads(RECORDED.read_bytes())
    return data


def example_values() -> dict[str, Any]:
    """The components of the description: each example with its value, under its name."""
    return dict(recorded()["values"])


def answer_examples(operation: str, status: int) -> dict[str, dict[str, Any]]:
    """By content type the examples of an operation's answer, as references to components."""
    by_type = _kept(operation)["answers"].get(str(status), {})
    if not by_type and str(status) in recorded()["everywhere"]:
        name = recorded()["everywhere"][str(status)]
        by_type = {CONTENT_TYPE: {name: name}}
    return {kind: {name: _reference(value) for name, value in names.items()} for kind, names in by_type.items()}


def parameter_example(operation: str, name: str) -> Any:
    """What was asked for by this parameter; None where it was left out."""
    return _kept(operation)["parameters"].get(name)


def problem_example(code: str) -> Any:
    """A problem document of this type, or at least with this reason among its errors."""
    named = recorded()["problems"].get(code)
    if named:
        return recorded()["values"][named]["value"]
    documents = [each["value"] for each in recorded()["values"].values() if _is_problem(each["value"])]
    of_type = [each for each in documents if each["type"] == f"/problems/{code}"]
    with_reason = [each for each in documents if any(one["reason"] == code for one in each.get("errors", ()))]
    return next(iter(of_type or with_reason), None)


def _kept(operation: str) -> Mapping[str, Any]:
    nothing: dict[str, Any] = {"parameters": {}, "answers": {}}
    kept: Mapping[str, Any] = recorded()["operations"].get(operation, nothing)
    return kept


def _reference(name: str) -> dict[str, str]:
    return {"$ref": f"#/components/examples/{name}"}


def _is_problem(value: Any) -> bool:
    return isinstance(value, dict) and {"type", "title", "status"} <= value.keys()
