"""What is sent and answered about enquiries."""

from typing import Any

from marshmallow import fields, post_load, validate

from quoter.api.http.answers import Body, amount, text
from quoter.api.http.fields import DecimalText, Line, Lines, Mailbox, OneOf, Truth
from quoter.api.prices.job_schema import JobSchema, Strict
from quoter.api.prices.price_schemas import CautionSchema, OutcomeSchema, PriceSchema, TimeSchema
from quoter.api.quotes.life_schemas import told_field
from quoter.api.quotes.quote_schemas import ContactSchema
from quoter.records.enquiries import CLOSING_REASONS, STANDINGS
from quoter.service.enquiries.asking import LONGEST_EMAIL, LONGEST_NAME, LONGEST_NOTICED, LONGEST_PHONE
from quoter.service.enquiries.form_tokens import LONGEST_TOKEN


class AskedJobSchema(JobSchema):
    """What a visitor may ask: a job of today, without what only the shop grants."""

    class Meta(Strict.Meta):
        exclude = ("discount", "payment", "date")

    @post_load
    def with_the_rest(self, loaded: dict[str, Any], **_: Any) -> dict[str, Any]:
        """What a visitor cannot say, as it is where nobody says it."""
        return loaded | {"discount": None, "payment": "other", "date": None}


class VisitorSchema(Strict):
    """How the visitor is reached: at least a phone number or an address of mail."""

    name = Line(load_default="", validate=validate.Length(max=LONGEST_NAME))
    phone = Line(load_default="", validate=validate.Length(max=LONGEST_PHONE))
    email = Mailbox(load_default="", validate=validate.Length(max=LONGEST_EMAIL))


class AskSchema(Strict):
    """A filled-in form."""

    job = fields.Nested(AskedJobSchema, required=True)
    noticed = Lines(
        load_default="",
        validate=validate.Length(max=LONGEST_NOTICED),
        metadata={"description": "What the visitor noticed, in their own words"},
    )
    contact = fields.Nested(VisitorSchema, required=True)
    may_be_contacted = Truth(
        load_default=False,
        metadata={"description": "That the visitor agrees to be answered; a form must send true"},
    )
    token = Line(
        load_default="",
        validate=validate.Length(max=LONGEST_TOKEN),
        metadata={"description": "From POST /v1/enquiry-forms; a form must send one"},
    )
    homepage = fields.String(
        load_default="",
        validate=validate.Length(max=LONGEST_NOTICED),
        metadata={"description": "A field that no visitor sees. It must stay blank: only programs fill it in"},
    )


class QuoteEnquirySchema(Strict):
    """What the customer has been told."""

    told = told_field()


class CloseEnquirySchema(Strict):
    """Why an enquiry is put aside; null takes it up again."""

    because = fields.String(required=True, allow_none=True, validate=OneOf(CLOSING_REASONS))


class EnquiryFormSchema(Body):
    """A token for one filling-in of a form."""

    token = text("Send it with the enquiry")
    usable_from = fields.AwareDateTime(required=True, metadata={"description": "The first moment to send it"})
    usable_until = fields.AwareDateTime(required=True, metadata={"description": "The first moment when it is too late"})


class IndicatedPriceSchema(Body):
    """What the job comes to, as far as it can be said from afar."""

    currency, display = text("ISO 4217"), text("inclusive or exclusive of tax for consumers")
    net, tax, gross = amount(), amount(), amount()


class EnquiryReceiptSchema(Body):
    """What a visitor is told. `formatted` has every figure as text in the locale, in the same shape."""

    reference = text("What the visitor and the shop call it")
    received_at = fields.AwareDateTime(required=True)
    locale = text("BCP 47")
    indicative = fields.Boolean(
        required=True, metadata={"description": "true: the price binds nobody before the shop has seen the device"}
    )
    price = fields.Nested(IndicatedPriceSchema, required=True)
    ceiling = fields.Nested(OutcomeSchema, required=True)
    time = fields.Nested(TimeSchema, required=True)
    lead_days = fields.Integer(required=True, strict=True)
    cautions = fields.List(fields.Nested(CautionSchema), required=True)
    formatted = fields.Dict(required=True, keys=fields.String())


class QuoteOfEnquirySchema(Body):
    """The quote that was made of an enquiry, and how its newest price differs from what the visitor was told."""

    id, number, currency = text(), text(), text()
    gross = amount()
    difference = DecimalText(
        required=True, allow_none=True, metadata={"description": "More than was told; null in another currency"}
    )


class EnquirySummarySchema(Body):
    """An enquiry in a list."""

    id, reference = text(), text()
    standing = text(validate=validate.OneOf(STANDINGS))
    received_at = fields.AwareDateTime(required=True)
    contact = fields.Nested(ContactSchema, required=True)
    device, title = text(), text("Maker and model")
    procedures = fields.List(fields.String(), required=True)
    currency = text()
    told_gross = amount("What the visitor was told")
    quote = fields.String(required=True, allow_none=True, metadata={"description": "Id of the quote made of it"})
    formatted = fields.Dict(required=True, keys=fields.String())


class EnquiryPageSchema(Body):
    """A page of enquiries, the newest first; the header Link leads to the next."""

    enquiries = fields.List(fields.Nested(EnquirySummarySchema), required=True)


class EnquirySchema(Body):
    """An enquiry, with the price as the visitor was told it and what has become of it."""

    id, reference = text(), text()
    version = fields.Integer(required=True, strict=True, metadata={"description": "Counts every change; the ETag"})
    standing = text(validate=validate.OneOf(STANDINGS))
    received_at = fields.AwareDateTime(required=True)
    through, origin = text("Id of the key"), text("The site that the form stood on; blank where none was named")
    locale = text("Of the visitor")
    contact = fields.Nested(ContactSchema, required=True)
    may_be_contacted = fields.Boolean(required=True)
    noticed = text("In the visitor's own words")
    told_gross = amount("What the visitor was told")
    indication = fields.Nested(PriceSchema, required=True)
    quote = fields.Nested(QuoteOfEnquirySchema, required=True, allow_none=True)
    closed_because = fields.String(
        required=True,
        allow_none=True,
        metadata={"description": "Why it was put aside; `erased` where only the erasure of its contact closed it"},
    )
    erased_at = fields.AwareDateTime(required=True, allow_none=True)
    formatted = fields.Dict(required=True, keys=fields.String())
