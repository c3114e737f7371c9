"""Revisions of a quote: looked at beforehand, kept, and set beside each other."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from flask import Blueprint, Response
from marshmallow import fields

from quoter.api.http.auth import current_key
from quoter.api.http.locale import reader_locale
from quoter.api.http.operations import Answer, Operation, json_answer, json_body, loaded_body, operation
from quoter.api.http.services import services
from quoter.api.prices.job_schema import Strict, job_of
from quoter.api.quotes.life_document import comparison_document
from quoter.api.quotes.life_schemas import (
    PreviewSchema,
    QuoteComparisonSchema,
    ReviseSchema,
    RevisionPreviewSchema,
    number,
)
from quoter.api.quotes.quote_schemas import QuoteSchema
from quoter.api.quotes.quoted import ETAG, quote_answer, quote_data, unchanged_quote
from quoter.api.quotes.quotes import STAFF
from quoter.job import Job
from quoter.problems import JobRefused, NotAllowed, Refusal
from quoter.records.quotes import IssuedQuote
from quoter.service.rates.shelf import Published

blueprint = Blueprint("revisions", __name__)

EXAMPLE = {"reason": "The bench found liquid", "job": {"findings": ["liquid"]}, "book": "pinned"}


class ComparisonQuery(Strict):
    """Which two revisions."""

    old = number(required=True, metadata={"description": "Number of the revision that differences count from"})
    new = number(required=True, metadata={"description": "Number of the revision that has them"})
    locale = fields.String(load_default=None, metadata={"description": "BCP 47 tag; the job's if absent"})


@operation(
    blueprint,
    Operation(
        id="reviseQuote",
        method="POST",
        path="/v1/quotes/{quote_id}/revisions",
        summary="Revise a quote",
        description=(
            "Members of the job that are sent replace those of the newest revision, which is superseded. Accepted "
            "already is a revision that stays within what the customer has agreed to; any other waits for a decision."
        ),
        scopes=STAFF,
        body={"anyOf": [ReviseSchema()], "example": EXAMPLE},
        answers={201: Answer("The quote with its new revision", QuoteSchema(), headers=ETAG)},
        problems=(400, 404, 409, 412, 413, 415, 422, 428),
        if_match=True,
        repeatable=True,
    ),
)
def revise_quote(quote_id: str) -> Response:
    """Keeps a revision."""
    asked = loaded_body(ReviseSchema())
    with unchanged_quote(quote_id) as seen, _at_job():
        job, published = _wanted(seen, asked["book"])
        told = {"reason": asked["reason"], "told": asked["told"]}
        new = services().quoting.revise(seen, job, published, current_key(), **told)
    return quote_answer(new, 201)


@operation(
    blueprint,
    Operation(
        id="previewRevision",
        method="POST",
        path="/v1/quotes/{quote_id}/revisions/preview",
        summary="What a revision would be",
        description="The same body; the document that it would be beside the newest revision. Nothing is kept.",
        scopes=STAFF,
        body={"anyOf": [PreviewSchema()], "example": EXAMPLE},
        answers={200: Answer("What it would be", RevisionPreviewSchema())},
        problems=(400, 404, 409, 413, 415, 422),
    ),
)
def preview_revision(quote_id: str) -> Response:
    """Shows a revision."""
    quoting, asked = services().quoting, loaded_body(PreviewSchema())
    seen = quoting.get(quote_id)
    with _at_job():
        job, published = _wanted(seen, asked["book"])
        said = {"reason": asked["reason"], "told": asked["told"]}
        new = quoting.preview(seen, job, published, current_key().name, **said)
    tag = reader_locale(job.locale)
    before = [replace(each, standing="superseded") for each in quoting.revisions(quote_id)]
    shown = {"document": quote_data(new, [*before, new], tag), "comparison": comparison_document(seen, new, tag)}
    return json_answer(shown)


@operation(
    blueprint,
    Operation(
        id="compareRevisions",
        method="GET",
        path="/v1/quotes/{quote_id}/comparison",
        summary="Two revisions of a quote side by side",
        description="Lines that are for the same beside each other, and what differs. Nothing is priced.",
        scopes=STAFF,
        query=ComparisonQuery(),
        answers={200: Answer("The comparison", QuoteComparisonSchema())},
        problems=(404, 422),
    ),
)
def compare_revisions(quote_id: str, query: dict[str, Any]) -> Response:
    """Two revisions beside each other."""
    quoting = services().quoting
    old, new = (quoting.revision(quote_id, query[side], f"/{side}") for side in ("old", "new"))
    return json_answer(comparison_document(old, new, reader_locale(new.job["locale"], query["locale"])))


def _wanted(seen: IssuedQuote, rates: str) -> tuple[Job, Published]:
    """The job of the newest revision with the members that were sent, for today, and the rates that were asked for."""
    quoting = services().quoting
    published = quoting.rates_of(seen, rates)
    changes = json_body().get("job") or {}
    merged = {**seen.job, **changes, "date": None}
    today = quoting.today(published.book)
    return job_of(merged, published.book, today=today, locale=seen.job["locale"]), published


@contextmanager
def _at_job() -> Iterator[None]:
    """What is wrong with the job is wrong at its place in the body."""
    try:
        yield
    except JobRefused as refused:
        raise JobRefused(_moved(refused.refusals)) from None
    except NotAllowed as refused:
        raise NotAllowed(refused.detail, _moved(refused.refusals)) from None


def _moved(refusals: tuple[Refusal, ...]) -> tuple[Refusal, ...]:
    return tuple(replace(each, pointer=f"/job{each.pointer}") for each in refusals)
