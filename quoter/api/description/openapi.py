"""The description of the API, OpenAPI 3.1, made from the declarations that route it."""

from collections.abc import Mapping
from functools import cache
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import Schema, fields

from quoter.api.description.links import links_of
from quoter.api.description.recorded import answer_examples, example_values, parameter_example
from quoter.api.description.topics import TOPICS, topic_of
from quoter.api.http.answers import ProblemSchema
from quoter.api.http.fields import described_type
from quoter.api.http.operations import OPERATIONS, WHOLE_NUMBERS, Answer, Operation
from quoter.api.http.problem_document import CONTENT_TYPE
from quoter.api.http.repeating import HEADER, PATTERN

VERSION = "0.1.0"

ABOUT = """Prices repairs of phones, tablets and wearables from a shop's rate book, and keeps the quotes.

Amounts, quantities and rates are decimal numbers as text; formatted text stands beside them, never instead. Times are
RFC 3339 in UTC. Every error is a problem document (RFC 9457) with a JSON pointer to each thing that is wrong."""

STATUS_MEANING = {
    400: "The body cannot be read",
    401: "No key, or none that counts",
    403: "The key may not do this, or not on this site",
    404: "There is no such thing",
    406: "It does not come in a type that the header Accept takes",
    413: "The body is too large",
    415: "The body is not JSON",
    409: "The thing is not in a state for this",
    412: "It is no longer at the version that If-Match names",
    422: "Something that was sent is wrong, or the job is refused",
    428: "The header If-Match is missing",
    429: "Too many requests, or too many wrong keys, in a short time; Retry-After says when to try again",
    503: "The service cannot do this just now",
}


@cache
def description() -> dict[str, Any]:
    """The whole document, as plain data. The blueprints must have been imported."""
    plugin = MarshmallowPlugin(schema_name_resolver=_name_of)
    spec = APISpec("Repair quotes", VERSION, "3.1.0", info={"description": ABOUT}, plugins=[plugin])
    plugin.converter.add_attribute_function(lambda _, field, **options: _attributes(field))  # type: ignore[union-attr]
    spec.components.security_scheme("key", {"type": "http", "scheme": "bearer", "description": "An API key"})
    for topic in TOPICS:
        spec.tag({"name": topic.name, "description": topic.about})
    for declared in sorted(OPERATIONS.values(), key=_place):
        spec.path(path=declared.path, operations={declared.method.lower(): _operation(declared)})
    document: dict[str, Any] = spec.to_dict()
    document["components"]["examples"] = example_values()
    for item in document["paths"].values():
        for operation in item.values():
            for parameter in operation.get("parameters", ()):
                _finish_parameter(parameter, operation["operationId"])
    return document


def _finish_parameter(parameter: dict[str, Any], operation: str) -> None:
    parameter["schema"] = _as_parameter(parameter["schema"])
    example = parameter_example(operation, parameter["name"])
    if example is not None:
        parameter["example"] = example


def _as_parameter(schema: Mapping[str, Any]) -> dict[str, Any]:
    """Without null, which a query cannot say: a parameter is absent instead."""
    said = {key: value for key, value in schema.items() if key != "default" or value is not None}
    if isinstance(said.get("type"), list):
        (said["type"],) = (kind for kind in said["type"] if kind != "null")
    if "enum" in said:
        said["enum"] = [value for value in said["enum"] if value is not None]
    return said


def _place(declared: Operation) -> tuple[bool, str, str]:
    """The same wherever the operations were imported first: those that work, then those that describe."""
    return not declared.path.startswith("/v1/"), declared.path, declared.method


def _name_of(schema: Any) -> str:
    kind = schema if isinstance(schema, type) else type(schema)
    return str(kind.__name__).removesuffix("Schema")


def _attributes(field: fields.Field[Any]) -> dict[str, Any]:
    return described_type(field)


def _operation(declared: Operation) -> dict[str, Any]:
    operation: dict[str, Any] = {
        "operationId": declared.id,
        "tags": [topic_of(declared).name],
        "summary": declared.summary,
        "description": declared.description + _scopes(declared),
        "responses": {
            **{str(status): _answer(answer) for status, answer in declared.answers.items()},
            **({"304": {"description": "It is what the caller has already"}} if _is_conditional(declared) else {}),
            **{str(status): _problem(status) for status in _problems(declared)},
        },
    }
    for status, response in operation["responses"].items():
        _add_examples(response, answer_examples(declared.id, int(status)))
        links = links_of(declared, int(status))
        if links:
            response["links"] = links
    parameters = [*_path_parameters(declared), *_query_parameters(declared), *_header_parameters(declared)]
    if parameters:
        operation["parameters"] = parameters
    if declared.upload:
        file = {"schema": {"type": "string", "format": "binary"}}
        operation["requestBody"] = {"required": True, "content": dict.fromkeys(declared.upload, file)}
    if declared.body:
        operation["requestBody"] = {"required": True, "content": {"application/json": _body(declared.body)}}
    if declared.scopes:
        operation["security"] = [{"key": []}]
    return operation


def _scopes(declared: Operation) -> str:
    return f" Key: scope {' or '.join(declared.scopes)}." if declared.scopes else " No key is needed."


def _add_examples(response: dict[str, Any], by_type: Mapping[str, Any]) -> None:
    """Where they belong. What an operation answered once and does not any more is left out until they are made anew."""
    content = response.get("content", {})
    for content_type in content.keys() & by_type.keys():
        content[content_type]["examples"] = by_type[content_type]


def _problems(declared: Operation) -> list[int]:
    guarded = [401, 403, 429, 503] if declared.scopes else []
    named = [400, 409, 422] if declared.repeatable else []
    return sorted({*guarded, *named, *declared.problems})


def _problem(status: int) -> dict[str, Any]:
    return {"description": STATUS_MEANING[status], "content": {CONTENT_TYPE: {"schema": ProblemSchema()}}}


def _answer(answer: Answer) -> dict[str, Any]:
    response: dict[str, Any] = {"description": answer.meaning}
    if answer.headers:
        response["headers"] = {
            name: {"description": meaning, "schema": {"type": "string"}} for name, meaning in answer.headers.items()
        }
    if answer.schema is not None:
        response["content"] = {answer.content_type: {"schema": _one_or_many(answer)}}
        response["content"] |= {each: _file(each) for each in answer.other_types}
    elif answer.content_type != "application/json":
        response["content"] = {each: _file(each) for each in (answer.content_type, *answer.other_types)}
    return response


def _file(content_type: str) -> dict[str, Any]:
    if content_type.endswith("json"):
        return {"schema": {"type": "object"}}
    is_text = content_type.startswith("text/") or content_type.endswith("+xml")
    return {"schema": {"type": "string"} if is_text else {"type": "string", "format": "binary"}}


def _one_or_many(answer: Answer) -> Any:
    if not answer.many:
        return answer.schema
    either = {"anyOf": [answer.schema, ProblemSchema()]}
    return {"anyOf": [answer.schema, {"type": "array", "items": either}]}


def _body(body: Mapping[str, Any]) -> dict[str, Any]:
    schemas = [_body_schema(each) for each in body["anyOf"]]
    return {"schema": schemas[0] if len(schemas) == 1 else {"anyOf": schemas}, "example": body["example"]}


def _body_schema(each: Schema | list[Any]) -> Any:
    if isinstance(each, list):
        item, most = each
        return {"type": "array", "items": item, "maxItems": most}
    return each


def _path_parameters(declared: Operation) -> list[dict[str, Any]]:
    names = [word.strip("{}") for word in declared.path.split("/") if word.startswith("{")]
    return [{"name": name, "in": "path", "required": True, "schema": _path_schema(name)} for name in names]


def _path_schema(name: str) -> dict[str, Any]:
    return {"type": "integer", "minimum": 0} if name in WHOLE_NUMBERS else {"type": "string"}


def _query_parameters(declared: Operation) -> list[dict[str, Any]]:
    return [{"in": "query", "schema": declared.query}] if declared.query is not None else []


def _header_parameters(declared: Operation) -> list[dict[str, Any]]:
    parameters = []
    if declared.if_match:
        parameters.append(_header("If-Match", "The ETag that was last seen", {"type": "string"}, required=True))
    if _is_conditional(declared):
        parameters.append(_header("If-None-Match", "The ETag of what the caller has already", {"type": "string"}))
    if declared.repeatable:
        meaning = "A name for this request, such as a UUID: sent again with it within 24 hours, it is not done twice"
        parameters.append(_header(HEADER, meaning, {"type": "string", "pattern": PATTERN}))
    return parameters


def _is_conditional(declared: Operation) -> bool:
    answer = declared.answers.get(200)
    return declared.method == "GET" and answer is not None and "ETag" in answer.headers


def _header(name: str, meaning: str, schema: dict[str, Any], *, required: bool = False) -> dict[str, Any]:
    return {"name": name, "in": "header", "required": required, "schema": schema, "description": meaning}
