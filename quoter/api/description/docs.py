"""The description of the API: for programs at /openapi.json, for people at /docs and /problems/."""

import gzip
import re
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import orjson
from flask import Blueprint, Response, render_template, request
from markupsafe import Markup, escape

from quoter.api.description.openapi import STATUS_MEANING, description
from quoter.api.description.problem_pages import PROBLEM_PAGES
from quoter.api.description.recorded import problem_example
from quoter.api.description.topics import TOPICS, Topic, in_reading_order, topic_of
from quoter.api.http.conditions import conditional
from quoter.api.http.encoding import GZIP, coding_for
from quoter.api.http.operations import OPERATIONS, Answer, Operation, operation
from quoter.api.http.problem_document import CONTENT_TYPE, TITLES
from quoter.problems import NotFound
from quoter.service.made_once import MadeOnce

blueprint = Blueprint("docs", __name__, template_folder="templates", static_folder="static", static_url_path="/static")

NOWHERE = "https://address-of-the-service.invalid"
"""Stands for the address of the service in the page before it is known (RFC 2606, section 2)."""

_PAGES: MadeOnce[bytes] = MadeOnce(4_000_000, len)
"""By address and coding: some of them, since anybody may say any name in the header Host."""

HTML = Answer("The page", content_type="text/html")


@cache
def description_bytes() -> bytes:
    """The description as it is printed and committed: in lines, so that a change can be read."""
    return orjson.dumps(description(), option=orjson.OPT_INDENT_2) + b"\n"


@cache
def _served(coding: str | None) -> bytes:
    """The same as it is served, without indentation, which is half of it; one that takes no coding gets it plain."""
    plain = orjson.dumps(description())
    return gzip.compress(plain, mtime=0) if coding == GZIP else plain


@operation(
    blueprint,
    Operation(
        id="describe",
        method="GET",
        path="/openapi.json",
        summary="This description",
        description="OpenAPI 3.1; with gzip where the header Accept-Encoding takes it.",
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
    coding = coding_for(request.headers.get("Accept-Encoding"))
    return _coded(Response(_served(coding), content_type="application/openapi+json"), coding)


def _coded(answer: Response, coding: str | None) -> Response:
    """An answer that says how it is coded; 304 to who has it already."""
    answer.headers["Vary"] = "Accept-Encoding"
    if coding == GZIP:
        answer.headers["Content-Encoding"] = GZIP
    return conditional(answer)


@operation(
    blueprint,
    Operation(
        id="readDocs",
        method="GET",
        path="/docs",
        summary="This description, to read",
        description="To read, and with scripts to try each call out; with gzip where Accept-Encoding takes it.",
        scopes=(),
        answers={200: replace(HTML, headers={"ETag": "Of the page"})},
    ),
)
def docs() -> Response:
    """The description for people."""
    base, coding = request.host_url.rstrip("/"), coding_for(request.headers.get("Accept-Encoding"))
    page = _PAGES.get((base, coding == GZIP), lambda: _page(base, coding))
    return _coded(Response(page, content_type="text/html; charset=utf-8"), coding)


def _page(base: str, coding: str | None) -> bytes:
    """The page as it is sent from an address: the template is filled once for all of them."""
    page = _page_of_nowhere().replace(NOWHERE, str(escape(base))).encode()
    return gzip.compress(page, mtime=0) if coding == GZIP else page


@cache
def _page_of_nowhere() -> str:
    """The page with a place left open for the address of the service, which each caller knows by another name."""
    shown = {"problems": _problems, "successes": _successes, "coded": coded, "json_text": json_text, "quoted": quoted}
    return render_template("docs.html", api=description(), base=NOWHERE, topics=_calls(), **shown)


def _calls() -> list[tuple[Topic, list[tuple[Operation, Any]]]]:
    """The operations by what they are about, each as it was declared and as it is described."""
    paths = description()["paths"]
    ordered = [(each, paths[each.path][each.method.lower()]) for each in in_reading_order(OPERATIONS.values())]
    return [(topic, [call for call in ordered if topic_of(call[0]) is topic]) for topic in TOPICS]


def coded(text: str) -> Markup:
    """A text in which backticks stand around what is written as code, for a page."""
    return Markup(re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(text))))


def json_text(value: Any) -> str:
    """JSON to be read, with quotes and letters as they are."""
    return orjson.dumps(value, option=orjson.OPT_INDENT_2).decode()


def quoted(text: str) -> str:
    """A text between single quotes, for a shell."""
    return "'" + text.replace("'", "'\\''") + "'"


def _problems(response: Mapping[str, Any]) -> list[tuple[str, Any]]:
    """The examples of problems in a response, but for those about HTTP alone, each with its code."""
    shown = [each["value"] for each in _examples(response.get("content", {}).get(CONTENT_TYPE, {}))]
    codes = {each["type"].rpartition("/")[2]: each for each in shown if each["type"] != "about:blank"}
    return list(codes.items())


def _successes(said: Mapping[str, Any]) -> list[tuple[str, Any]]:
    """What an operation answers when all is well, an example for each content type."""
    contents = [each.get("content", {}) for status, each in said["responses"].items() if status.startswith("2")]
    return [(kind, shown) for by_type in contents for kind, each in by_type.items() for shown in _examples(each)]


def _examples(content: Mapping[str, Any]) -> list[Any]:
    kept = description()["components"]["examples"]
    return [kept[each["$ref"].rpartition("/")[2]] for each in content.get("examples", {}).values()]


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
        "problem.html",
        code=code,
        title=TITLES[code],
        about=about,
        meanings=meanings,
        example=json_text(example),
        coded=coded,
    )
    return Response(page, content_type="text/html; charset=utf-8")
