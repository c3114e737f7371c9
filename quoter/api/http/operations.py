"""An operation of the API, declared once: the declaration routes, guards, reads and describes it."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial, wraps
from typing import Any

import orjson
from flask import Blueprint, Response, request
from marshmallow import Schema, ValidationError

from quoter.api.http.auth import require_scope
from quoter.api.http.json_text import read_json_text
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.repeating import done_once
from quoter.api.prices.job_schema import refusals_of
from quoter.problems import Refusal

View = Callable[..., Response]


@dataclass(frozen=True, slots=True)
class Answer:
    """A response: what it means, the schema of its body (also in an array where `many`), what its headers say.

    A file may also come as one of `other_types`.
    """

    meaning: str
    schema: Schema | None = None
    many: bool = False
    content_type: str = "application/json"
    other_types: tuple[str, ...] = ()
    headers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """What the description of the API says about a route; `scopes` is empty where no key is needed.

    `body` describes a JSON document, `upload` the content types of a file. `if_match` asks for the header of that name.
    One that is `repeatable` takes an Idempotency-Key. `blueprint` is entered where it is routed.
    """

    id: str
    method: str
    path: str
    summary: str
    description: str
    scopes: tuple[str, ...]
    answers: Mapping[int, Answer]
    query: Schema | None = None
    body: Mapping[str, Any] | None = None
    problems: tuple[int, ...] = ()
    if_match: bool = False
    repeatable: bool = False
    upload: tuple[str, ...] = ()
    blueprint: str = ""


WHOLE_NUMBERS = ("version", "place")
"""Parameters of paths that are numbers; the others are text."""

OPERATIONS: dict[str, Operation] = {}
"""By id; each is entered where its route is declared."""


def _unsaid(schema: Schema | None) -> Mapping[str, Any] | None:
    """What parameters are where the address has none; None where it must have some."""
    try:
        loaded: dict[str, Any] | None = schema.load({}) if schema is not None else None
    except ValidationError:
        return None
    return loaded


def operation(blueprint: Blueprint, declared: Operation) -> Callable[[View], View]:
    """Routes a view. It is called with the path's arguments and, where declared, `query`: the loaded parameters."""
    OPERATIONS[declared.id] = replace(declared, blueprint=blueprint.name)
    unsaid = _unsaid(declared.query)

    def routed(view: View) -> View:
        @wraps(view)
        def guarded(**arguments: Any) -> Response:
            require_scope(declared.scopes)
            if declared.query is not None:
                arguments["query"] = _query(declared.query, unsaid)
            call = partial(view, **arguments)
            return done_once(call) if declared.repeatable else call()

        rule = re.sub(r"{(\w+)}", lambda found: f"<{_converter(found[1])}>", declared.path)
        blueprint.add_url_rule(rule, declared.id, guarded, methods=[declared.method])
        return guarded

    return routed


def _converter(name: str) -> str:
    return f"int:{name}" if name in WHOLE_NUMBERS else name


def _query(schema: Schema, unsaid: Mapping[str, Any] | None) -> dict[str, Any]:
    """The parameters of the address; `unsaid` is what they are where it has none, as far as none is needed."""
    if unsaid is not None and not request.args:
        return dict(unsaid)
    repeated = [name for name in request.args if len(request.args.getlist(name)) > 1]
    messages: dict[str, list[str]] = {name: ["Given more than once."] for name in repeated}
    try:
        loaded: dict[str, Any] = schema.load(request.args.to_dict())
    except ValidationError as error:
        messages |= error.normalized_messages()  # type: ignore[no-untyped-call]
    if messages:
        raise ApiProblem(422, "invalid-request", "the parameters are not right", refusals_of(messages))
    return loaded


def check_coding() -> None:
    """Bodies are taken as they are (RFC 9110, 15.5.16): what is packed may be a thousand times as large."""
    if request.headers.get("Content-Encoding", "").strip().lower() not in ("", "identity"):
        detail = "send the body as it is, without Content-Encoding"
        raise ApiProblem(415, "wrong-content-type", detail, headers={"Accept-Encoding": "identity"})


def json_body() -> Any:
    """The JSON document that was sent."""
    check_coding()
    if request.mimetype != "application/json":
        raise ApiProblem(415, "wrong-content-type", "send the body as application/json")
    return read_json_text(request.get_data(), "the body")


def loaded_body(schema: Schema, also: Callable[[dict[str, Any]], Iterable[Refusal]] | None = None) -> dict[str, Any]:
    """The JSON document that was sent, read by its schema. Every field that is wrong is named at once.

    Where the schema refuses it, `also` is asked what else is wrong with what could be read, so that nobody is told of
    one mistake after the other; what it says of a place where the schema has found something is left out.
    """
    try:
        loaded: dict[str, Any] = schema.load(json_body())
    except ValidationError as error:
        wrong = list(refusals_of(error.messages))
        readable = error.valid_data if isinstance(error.valid_data, dict) else {}
        more = [each for each in (also(readable) if also else ()) if not _is_told(each.pointer, wrong)]
        raise ApiProblem(422, "invalid-value", "the body is not right", (*wrong, *more)) from None
    return loaded


def _is_told(pointer: str, wrong: Iterable[Refusal]) -> bool:
    """Whether something is wrong at this place already, or within it (RFC 6901)."""
    return any(f"{each.pointer}/".startswith(f"{pointer}/") for each in wrong)


def json_answer(data: Any, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
    """Plain data as a JSON response."""
    return Response(orjson.dumps(data), status, headers, content_type="application/json")
