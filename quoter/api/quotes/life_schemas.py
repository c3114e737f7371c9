"""What is sent and answered about the life of a quote."""

import datetime as dt
from typing import Any

from marshmallow import ValidationError, fields, validate

from quoter.api.http.answers import Body, amount, text
from quoter.api.http.fields import DecimalText, Line, Lines, Mailbox, Moment, OneOf, Phone, WholeNumber, code
from quoter.api.prices.job_schema import (
    CustomerSchema,
    DiscountSchema,
    JobSchema,
    Strict,
    findings_field,
    locale_field,
    parts_field,
    repairs_field,
)
from quoter.api.quotes.quote_schemas import QuoteSchema
from quoter.job import PAYMENTS, URGENCIES
from quoter.law import NOTICE_CODES
from quoter.quote import LINE_KINDS
from quoter.records.quotes import DECISIONS, EVENT_KINDS, UP_TO, WAYS
from quoter.service.quotes.deciding import LONGEST_NAME, LONGEST_NOTE
from quoter.service.quotes.revising import LONGEST_REASON

RATES_OF = ("pinned", "current")
CHANGES = ("same", "changed", "added", "removed")
BY_STAFF = tuple(way for way in WAYS if way != "link")

LONGEST_PHONE, LONGEST_ADDRESS = 50, 254
"""254 characters are the most that a mailbox may have (RFC 5321 with erratum 1690)."""

MOST_TOLD = 50
LARGEST_NUMBER = 2**31 - 1

EARLIEST = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)
LATEST = dt.datetime(2200, 1, 1, tzinfo=dt.UTC)


def _in_calendar(moment: dt.datetime) -> None:
    if not EARLIEST <= moment < LATEST:
        raise ValidationError(f"Not a moment from {EARLIEST.year} to before {LATEST.year}.")


def line(most: int, description: str = "", *, least: int = 0, **options: Any) -> Line:
    """A text of one line; empty if absent, unless it must be there."""
    if not options.get("required"):
        options["load_default"] = ""
    meaning = {"description": description} if description else {}
    return Line(validate=validate.Length(min=least, max=most), metadata=meaning, **options)


def number(**options: Any) -> WholeNumber:
    """The number of a revision."""
    return WholeNumber(validate=validate.Range(1, LARGEST_NUMBER), **options)


def told_field() -> fields.List[Any]:
    """Notices by code."""
    return fields.List(
        fields.String(validate=OneOf(NOTICE_CODES)),
        load_default=list,
        validate=validate.Length(max=MOST_TOLD),
        metadata={"description": "Codes of the notices that the customer has been told"},
    )


class GivenContactSchema(Strict):
    """How the customer is reached; what is absent is empty."""

    name = line(LONGEST_NAME)
    phone = Phone(load_default="", validate=validate.Length(max=LONGEST_PHONE))
    email = Mailbox(load_default="", validate=validate.Length(max=LONGEST_ADDRESS))


class IssueSchema(JobSchema):
    """What is asked, by whom, and what they have been told."""

    contact = fields.Nested(GivenContactSchema, load_default=lambda: {"name": "", "phone": "", "email": ""})
    told = told_field()
    enquiry = code(
        allow_none=True, load_default=None, metadata={"description": "Id of the enquiry that the quote answers"}
    )


class JobChangesSchema(Strict):
    """Members of a job that change; the others stay."""

    repairs, parts, findings, locale = repairs_field(), parts_field(), findings_field(), locale_field()
    customer = fields.Nested(CustomerSchema)
    urgency = fields.String(validate=OneOf(URGENCIES))
    discount = fields.Nested(DiscountSchema, allow_none=True)
    payment = fields.String(validate=OneOf(PAYMENTS))


class PreviewSchema(Strict):
    """What a revision would change."""

    reason = Lines(load_default="", validate=validate.Length(max=LONGEST_REASON))
    job = fields.Nested(JobChangesSchema, load_default=dict)
    book = fields.String(
        load_default="pinned",
        validate=OneOf(RATES_OF),
        metadata={"description": "The version that the quote was priced from, or the one that counts now"},
    )
    told = told_field()


class ReviseSchema(PreviewSchema):
    """What a revision changes, and why."""

    reason = Lines(required=True, validate=validate.Length(1, LONGEST_REASON))


class DecideSchema(Strict):
    """What somebody decided about a revision, as the shop records it."""

    decision = fields.String(required=True, validate=OneOf(DECISIONS))
    revision = number(required=True, strict=True, metadata={"description": "The one that they decided about"})
    name = line(LONGEST_NAME, "Who decided", least=1, required=True)
    how = fields.String(required=True, validate=OneOf(BY_STAFF))
    at = Moment(
        format="iso",
        validate=_in_calendar,
        allow_none=True,
        load_default=None,
        metadata={"description": "When, RFC 3339; now if absent"},
    )
    contact = line(LONGEST_ADDRESS, "The number or address at which they said so")
    extra = DecimalText(
        allow_none=True,
        load_default=None,
        metadata={"description": "What they agreed to pay beyond what they had agreed to before"},
    )
    up_to = fields.String(load_default="price", validate=OneOf(UP_TO))
    note = Lines(load_default="", validate=validate.Length(max=LONGEST_NOTE))


class ComparedSideSchema(Body):
    """One side of a pair of lines."""

    quantity, unit, unit_price, net = amount(), text(), amount(), amount()


class ComparedLineSchema(Body):
    """Lines of two revisions that are for the same."""

    kind = text(validate=validate.OneOf(LINE_KINDS))
    ref, description = text(), text("In the locale of the document")
    change = text(validate=validate.OneOf(CHANGES))
    old = fields.Nested(ComparedSideSchema, required=True, allow_none=True)
    new = fields.Nested(ComparedSideSchema, required=True, allow_none=True)
    difference = amount("Of the net")


class ComparedAmountSchema(Body):
    """Before, now, and now less before."""

    old, new, difference = amount(), amount(), amount()


class ComparedTotalsSchema(Body):
    """Of both revisions."""

    net, tax = fields.Nested(ComparedAmountSchema, required=True), fields.Nested(ComparedAmountSchema, required=True)
    gross = fields.Nested(ComparedAmountSchema, required=True)


class ComparedFindingsSchema(Body):
    """Codes of what was seen since, and of what was not so after all."""

    added, removed = fields.List(fields.String(), required=True), fields.List(fields.String(), required=True)


class ComparedTermSchema(Body):
    """A warranty term."""

    code, title = text(), text()
    days = fields.Integer(required=True, strict=True)


class ComparedWarrantySchema(Body):
    """The terms of a repair; null where it is not among the repairs."""

    procedure = text()
    old = fields.List(fields.Nested(ComparedTermSchema), required=True, allow_none=True)
    new = fields.List(fields.Nested(ComparedTermSchema), required=True, allow_none=True)


class QuoteComparisonSchema(Body):
    """Two revisions of a quote beside each other. `formatted` has every figure as text, in the same shape."""

    old, new = fields.Integer(required=True, strict=True), fields.Integer(required=True, strict=True)
    lines = fields.List(fields.Nested(ComparedLineSchema), required=True)
    totals = fields.Nested(ComparedTotalsSchema, required=True)
    time = fields.Dict(keys=fields.String(), values=fields.Nested(ComparedAmountSchema), required=True)
    findings = fields.Nested(ComparedFindingsSchema, required=True)
    warranty = fields.List(fields.Nested(ComparedWarrantySchema), required=True)
    formatted = fields.Dict(required=True, keys=fields.String())


class RevisionPreviewSchema(Body):
    """What a revision would be. Nothing of it is kept."""

    document = fields.Nested(QuoteSchema, required=True)
    comparison = fields.Nested(QuoteComparisonSchema, required=True)


class QuoteEventSchema(Body):
    """Something that happened to a quote, kept for good."""

    version = fields.Integer(required=True, strict=True, metadata={"description": "That the quote has had since"})
    at = fields.AwareDateTime(required=True)
    by = text("The name of the key, or that it was the customer's page")
    kind = text(validate=validate.OneOf(EVENT_KINDS))
    revision = fields.Integer(required=True, strict=True)
    data = fields.Dict(keys=fields.String(), required=True, metadata={"description": "The rest of the story, by kind"})
    formatted = fields.Dict(keys=fields.String(), required=True)


class QuoteHistorySchema(Body):
    """Everything that happened to a quote, the oldest first."""

    events = fields.List(fields.Nested(QuoteEventSchema), required=True)
