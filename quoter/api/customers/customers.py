"""What is held on one customer: all of it as a document, and erased at once. The body says who, never the address."""

from typing import Any

from flask import Blueprint, Response
from marshmallow import ValidationError, fields, validate, validates_schema

from quoter.api.customers.customer_document import customer_document
from quoter.api.http.answers import Body, text
from quoter.api.http.auth import current_key
from quoter.api.http.fields import Line, Truth
from quoter.api.http.operations import Answer, Operation, json_answer, loaded_body, operation
from quoter.api.http.services import services
from quoter.api.prices.job_schema import Strict
from quoter.api.prices.price_schemas import PriceSchema
from quoter.api.quotes.life_schemas import LONGEST_ADDRESS, LONGEST_PHONE
from quoter.api.quotes.quote_schemas import ContactSchema
from quoter.api.rates.books import OWNER
from quoter.records.customers import FEWEST_DIGITS, NAMED_BY, Erasure, Who, digits_of
from quoter.records.enquiries import STANDINGS
from quoter.records.quotes import EVENT_KINDS, REVISION_STATES, STATES
from quoter.service.clock import stamp

blueprint = Blueprint("customers", __name__)

KEPT_BECAUSE = (
    "somebody has agreed to these quotes: they are the shop's proof of a contract and are kept for claims and for the "
    "tax office; send accepted: true to erase their contact too"
)


def _has_digits(phone: str) -> None:
    if len(digits_of(phone)) < FEWEST_DIGITS:
        raise ValidationError(f"Not a phone number: it has fewer than {FEWEST_DIGITS} digits.")


def _named(description: str, *checks: Any) -> Line:
    return Line(validate=[validate.Length(1, LONGEST_ADDRESS), *checks], metadata={"description": description})


class WhoSchema(Strict):
    """A customer, named by exactly one of these, whole: a part of it could be somebody else's."""

    email = _named("In any case of its letters")
    phone = _named(
        "Compared by its digits: with and without the code of the country it is two numbers",
        validate.Length(max=LONGEST_PHONE),
        _has_digits,
    )
    quote = _named("Id or number")
    enquiry = _named("Id or reference")

    @validates_schema
    def _names_one(self, data: dict[str, Any], **_: Any) -> None:
        given = [name for name in NAMED_BY if name in data]
        if len(given) != 1:
            raise ValidationError(f"Name the customer by exactly one of {', '.join(NAMED_BY)}.")


class ErasureOrderSchema(WhoSchema):
    """Whose contact data is to be erased."""

    accepted = Truth(
        load_default=False,
        metadata={"description": "Also of quotes that somebody has agreed to, which are kept otherwise"},
    )


class ExportedRevisionSchema(PriceSchema):
    """A revision as its customer was shown it."""

    number, reason = text(), text("Why it was revised; empty for the first revision")
    revision = fields.Integer(required=True, strict=True)
    state = text(validate=validate.OneOf(REVISION_STATES))
    told = fields.List(fields.String(), required=True, metadata={"description": "Notices the customer was told"})
    issued_at, expires_at = fields.AwareDateTime(required=True), fields.AwareDateTime(required=True)


class ExportedEventSchema(Body):
    """Something that happened, as a sentence; `data` is what the sentence is made of, names and notes among it."""

    at = fields.AwareDateTime(required=True)
    kind = text(validate=validate.OneOf(EVENT_KINDS))
    revision = fields.Integer(required=True, strict=True)
    text = text()
    data = fields.Dict(keys=fields.String(), required=True)


class ExportedQuoteSchema(Body):
    """A quote with everything that was kept about its customer."""

    number, state = text(), text(validate=validate.OneOf(STATES))
    contact = fields.Nested(ContactSchema, required=True)
    erased_at = fields.AwareDateTime(required=True, allow_none=True)
    revisions = fields.List(fields.Nested(ExportedRevisionSchema), required=True)
    history = fields.List(fields.Nested(ExportedEventSchema), required=True)


class ExportedEnquirySchema(Body):
    """What was sent with the shop's form, and the price that it was answered with."""

    reference, sent_from, noticed = text(), text("The site that the form stood on"), text("In their own words")
    received_at = fields.AwareDateTime(required=True)
    contact = fields.Nested(ContactSchema, required=True)
    may_be_contacted = fields.Boolean(required=True)
    standing = text(validate=validate.OneOf(STANDINGS))
    erased_at = fields.AwareDateTime(required=True, allow_none=True)
    price = fields.Nested(PriceSchema, required=True)
    formatted = fields.Dict(required=True, keys=fields.String())


class CustomerExportSchema(Body):
    """All that is held on one customer, for them to read."""

    made_at = fields.AwareDateTime(required=True)
    locale = text("Of the explanation")
    asked_for = fields.Dict(required=True, keys=fields.String(), values=fields.String())
    found = fields.Boolean(
        required=True, metadata={"description": "false: nothing is held, all lists are empty, and nobody is addressed"}
    )
    explanation = fields.List(fields.String(), required=True)
    quotes = fields.List(fields.Nested(ExportedQuoteSchema), required=True)
    enquiries = fields.List(fields.Nested(ExportedEnquirySchema), required=True)


class ErasureSchema(Body):
    """What was erased, by number and reference, and what was not."""

    at = fields.AwareDateTime(required=True)
    found = fields.Boolean(required=True, metadata={"description": "Whether anything is held on them at all"})
    quotes = fields.List(fields.String(), required=True, metadata={"description": "Numbers of quotes, erased now"})
    enquiries = fields.List(fields.String(), required=True, metadata={"description": "References, erased now"})
    before = fields.List(
        fields.String(), required=True, metadata={"description": "Erased before, with nothing new since"}
    )
    kept = fields.List(fields.String(), required=True, metadata={"description": "Numbers of quotes that stay"})
    kept_because = text("Empty where nothing was kept")
    replies = fields.Integer(required=True, strict=True, metadata={"description": "Stored answers that were deleted"})
    is_out_of_file = fields.Boolean(
        required=True,
        metadata={"description": "Whether no byte is left in the database's files; if not, within the hour"},
    )


@operation(
    blueprint,
    Operation(
        id="exportCustomer",
        method="POST",
        path="/v1/customers/export",
        summary="Everything that is held on one customer",
        description=(
            "For them to read: every quote with its revisions as they were shown, contact, decisions, notes and "
            "history, and every enquiry. No costs and no margins. Where nothing is held on an address or number, "
            "`found` is false and the lists are empty: that is an answer, too, but look for a slip first."
        ),
        scopes=OWNER,
        body={"anyOf": [WhoSchema()], "example": {"phone": "+353 1 555 0100"}},
        answers={200: Answer("All of it", CustomerExportSchema())},
        problems=(400, 404, 413, 415, 422),
    ),
)
def export_customer() -> Response:
    """All that is held."""
    customers = services().customers
    held = customers.held(_who(loaded_body(WhoSchema())))
    answer = json_answer(customer_document(held, stamp(customers.now())))
    answer.headers["Cache-Control"] = "no-store"
    return answer


@operation(
    blueprint,
    Operation(
        id="eraseCustomer",
        method="POST",
        path="/v1/customers/erasure",
        summary="Erase names, numbers and free texts of one customer at once",
        description=(
            "Figures, lines, numbers and events stay; links of erased quotes lead nowhere from now on. Quotes that "
            "somebody has agreed to are kept unless `accepted` is true. Once more does nothing more. `found` is "
            "false where nothing is held on an address or number."
        ),
        scopes=OWNER,
        body={"anyOf": [ErasureOrderSchema()], "example": {"phone": "+353 1 555 0100"}},
        answers={200: Answer("What was erased and what was kept", ErasureSchema())},
        problems=(400, 404, 413, 415, 422),
    ),
)
def erase_customer() -> Response:
    """Erases it."""
    said = loaded_body(ErasureOrderSchema())
    accepted = said.pop("accepted")
    return json_answer(erasure_data(services().customers.erase(_who(said), current_key().name, accepted=accepted)))


def _who(said: dict[str, str]) -> Who:
    ((named_by, value),) = said.items()
    return Who(named_by, value)


def erasure_data(done: Erasure) -> dict[str, Any]:
    """What was erased, as the API and the command line say it."""
    return {
        "at": done.at,
        "found": bool(done.quotes or done.enquiries or done.before or done.kept),
        **{name: list(getattr(done, name)) for name in ("quotes", "enquiries", "before", "kept")},
        "kept_because": KEPT_BECAUSE if done.kept else "",
        "replies": done.replies,
        "is_out_of_file": done.is_out_of_file,
    }
