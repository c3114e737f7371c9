"""Enquiries: made by visitors of the shop's site, found and dealt with by the desk."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, replace
from typing import Any

from flask import Blueprint, Response, request
from marshmallow import fields, validate

from quoter.api.enquiries.enquiry_document import enquiry_document, enquiry_summary, receipt
from quoter.api.enquiries.enquiry_schemas import (
    AskedJobSchema,
    AskSchema,
    CloseEnquirySchema,
    EnquiryFormSchema,
    EnquiryPageSchema,
    EnquiryReceiptSchema,
    EnquirySchema,
    QuoteEnquirySchema,
)
from quoter.api.http.auth import current_key
from quoter.api.http.conditions import if_match, matches
from quoter.api.http.fields import OneOf, code
from quoter.api.http.locale import reader_locale
from quoter.api.http.operations import Answer, Operation, json_answer, json_body, loaded_body, operation
from quoter.api.http.origins import request_origin, sender_address
from quoter.api.http.paging import LINK, MOST_WORDS, PageQuery, key_of, next_link
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.repeating import say_what_is_made
from quoter.api.http.services import services
from quoter.api.prices.document import audience_of
from quoter.api.prices.examples import ENQUIRY_EXAMPLE
from quoter.api.prices.job_schema import job_of
from quoter.api.prices.prices import BookQuery
from quoter.api.quotes.quote_schemas import QuoteSchema
from quoter.api.quotes.quoted import ETAG, issued_answer
from quoter.api.quotes.quotes import STAFF, LocaleQuery
from quoter.messages import Message
from quoter.problems import ChangedMeanwhile, JobRefused, Refusal
from quoter.records.enquiries import ERASED, STANDINGS, Enquiry, EnquiryFilter
from quoter.records.quotes import Contact
from quoter.service.enquiries.asking import Asked, Written, refusals_of
from quoter.service.enquiries.enquiring import within_job
from quoter.service.ids import is_id
from quoter.words.wording import wording_for

blueprint = Blueprint("enquiries", __name__)

ASK, ASKED_JOB, QUOTE, CLOSE = AskSchema(), AskedJobSchema(), QuoteEnquirySchema(), CloseEnquirySchema()

MEANWHILE = {
    "new": Message("The enquiry waits again."),
    "quoted": Message("A quote was made of the enquiry."),
    "closed": Message("The enquiry was put aside."),
}
"""What somebody else has done, by what an enquiry stands at now."""

ERASED_MEANWHILE = Message("How the visitor is reached was erased.")

ENQUIRY_ETAG = {"ETag": "The version of the enquiry, for If-Match"}


class EnquiriesQuery(PageQuery):
    """Which enquiries."""

    reference = code(load_default=None, metadata={"description": "The whole reference"})
    standing = fields.String(
        load_default=None,
        validate=OneOf(STANDINGS),
        metadata={"description": "new: unanswered; quoted: a quote was made of it; closed: it was put aside"},
    )
    device = code(load_default=None, metadata={"description": "Code of a device"})
    words = fields.String(
        load_default=None,
        validate=validate.Length(max=MOST_WORDS),
        metadata={"description": "Part of maker, model or code of the device"},
    )
    customer = fields.String(
        load_default=None,
        validate=validate.Length(max=MOST_WORDS),
        metadata={"description": "Part of the visitor's name, phone number or address of mail, without accents"},
    )
    quote = code(load_default=None, metadata={"description": "Id of the quote that was made of it"})


@operation(
    blueprint,
    Operation(
        id="beginEnquiry",
        method="POST",
        path="/v1/enquiry-forms",
        summary="Begin a form",
        description=(
            "A signed token for one filling-in of the form; nothing is kept. Begin when the form is shown: what is "
            "sent sooner than a person can fill it in is refused."
        ),
        scopes=("form",),
        answers={201: Answer("The token", EnquiryFormSchema())},
    ),
)
def begin_enquiry() -> Response:
    """A token."""
    return json_answer(asdict(services().enquiring.begin(current_key())), 201, {"Cache-Control": "no-store"})


@operation(
    blueprint,
    Operation(
        id="makeEnquiry",
        method="POST",
        path="/v1/enquiries",
        summary="Ask the shop about a job",
        description=(
            "Prices the job and keeps the enquiry; the price is an indication, which binds nobody. One token makes one "
            "enquiry: the same form again gets the same answer."
        ),
        scopes=("form", *STAFF),
        query=BookQuery(),
        body={"anyOf": [AskSchema()], "example": ENQUIRY_EXAMPLE},
        answers={
            201: Answer(
                "What the visitor is told", EnquiryReceiptSchema(), headers={"Location": "For staff: where it is"}
            )
        },
        problems=(400, 404, 413, 415, 422, 429),
        repeatable=True,
    ),
)
def make_enquiry(query: dict[str, Any]) -> Response:
    """Keeps what was asked."""
    use, key = services(), current_key()
    published = use.shelf.named(query["book"])
    book, sent = published.book, loaded_body(ASK, _also_wrong)
    try:
        job = job_of(
            json_body()["job"],
            book,
            today=use.quoting.today(book),
            locale=reader_locale(book.locale),
            schema=ASKED_JOB,
        )
    except JobRefused as refused:
        raise JobRefused((*_also_wrong(sent), *within_job(refused.refusals))) from None
    contact = Contact(**sent.pop("contact"))
    asked = Asked(
        **sent | {"job": job, "contact": contact},
        published=published,
        origin=request_origin(),
        address=sender_address(),
    )
    made = use.enquiring.make(asked, key)
    place = f"/v1/enquiries/{made.id}"
    say_what_is_made(place)
    headers = {"Location": place} if key.scope in STAFF else {}
    return json_answer(receipt(made), 201, headers)


def _also_wrong(sent: dict[str, Any]) -> tuple[Refusal, ...]:
    """What is wrong with the rest, where a part cannot be read or priced, so that nobody has to ask twice."""
    texts = {name: sent[name] for name in ("noticed", "may_be_contacted", "token", "homepage") if name in sent}
    written = Written(**texts, contact=Contact(**sent.get("contact", {})))
    return refusals_of(written.tidied(), from_form=current_key().scope == "form")


@operation(
    blueprint,
    Operation(
        id="listEnquiries",
        method="GET",
        path="/v1/enquiries",
        summary="Find enquiries, the newest first",
        description="All conditions that are given must hold. The header Link leads to the next page.",
        scopes=STAFF,
        query=EnquiriesQuery(),
        answers={200: Answer("A page of enquiries", EnquiryPageSchema(), headers=LINK)},
        problems=(422,),
    ),
)
def list_enquiries(query: dict[str, Any]) -> Response:
    """A page of enquiries."""
    wanted = EnquiryFilter(**query | {"after": key_of(query["after"], is_id)})
    found = services().enquiring.find(replace(wanted, limit=wanted.limit + 1))
    page = found[: wanted.limit]
    shown = [enquiry_summary(enquiry, reader_locale(enquiry.locale)) for enquiry in page]
    return json_answer({"enquiries": shown}, headers=next_link(page[-1].id) if len(found) > len(page) else {})


@operation(
    blueprint,
    Operation(
        id="readEnquiry",
        method="GET",
        path="/v1/enquiries/{enquiry_id}",
        summary="Read an enquiry",
        description=(
            "What was asked, with the price as the visitor was told it; of the quote that was made of it, by how much "
            "its price differs."
        ),
        scopes=STAFF,
        query=LocaleQuery(),
        answers={200: Answer("The enquiry", EnquirySchema(), headers=ENQUIRY_ETAG)},
        problems=(404, 422),
    ),
)
def read_enquiry(enquiry_id: str, query: dict[str, Any]) -> Response:
    """One enquiry."""
    enquiry = services().enquiring.get(enquiry_id)
    return _answer(enquiry, reader_locale(enquiry.locale, query["locale"]))


@operation(
    blueprint,
    Operation(
        id="quoteEnquiry",
        method="POST",
        path="/v1/enquiries/{enquiry_id}/quote",
        summary="Make a quote of an enquiry",
        description=(
            "Prices the job anew, today and with the rate book in force, and issues the quote for who asked. The body "
            "may be left out; `told` names the notices that the customer has been told."
        ),
        scopes=STAFF,
        body={"anyOf": [QuoteEnquirySchema()], "example": {"told": ["diagnosis-fee"]}},
        answers={201: Answer("The quote", QuoteSchema(), headers={"Location": "Where the quote is", **ETAG})},
        problems=(400, 404, 409, 412, 413, 415, 422, 428),
        if_match=True,
        repeatable=True,
    ),
)
def quote_enquiry(enquiry_id: str) -> Response:
    """Issues the quote."""
    with unchanged_enquiry(enquiry_id) as enquiry:
        told = loaded_body(QUOTE)["told"] if request.get_data() else []
        quote = services().enquiring.quote(enquiry, current_key(), told=told)
    return issued_answer(quote)


@operation(
    blueprint,
    Operation(
        id="closeEnquiry",
        method="POST",
        path="/v1/enquiries/{enquiry_id}/closing",
        summary="Put an enquiry aside, or take it up again",
        description="`because` says why it is put aside without a quote; null takes it up again.",
        scopes=STAFF,
        body={"anyOf": [CloseEnquirySchema()], "example": {"because": "no-answer"}},
        answers={200: Answer("The enquiry as it is now", EnquirySchema(), headers=ENQUIRY_ETAG)},
        problems=(400, 404, 409, 412, 413, 415, 422, 428),
        if_match=True,
    ),
)
def close_enquiry(enquiry_id: str) -> Response:
    """Puts it aside."""
    with unchanged_enquiry(enquiry_id) as enquiry:
        closed = services().enquiring.close(enquiry, loaded_body(CLOSE)["because"])
    return _answer(closed, reader_locale(closed.locale))


def tag_of_enquiry(enquiry: Enquiry) -> str:
    """What an enquiry is at a moment, as an entity tag."""
    return f'"{enquiry.version}"'


@contextmanager
def unchanged_enquiry(enquiry_id: str) -> Iterator[Enquiry]:
    """An enquiry, if the caller has seen it as it is. Raises problems 428 and 412."""
    wanted = if_match("enquiry")
    enquiry = services().enquiring.get(enquiry_id)
    if not matches(wanted, tag_of_enquiry(enquiry)):
        raise _changed(enquiry)
    try:
        yield enquiry
    except ChangedMeanwhile:
        raise _changed(services().enquiring.get(enquiry_id)) from None


def _changed(enquiry: Enquiry) -> ApiProblem:
    wording = wording_for(reader_locale(enquiry.locale))
    told = ERASED_MEANWHILE if enquiry.closed_because == ERASED else MEANWHILE[enquiry.standing]
    return ApiProblem(
        412,
        "changed-meanwhile",
        f"enquiry {enquiry.reference} is not what you have seen: it is at version {enquiry.version}",
        headers={"ETag": tag_of_enquiry(enquiry)},
        told=(wording.text(told),),
    )


def _answer(enquiry: Enquiry, tag: str) -> Response:
    quote = services().quoting.get(enquiry.quote) if enquiry.quote else None
    shown = enquiry_document(enquiry, quote, tag, audience_of(current_key()))
    return json_answer(shown, headers={"ETag": tag_of_enquiry(enquiry)})
