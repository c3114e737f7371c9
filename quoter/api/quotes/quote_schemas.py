"""A quote that was issued, and what has become of it, as the API answers with it, as schemas."""

from marshmallow import fields, validate

from quoter.api.http.answers import Body, amount, text
from quoter.api.http.fields import DecimalText
from quoter.api.prices.price_schemas import PriceSchema, TotalsSchema
from quoter.records.quotes import DECISIONS, REVISION_STATES, STATES, UP_TO, WAYS


class ContactSchema(Body):
    """How the customer is reached."""

    name, phone, email = text(), text(), text()


class DecisionSchema(Body):
    """What was decided about a revision."""

    decision = text(validate=validate.OneOf(DECISIONS))
    revision = fields.Integer(required=True, strict=True)
    name, contact, note = text("Who decided"), text("Number or address at which they said so"), text()
    how = text(validate=validate.OneOf(WAYS))
    extra = DecimalText(required=True, allow_none=True, metadata={"description": "Agreed to beyond what was before"})
    up_to = text(validate=validate.OneOf(UP_TO))
    at, recorded_at = fields.AwareDateTime(required=True), fields.AwareDateTime(required=True)
    recorded_by = text("The name of the key, or that it was the customer's page")


class AgreementSchema(Body):
    """What the customer has agreed to so far, and how far a later price may go without asking again."""

    revision = fields.Integer(required=True, strict=True)
    gross, limit = amount(), amount()
    of = text("What the limit is of", validate=validate.OneOf(("gross", "net")))


class NeededConsentSchema(Body):
    """What the customer must agree to expressly before the revision is accepted."""

    extra, limit = amount("Beyond what was agreed to"), amount("The limit that the price passes")
    of = text("Whether both are gross or net", validate=validate.OneOf(("gross", "net")))


class RevisionSummarySchema(Body):
    """A revision in the life of a quote."""

    revision, book_version = fields.Integer(required=True, strict=True), fields.Integer(required=True, strict=True)
    issued_at = fields.AwareDateTime(required=True)
    issued_by, reason = text("The name of the key"), text("Empty for the first")
    state = text(validate=validate.OneOf(REVISION_STATES))
    gross = amount()
    formatted = fields.Dict(required=True, keys=fields.String())


class QuoteSchema(PriceSchema):
    """A revision of an issued quote, with what has become of the quote."""

    id, number = text(), text()
    revision = fields.Integer(required=True, strict=True)
    version = fields.Integer(required=True, strict=True, metadata={"description": "Counts every change; the ETag"})
    state = text(validate=validate.OneOf(REVISION_STATES))
    contact = fields.Nested(ContactSchema, required=True)
    erased_at = fields.AwareDateTime(
        required=True, allow_none=True, metadata={"description": "When contact, names and free texts were last erased"}
    )
    link = text("Where the customer reads it; empty where no link leads there")
    reason = text("Why it was revised; empty for the first revision")
    told = fields.List(fields.String(), required=True, metadata={"description": "Notices the customer was told"})
    revisions = fields.List(fields.Nested(RevisionSummarySchema), required=True)
    decision = fields.Nested(DecisionSchema, required=True, allow_none=True)
    agreement = fields.Nested(AgreementSchema, required=True, allow_none=True)
    needs_consent = fields.Nested(NeededConsentSchema, required=True, allow_none=True)
    next = fields.List(
        fields.String(validate=validate.OneOf(DECISIONS)),
        required=True,
        metadata={"description": "Decisions that are possible now"},
    )
    issued_at = fields.AwareDateTime(required=True)
    issued_by = text("The name of the key")
    expires_at = fields.AwareDateTime(required=True, metadata={"description": "The first moment at which it is over"})


class QuoteSummarySchema(Body):
    """An issued quote in a list."""

    id, number = text(), text()
    revision = fields.Integer(required=True, strict=True)
    state = text(validate=validate.OneOf(STATES))
    issued_at = fields.AwareDateTime(required=True)
    valid_until = fields.Date(required=True)
    contact = fields.Nested(ContactSchema, required=True)
    device, title = text(), text("Maker and model")
    procedures = fields.List(fields.String(), required=True)
    currency = text()
    totals = fields.Nested(TotalsSchema, required=True)
    formatted = fields.Dict(required=True, keys=fields.String())


class QuotePageSchema(Body):
    """A page of quotes, the newest first; the header Link leads to the next."""

    quotes = fields.List(fields.Nested(QuoteSummarySchema), required=True)
