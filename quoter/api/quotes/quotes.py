"""Quotes: issued, found, read."""

import datetime as dt
from dataclasses import replace
from typing import Any

from flask import Blueprint, Response
from marshmallow import ValidationError, fields, validate

from quoter.api.http.auth import current_key
from quoter.api.http.fields import Day, OneOf, code
from quoter.api.http.locale import reader_locale
from quoter.api.http.operations import Answer, Operation, json_answer, json_body, operation
from quoter.api.http.paging import LINK, MOST_WORDS, PageQuery, key_of, next_link
from quoter.api.http.services import services
from quoter.api.prices.document import quote_summary
from quoter.api.prices.examples import JOB_EXAMPLE
from quoter.api.prices.job_schema import Strict, job_of
from quoter.api.prices.prices import BookQuery
from quoter.api.quotes.life_schemas import IssueSchema, number
from quoter.api.quotes.quote_schemas import QuotePageSchema, QuoteSchema
from quoter.api.quotes.quoted import ETAG, issued_answer, quote_answer
from quoter.engine.refusals import EARLIEST, LATEST
from quoter.records.quotes import STATES, Contact, QuoteFilter
from quoter.service.clock import end_of, stamp
from quoter.service.ids import is_id

blueprint = Blueprint("quotes", __name__)

STAFF = ("desk", "owner")

ISSUE = IssueSchema()


def plausible(day: dt.date) -> None:
    """Far from the ends of the calendar, where there is no day after."""
    if not EARLIEST <= day <= LATEST:
        raise ValidationError(f"Not a day from {EARLIEST} to {LATEST}.")


class LocaleQuery(Strict):
    """In which words."""

    locale = fields.String(load_default=None, metadata={"description": "BCP 47 tag; the job's if absent"})


class RevisionQuery(LocaleQuery):
    """Which revision."""

    revision = number(load_default=None, metadata={"description": "Its number; the newest if absent"})


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
    customer = fields.String(
        load_default=None,
        validate=validate.Length(max=MOST_WORDS),
        metadata={"description": "Part of the customer's name, phone number or address of mail, without accents"},
    )
    state = fields.String(
        load_default=None,
        validate=OneOf(STATES),
        metadata={"description": "Of the newest revision; expired: its last day is over and nothing was decided"},
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
            "result. Below the shop's floor, or beyond its largest discount, an owner's key is needed. `told` names "
            "the notices that the customer has been told; the law may ask for some. `enquiry` is the id of an enquiry "
            "that the quote answers."
        ),
        scopes=STAFF,
        query=BookQuery(),
        body={"anyOf": [IssueSchema()], "example": JOB_EXAMPLE},
        answers={201: Answer("The quote", QuoteSchema(), headers={"Location": "Where the quote is", **ETAG})},
        problems=(400, 404, 409, 412, 413, 415, 422),
        repeatable=True,
    ),
)
def issue_quote(query: dict[str, Any]) -> Response:
    """Issues what was sent."""
    use = services()
    published = use.shelf.named(query["book"])
    book = published.book
    asked, today = json_body(), use.quoting.today(book)
    job = job_of(asked, book, today=today, locale=reader_locale(book.locale), schema=ISSUE)
    contact, told = Contact(**asked.get("contact", {})), asked.get("told", [])
    key, said = current_key(), {"contact": contact, "told": told}
    if asked.get("enquiry") is None:
        quote = use.quoting.issue(job, published, key, **said)
    else:
        quote = use.enquiring.issue_for(asked["enquiry"], job, published, key, **said)
    return issued_answer(quote)


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
        description=(
            "As it was issued, whatever has become of the rate book since; with its revisions, what was decided and "
            "agreed to, and what can be decided now."
        ),
        scopes=STAFF,
        query=RevisionQuery(),
        answers={200: Answer("The quote", QuoteSchema(), headers=ETAG)},
        problems=(404, 422),
    ),
)
def read_quote(quote_id: str, query: dict[str, Any]) -> Response:
    """One quote."""
    quoting, revision = services().quoting, query["revision"]
    quote = quoting.get(quote_id) if revision is None else quoting.revision(quote_id, revision)
    return quote_answer(quote, tag=reader_locale(quote.job["locale"], query["locale"]))
