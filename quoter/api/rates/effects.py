"""What the draft of a rate book does to prices and margins: measured in the background, read here."""

from typing import Any

from flask import Blueprint, Response
from marshmallow import fields, validate

from quoter.api.http.answers import Body, text
from quoter.api.http.auth import current_key
from quoter.api.rates.books import OWNER
from quoter.api.http.fields import Day
from quoter.api.prices.job_schema import Strict
from quoter.api.http.operations import Answer, Operation, json_answer, loaded_body, operation
from quoter.api.quotes.quotes import plausible
from quoter.api.http.repeating import once_kept
from quoter.api.http.services import services
from quoter.records.rates import EffectRun, QuoteRange
from quoter.service.clock import end_of, stamp

blueprint = Blueprint("effects", __name__)

MOST_QUOTES = 100_000

PICTURE_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""A picture brings its own style sheet and needs nothing else."""

STATES = ("waiting", "running", "done", "failed", "cancelled")
FILES = (
    "prices.csv",
    "prices.json",
    "quotes.csv",
    "quotes.json",
    "changes.svg",
    "relative-changes.svg",
    "margins.svg",
    "quote-margins.svg",
)


class EffectRequestSchema(Strict):
    """Which issued quotes to price again beside the whole price list."""

    quotes = fields.Integer(
        strict=True,
        load_default=200,
        validate=validate.Range(0, MOST_QUOTES),
        metadata={"description": "At most so many of the newest"},
    )
    since = Day(
        allow_none=True,
        load_default=None,
        validate=plausible,
        metadata={"description": "First day of issue, in UTC"},
    )
    until = Day(
        allow_none=True,
        load_default=None,
        validate=plausible,
        metadata={"description": "Last day of issue, in UTC"},
    )


class EffectSchema(Body):
    """A measurement; `prices` and `quotes` are there once it is done."""

    id, code = text(), text()
    state = text(validate=validate.OneOf(STATES))
    done, total = fields.Integer(required=True, strict=True), fields.Integer(required=True, strict=True)
    old_version, revision = fields.Integer(required=True, strict=True), fields.Integer(required=True, strict=True)
    asked_at, asked_by, detail = text(), text(), text()
    prices = fields.Dict(required=True, allow_none=True)
    quotes = fields.Dict(required=True, allow_none=True)


def effect_data(run: EffectRun) -> dict[str, Any]:
    """A measurement as plain data."""
    shown = ("id", "code", "state", "done", "total", "old_version", "revision", "asked_at", "asked_by", "detail")
    found = {"prices": run.result.get("prices"), "quotes": run.result.get("quotes")}
    return {name: getattr(run, name) for name in shown} | found


@operation(
    blueprint,
    Operation(
        id="askEffect",
        method="POST",
        path="/v1/books/{code}/draft/effects",
        summary="Measure what the draft does",
        description=(
            "The whole price list under the version that counts and under the draft, and issued quotes priced again. "
            "Exact, in the background; Location leads to where it can be watched."
        ),
        scopes=OWNER,
        body={"anyOf": [EffectRequestSchema()], "example": {"quotes": 200}},
        answers={202: Answer("The measurement", EffectSchema())},
        problems=(400, 404, 413, 415, 422),
        repeatable=True,
    ),
)
def ask_effect(code: str) -> Response:
    """A measurement is asked for."""
    asked = loaded_body(EffectRequestSchema())
    since = f"{asked['since']}T" if asked["since"] else None
    until = stamp(end_of(asked["until"], "UTC")) if asked["until"] else None
    run = services().effects.ask(code, QuoteRange(asked["quotes"], since, until), current_key().name)
    once_kept(services().background.wake)
    return json_answer(effect_data(run), 202, {"Location": f"/v1/effects/{run.id}"})


@operation(
    blueprint,
    Operation(
        id="readEffect",
        method="GET",
        path="/v1/effects/{effect_id}",
        summary="How far a measurement is, and what it found",
        description="`done` of `total` prices are worked out.",
        scopes=OWNER,
        answers={200: Answer("The measurement", EffectSchema())},
        problems=(404,),
    ),
)
def read_effect(effect_id: str) -> Response:
    """A measurement."""
    return json_answer(effect_data(services().effects.get(effect_id)))


@operation(
    blueprint,
    Operation(
        id="readNewestEffect",
        method="GET",
        path="/v1/books/{code}/draft/effects/newest",
        summary="The measurement that was asked for last",
        description="Of any draft of this book.",
        scopes=OWNER,
        answers={200: Answer("The measurement", EffectSchema())},
        problems=(404,),
    ),
)
def read_newest_effect(code: str) -> Response:
    """The last measurement of a book."""
    effects = services().effects
    return json_answer(effect_data(effects.newest(code)))


@operation(
    blueprint,
    Operation(
        id="cancelEffect",
        method="DELETE",
        path="/v1/effects/{effect_id}",
        summary="Cancel a measurement",
        description="One that has ended stays as it is.",
        scopes=OWNER,
        answers={204: Answer("It will not go on")},
        problems=(404,),
    ),
)
def cancel_effect(effect_id: str) -> Response:
    """A measurement ends."""
    services().effects.cancel(effect_id)
    return Response(status=204)


@operation(
    blueprint,
    Operation(
        id="readEffectFile",
        method="GET",
        path="/v1/effects/{effect_id}/{name}",
        summary="A table or picture of a measurement",
        description=f"Once it is done: {', '.join(FILES)}.",
        scopes=OWNER,
        answers={200: Answer("The file", content_type="text/csv", other_types=("application/json", "image/svg+xml"))},
        problems=(404,),
    ),
)
def read_effect_file(effect_id: str, name: str) -> Response:
    """A file of a measurement."""
    found = services().effects.file(effect_id, name)
    headers = {"Content-Security-Policy": PICTURE_POLICY} if found.name.endswith(".svg") else None
    return Response(found.content, headers=headers, content_type=found.content_type)
