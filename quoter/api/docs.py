"""The description of the API: for programs at /openapi.json, for people at /docs and /problems/."""

from functools import cache

import orjson
from flask import Blueprint, Response, render_template, request

from quoter.api.conditions import conditional
from quoter.api.openapi import STATUS_MEANING, description
from quoter.api.operations import Answer, Operation, operation
from quoter.api.problem_document import TITLES
from quoter.api.problem_pages import PROBLEM_PAGES
from quoter.api.recorded import problem_example
from quoter.problems import NotFound

blueprint = Blueprint("docs", __name__, template_folder="templates", static_folder="static", static_url_path="/static")

HTML = Answer("The page", content_type="text/html")


@cache
def description_bytes() -> bytes:
    """The description as it is served and committed."""
    return orjson.dumps(description(), option=orjson.OPT_INDENT_2) + b"\n"


@operation(
    blueprint,
    Operation(
        id="describe",
        method="GET",
        path="/openapi.json",
        summary="This description",
        description="OpenAPI 3.1.",
        scopes=(),
        answers={
            200: Answer(
                "The description", content_type="application/openapi+json", headers={"ETag": "Of the description"}
            )
        },
    ),
)
def describe() -> Response:
    """The description for programs."""
    return conditional(Response(description_bytes(), content_type="application/openapi+json"))


@operation(
    blueprint,
    Operation(
        id="readDocs",
        method="GET",
        path="/docs",
        summary="This description, to read",
        description="A page without scripts.",
        scopes=(),
        answers={200: HTML},
    ),
)
def docs() -> Response:
    """The description for people."""
    page = render_template("docs.html", api=description(), base=request.host_url.rstrip("/"))
    return Response(page, content_type="text/html; charset=utf-8")


@operation(
    blueprint,
    Operation(
        id="readProblem",
        method="GET",
        path="/problems/{code}",
        summary="What a type of problem means",
        description="Where the `type` of a problem document leads.",
        scopes=(),
        answers={200: HTML},
        problems=(404,),
    ),
)
def problem(code: str) -> Response:
    """One type of problem."""
    if code not in TITLES:
        raise NotFound("problem type", code, tuple(TITLES))
    about, example = PROBLEM_PAGES[code], problem_example(code)
    meanings = {status: STATUS_MEANING[status] for status in about.statuses}
    page = render_template(
        "problem.html", code=code, title=TITLES[code], about=about, meanings=meanings, example=example
    )
    return Response(page, content_type="text/html; charset=utf-8")
