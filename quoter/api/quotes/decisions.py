"""What becomes of a quote: decisions, how its customer is reached, its history."""

from typing import Any

from flask import Blueprint, Response

from quoter.api.http.auth import current_key
from quoter.api.http.locale import reader_locale
from quoter.api.http.operations import Answer, Operation, json_answer, loaded_body, operation
from quoter.api.http.services import services
from quoter.api.quotes.life_document import history_document
from quoter.api.quotes.life_schemas import DecideSchema, GivenContactSchema, QuoteHistorySchema
from quoter.api.quotes.quote_schemas import QuoteSchema
from quoter.api.quotes.quoted import ETAG, quote_answer, unchanged_quote
from quoter.api.quotes.quotes import STAFF, LocaleQuery
from quoter.records.quotes import Contact, Decision
from quoter.service.clock import stamp

blueprint = Blueprint("decisions", __name__)

EXAMPLE = {"decision": "accepted", "revision": 1, "name": "A. Example", "how": "phone", "contact": "+353 1 555 0100"}


@operation(
    blueprint,
    Operation(
        id="decideQuote",
        method="POST",
        path="/v1/quotes/{quote_id}/decisions",
        summary="Record what was decided about a quote",
        description=(
            "Accepted, declined or withdrawn: only the newest revision, and only what `next` names. Where the price "
            "passes the limit of what was agreed to, accepting it needs `extra`, and how and where the law asks for it."
        ),
        scopes=STAFF,
        body={"anyOf": [DecideSchema()], "example": EXAMPLE},
        answers={201: Answer("The quote after it", QuoteSchema(), headers=ETAG)},
        problems=(400, 404, 409, 412, 413, 415, 422, 428),
        if_match=True,
        repeatable=True,
    ),
)
def decide_quote(quote_id: str) -> Response:
    """Keeps a decision."""
    said = loaded_body(DecideSchema())
    said["at"] = stamp(said["at"]) if said["at"] else ""
    with unchanged_quote(quote_id) as seen:
        after = services().quoting.decide(seen, Decision(**said), current_key().name)
    return quote_answer(after, 201)


@operation(
    blueprint,
    Operation(
        id="changeContact",
        method="PUT",
        path="/v1/quotes/{quote_id}/contact",
        summary="Change how the customer is reached",
        description="The whole contact anew. The history says which members changed, and keeps neither old nor new.",
        scopes=STAFF,
        body={"anyOf": [GivenContactSchema()], "example": {"name": "A. Example", "phone": "+353 1 555 0100"}},
        answers={200: Answer("The quote after it", QuoteSchema(), headers=ETAG)},
        problems=(400, 404, 412, 413, 415, 422, 428),
        if_match=True,
    ),
)
def change_contact(quote_id: str) -> Response:
    """Keeps a contact."""
    contact = Contact(**loaded_body(GivenContactSchema()))
    with unchanged_quote(quote_id) as seen:
        after = services().quoting.change_contact(seen, contact, current_key().name)
    return quote_answer(after)


@operation(
    blueprint,
    Operation(
        id="replaceLink",
        method="POST",
        path="/v1/quotes/{quote_id}/link",
        summary="Give the customer another link",
        description="The old one leads nowhere from now on.",
        scopes=STAFF,
        answers={200: Answer("The quote with its new link", QuoteSchema(), headers=ETAG)},
        problems=(404, 412, 428),
        if_match=True,
        repeatable=True,
    ),
)
def replace_link(quote_id: str) -> Response:
    """Ends a link."""
    with unchanged_quote(quote_id) as seen:
        after = services().quoting.replace_link(seen, current_key().name)
    return quote_answer(after)


@operation(
    blueprint,
    Operation(
        id="readQuoteHistory",
        method="GET",
        path="/v1/quotes/{quote_id}/history",
        summary="Everything that happened to a quote",
        description="The oldest first. It is only ever added to.",
        scopes=STAFF,
        query=LocaleQuery(),
        answers={200: Answer("The history", QuoteHistorySchema())},
        problems=(404, 422),
    ),
)
def read_history(quote_id: str, query: dict[str, Any]) -> Response:
    """The events."""
    quoting = services().quoting
    quote = quoting.get(quote_id)
    tag = reader_locale(quote.job["locale"], query["locale"])
    return json_answer(history_document(quote, quoting.history(quote_id), tag))
