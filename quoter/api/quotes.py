"""Quotes: issued, listed, read."""

import datetime as dt
from dataclasses import replace
from typing import Any

from flask import Blueprint, Response
from marshmallow import ValidationError, fields, validate

from quoter.api.answers import QuotePageSchema, QuoteSchema
from quoter.api.auth import current_key
from quoter.api.document import audience_of, quote_document, quote_summary
from quoter.api.examples import JOB_EXAMPLE
from quoter.api.fields import Day, OneOf, code
from quoter.api.job_schema import JobSchema, Strict, job_of
from quoter.api.locale import reader_locale
from quoter.api.operations import Answer, Operation, json_answer, json_body, operation
from quoter.api.paging import LINK, MOST_WORDS, PageQuery, key_of, next_link
from quoter.api.prices import BookQuery
from quoter.api.services import services
from quoter.engine.refusals import EARLIEST, LATEST
from quoter.records import STATES, QuoteFilter
from quoter.service.clock import end_of, stamp
from quoter.service.ids import is_id

blueprint = Blueprint("quotes", __name__)

STAFF = ("desk", "owner")


def plausible(day: dt.date) -> None:
    """Far from the ends of the calendar, where there is no day after."""
    if not EARLIEST <= day <= LATEST:
        raise ValidationError(f"Not a day from {EARLIEST} to {LATEST}.")


class LocaleQuery(Strict):
    """In which words."""

    locale = fields.String(load_default=None, metadata={"description": "BCP 47 tag; the job's if absent"})


class QuotesQuery(PageQuery):
    """Which quotes."""

    number = code(load_default=None, metadata={"description": "The whole number"})
    book = code(load_default=None, metadata={"description": "Code of a rate book"})
    device = code(load_default=None, metadata={"description": "Code of a device"})
    words = fields.String(
        load_default=None,
        validate=validate.Length(max=MOST_WORDS),
        metadata={"description": "Part of maker, model or code of the device"},
    )
    state = fields.String(
        load_default=None,
        validate=OneOf(STATES),
        metadata={"description": "issued, or expired: its last day is over"},
    )
    since = Day(load_default=None, validate=plausible, metadata={"description": "First day of issue, in UTC"})
    until = Day(load_default=None, validate=plausible, metadata={"description": "Last day of issue, in UTC"})


@operation(
    blueprint,
    Operation(
        id="issueQuote",
        method="POST",
        path="/v1/quotes",
        summary="Price a job and issue the quote",
        description=(
            "The quote is on disk before the answer leaves: job, version and digest of the rate book, and the whole "
            "result. Below the shop's floor, or beyond its largest discount, an owner's key is needed."
        ),
        scopes=STAFF,
        query=BookQuery(),
        body={"anyOf": [JobSchema()], "example": JOB_EXAMPLE},
        answers={201: Answer("The quote", QuoteSchema(), headers={"Location": "Where the quote is"})},
        problems=(400, 404, 413, 415, 422),
    ),
)
def issue_quote(query: dict[str, Any]) -> Response:
    """Issues what was sent."""
    use = services()
    published = use.shelf.named(query["book"])
    book = published.book
    job = job_of(json_body(), book, today=use.quoting.today(book), locale=reader_locale(book.locale))
    quote = use.quoting.issue(job, published, current_key())
    shown = quote_document(quote, quote.issued_at, job.locale, audience_of(current_key()))
    return json_answer(shown, 201, {"Location": f"/v1/quotes/{quote.id}"})


@operation(
    blueprint,
    Operation(
        id="listQuotes",
        method="GET",
        path="/v1/quotes",
        summary="Find quotes, the newest first",
        description="All conditions that are given must hold. The header Link leads to the next page.",
        scopes=STAFF,
        query=QuotesQuery(),
        answers={200: Answer("A page of quotes", QuotePageSchema(), headers=LINK)},
        problems=(422,),
    ),
)
def list_quotes(query: dict[str, Any]) -> Response:
    """A page of quotes."""
    quoting = services().quoting
    wanted = QuoteFilter(
        **query
        | {
            "after": key_of(query["after"], is_id),
            "since": query["since"] and f"{query['since']}T",
            "until": query["until"] and stamp(end_of(query["until"], "UTC")),
        }
    )
    found = quoting.find(replace(wanted, limit=wanted.limit + 1))
    page = found[: wanted.limit]
    now = stamp(quoting.now())
    shown = [quote_summary(quote, now, reader_locale(quote.job["locale"])) for quote in page]
    return json_answer({"quotes": shown}, headers=next_link(page[-1].id) if len(found) > len(page) else {})


@operation(
    blueprint,
    Operation(
        id="readQuote",
        method="GET",
        path="/v1/quotes/{quote_id}",
        summary="Read a quote",
        description="As it was issued, whatever has become of the rate book since.",
        scopes=STAFF,
        query=LocaleQuery(),
        answers={200: Answer("The quote", QuoteSchema())},
        problems=(404, 422),
    ),
)
def read_quote(quote_id: str, query: dict[str, Any]) -> Response:
    """One quote."""
    quoting = services().quoting
    quote = quoting.get(quote_id)
    tag = reader_locale(quote.job["locale"], query["locale"])
    now = stamp(quoting.now())
    return json_answer(quote_document(quote, now, tag, audience_of(current_key())))
