"""The form that a shop puts into its own site: one script, and the sentences that it says.

The sources are modules, so that they can be read and tested one by one. A page of another site loads them as one
classic script: joined when it is first asked for, each module after those that it imports, without a build.
"""

import gzip
import re
from collections.abc import Iterator
from functools import cache
from importlib import resources
from io import BytesIO
from posixpath import dirname, join, normpath
from typing import Any

from babel.messages.extract import extract
from flask import Blueprint, Response, current_app, request

from quoter.api.http.operations import json_answer
from quoter.words.catalogues import LANGUAGES
from quoter.words.script import script_words

blueprint = Blueprint("form_script", __name__)

FIRST = "form/start.js"
"""The module that begins it, below static/js."""

KEPT_DAYS = "KEPT_DAYS"
"""Entry of the app's configuration: for how many days what visitors write is kept; 0: nothing erases it by itself."""

SECONDS_KEPT = 600
"""For which a browser asks nobody whether the script has changed."""

HEADERS = {
    "Access-Control-Allow-Origin": "*",
    "Cross-Origin-Resource-Policy": "cross-origin",
    "Cache-Control": f"public, max-age={SECONDS_KEPT}",
    "Vary": "Accept-Encoding",
}
"""Any site may load it: it holds no secret."""

KEYWORDS = {"say": None, "plural": (1, 2)}

_IMPORT = re.compile(r'^import .*? from "(\.[^"]+)";\n', re.MULTILINE | re.DOTALL)
_EXPORT = re.compile(r"^export ", re.MULTILINE)
_FOR_PEOPLE = re.compile(r"^ */\*\*.*?\*/\n|^ *// [^\n]*\n|^ +(?=\S)|^\n", re.MULTILINE | re.DOTALL)
"""Comments on lines of their own, and indentation, which no text of the form depends on."""


@blueprint.get("/form.js")
def script() -> Response:
    """The script that a page of another site loads."""
    return _public(Response(joined_script(), content_type="text/javascript; charset=utf-8"))


@blueprint.get("/form/words/<any({}):language>.json".format(", ".join(LANGUAGES)))
def words(language: str) -> Response:
    """What the form says in a language, and for how long what is written in it is kept."""
    return _public(json_answer(form_words(language) | {"kept_days": kept_days()}))


def kept_days() -> int:
    """For which what a visitor writes is kept; 0 where nothing erases it by itself."""
    days: int = current_app.config.get(KEPT_DAYS, 0)
    return days


@cache
def joined_script() -> str:
    """All modules in one scope that no other script of the page can reach."""
    bodies = (_EXPORT.sub("", _IMPORT.sub("", module(name))) for name in modules_in_order())
    return f'(() => {{\n"use strict";\n{_FOR_PEOPLE.sub("", "".join(bodies))}}})();\n'


@cache
def modules_in_order() -> tuple[str, ...]:
    """The first module and all that it needs, each after those that it imports itself."""
    found: dict[str, None] = {}

    def visit(name: str) -> None:
        for imported in _IMPORT.findall(module(name)):
            needed = normpath(join(dirname(name), imported))
            if needed not in found:
                visit(needed)
        found[name] = None

    visit(FIRST)
    return tuple(found)


def module(name: str) -> str:
    """The source of a module below static/js."""
    return resources.files("quoter.pages").joinpath("static", "js", *name.split("/")).read_text()


@cache
def form_words(language: str) -> dict[str, Any]:
    """The word list of a language with the form's own sentences alone."""
    templates = [template for name in modules_in_order() for template in _templates(module(name))]
    ones = {template if isinstance(template, str) else template[0] for template in templates}
    whole = script_words(language)
    return {kind: {one: text for one, text in words.items() if one in ones} for kind, words in whole.items()}


def _templates(source: str) -> Iterator[str | tuple[str, ...]]:
    """The literals of say() and, in twos, of plural()."""
    for _, template, _, _ in extract("javascript", BytesIO(source.encode()), KEYWORDS):
        if template:
            yield template


def _public(response: Response) -> Response:
    """For every site, to be kept for a while, and small on the way to who takes gzip (RFC 9110, section 12.5.3)."""
    response.headers.update(HEADERS)
    response.add_etag()
    if request.accept_encodings["gzip"]:
        response.data = gzip.compress(response.data, mtime=0)
        response.headers["Content-Encoding"] = "gzip"
        response.set_etag(f"{response.get_etag()[0]}-gzip")
    return response.make_conditional(request)  # type: ignore[return-value]
