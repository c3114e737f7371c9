"""A priced job as the API answers with it, as schemas."""

from marshmallow import fields, validate

from quoter.api.http.answers import Body, amount, text
from quoter.api.http.fields import DecimalText
from quoter.api.prices.job_schema import JobSchema
from quoter.books.tables import CONDITIONS
from quoter.law import CONSENT_WAYS, LABELS, NOTICE_CODES
from quoter.quote import LINE_KINDS


class CellSchema(Body):
    """A cell that a number came from."""

    table, row, column, value = text(), text(), text(), text()


class WorkingSchema(Body):
    """One calculation."""

    name = text()
    formula = text(
        "With its numbers filled in; round() is to the currency's minor unit, up() to the next whole number, root() "
        "the square root, quantile() that of the standard normal distribution"
    )
    value = text()


class DerivationSchema(Body):
    """How a line came about."""

    rule = text("The line's kind")
    inputs = fields.List(fields.Nested(CellSchema), required=True)
    working = fields.List(fields.Nested(WorkingSchema), required=True)


class LineSchema(Body):
    """A priced row."""

    kind = text(validate=validate.OneOf(LINE_KINDS))
    ref = text("SKU, consumable, procedure, finding or tax code that the line is for")
    description = text("In the locale of the document")
    quantity, unit, unit_price = amount(), text(), amount("Net, to 6 decimals; unrounded figures are in `because`")
    net = amount()
    tax_code = text()
    because = fields.Nested(
        DerivationSchema,
        metadata={"description": "For staff; where it starts from what the shop pays, for keys that see economics"},
    )


class TaxRowSchema(Body):
    """Tax of one component."""

    code = fields.String(required=True, allow_none=True)
    name = text()
    rate = DecimalText(required=True, allow_none=True)
    taxable, tax = amount(), amount()


class TotalsSchema(Body):
    """Before tax, tax, after tax, in cash."""

    net, tax, gross, cash = amount(), amount(), amount(), amount("Rounded to what coins allow")


class TimeSchema(Body):
    """Minutes."""

    expected_minutes, quoted_minutes = amount("The mean"), amount("The promise at the book's confidence")
    dwell_minutes, elapsed_minutes = amount("Waiting"), amount("From start to end")


class StepSchema(Body):
    """A step of the plan, in working order."""

    step, title, repair = text(), text(), text("The procedure that the step belongs to")
    expected_minutes, quoted_minutes, dwell_minutes = amount(), amount(), amount()
    caution = fields.String(required=True, allow_none=True)
    tools = fields.List(fields.String(), metadata={"description": "What the bench lays out for it"})


class ConsumptionSchema(Body):
    """How much of a consumable the plan takes, in its unit."""

    consumable, title, unit = text(), text(), text()
    needed, billed = amount("Waste included"), amount("In the increments that are billed")


class FittedPartSchema(Body):
    """A part that the plan fits."""

    sku, title, slot, grade = text(), text(), text(), text()
    condition = fields.String(
        required=True, allow_none=True, validate=validate.OneOf(CONDITIONS), metadata={"description": "null: not said"}
    )
    quantity = amount()


class PieceSchema(Body):
    """Strips of one length."""

    step, basis = text(), text("What they are laid along: long_sides, short_sides, corners; each and area: one strip")
    count = fields.Integer(required=True, strict=True)
    length_mm = amount("Of each, rounded up to 0.1 mm, before waste")


class CutSchema(Body):
    """What is cut to length from one consumable."""

    consumable, title = text(), text()
    width_mm = DecimalText(required=True, allow_none=True)
    pieces = fields.List(fields.Nested(PieceSchema), required=True)


class TermSchema(Body):
    """A warranty term."""

    code, title = text(), text()
    days = fields.Integer(required=True, strict=True)
    covers, excludes = fields.List(fields.String(), required=True), fields.List(fields.String(), required=True)


class WarrantySchema(Body):
    """What a repair is warranted for."""

    procedure = text()
    terms = fields.List(fields.Nested(TermSchema), required=True)


class CautionSchema(Body):
    """A warning, and who says so."""

    code, text, source = text(), text("In words for the bench"), text()
    customer = fields.String(metadata={"description": "The same in words for the customer"})


class OutcomeSchema(Body):
    """What a changed job would cost, or why it is refused."""

    gross, difference = DecimalText(), DecimalText()
    refused = fields.String()


class ContingencySchema(OutcomeSchema):
    """The price if the bench comes upon a finding."""

    finding = text()


class AlternativeSchema(OutcomeSchema):
    """The price with another grade."""

    procedure, grade = text(), text()


class EconomicsSchema(Body):
    """For keys that may see it."""

    cost, floor = amount(), amount("Below this net the owner alone may issue")
    margin = DecimalText(required=True, allow_none=True)
    below_floor = fields.Boolean(required=True)


class BookSchema(Body):
    """Which rates."""

    code = text()
    version = fields.Integer(required=True, strict=True)
    digest = text("SHA-256 of what the book says")


class ShopSchema(Body):
    """Who quotes."""

    name, address, email, phone, tax_number = text(), text(), text(), text(), text()
    contact = fields.String(metadata={"description": "Another quick way to reach the shop"})
    handover = fields.String(metadata={"description": "Where a device is handed over; blank: at the address"})
    loan_device = fields.String(metadata={"description": "Whether a device is lent meanwhile, and for how much"})
    timezone = text("IANA name")


class ExcessSchema(Body):
    """How much more than the accepted amount needs no new consent."""

    share = amount("Of the accepted amount")
    of = text("Of which amount: with tax or without", validate=validate.OneOf(("gross", "net")))
    starts_at = fields.Boolean(
        required=True,
        data_key="from",
        metadata={"description": "true: consent is needed from that share on; false: only above it"},
    )


class ConsentRuleSchema(Body):
    """How consent to more than was accepted may be given."""

    how = fields.List(fields.String(validate=validate.OneOf(CONSENT_WAYS)), required=True)
    number = fields.Boolean(
        required=True, metadata={"description": "Whether the number or address that was used must be recorded"}
    )


class NoticeSchema(Body):
    """What the law wants the customer of this job to be told."""

    code = text(validate=validate.OneOf(NOTICE_CODES))
    must_be_told = fields.Boolean(
        required=True, metadata={"description": "Whether the quote is issued only once the customer has been told"}
    )
    texts = fields.Dict(
        required=True,
        keys=fields.String(),
        values=fields.String(),
        metadata={"description": "By language, of which English or the book's own is always there"},
    )


class LawSchema(Body):
    """What the law of the shop's place wants a quote to say, as its profile has it."""

    code, title = text(), text()
    reviewed = text("By whom and when; blank: the texts are templates that no adviser has reviewed")
    label = text("Whether it binds", validate=validate.OneOf(LABELS))
    tax_in_price = fields.Boolean(
        required=True, metadata={"description": "Whether consumers are shown prices with tax"}
    )
    excess = fields.Nested(ExcessSchema, required=True)
    validity_days = fields.Integer(
        required=True, strict=True, metadata={"description": "How long a quote must hold at least; 0: no rule"}
    )
    consent = fields.Nested(ConsentRuleSchema, required=True)
    notices = fields.List(
        fields.Nested(NoticeSchema), required=True, metadata={"description": "Those that are about this job"}
    )


class PriceSchema(Body):
    """A priced job. `formatted` holds every figure as text in the locale, in the same shape."""

    currency, locale, display = text("ISO 4217"), text("BCP 47"), text("inclusive or exclusive of tax for consumers")
    book = fields.Nested(BookSchema, required=True)
    job = fields.Nested(JobSchema, required=True)
    lines = fields.List(fields.Nested(LineSchema), required=True)
    tax = fields.List(fields.Nested(TaxRowSchema), required=True)
    tax_reason = fields.String(required=True, allow_none=True)
    totals = fields.Nested(TotalsSchema, required=True)
    deposit = amount("Asked for in advance, of the gross")
    time = fields.Nested(TimeSchema, required=True)
    lead_days = fields.Integer(required=True, strict=True, metadata={"description": "Until all parts are here"})
    plan = fields.List(fields.Nested(StepSchema), metadata={"description": "For staff"})
    consumption = fields.List(fields.Nested(ConsumptionSchema), metadata={"description": "For staff"})
    parts = fields.List(fields.Nested(FittedPartSchema), metadata={"description": "For staff"})
    cuts = fields.List(fields.Nested(CutSchema), metadata={"description": "For staff: strips of what is sold by the m"})
    warranty = fields.List(fields.Nested(WarrantySchema), required=True)
    cautions = fields.List(fields.Nested(CautionSchema), required=True)
    contingencies = fields.List(fields.Nested(ContingencySchema), required=True)
    ceiling = fields.Nested(OutcomeSchema, required=True)
    alternatives = fields.List(fields.Nested(AlternativeSchema), required=True)
    economics = fields.Nested(EconomicsSchema)
    needs_owner = fields.List(
        fields.String(), metadata={"description": "For staff: why only the owner's key may issue it; empty if any may"}
    )
    valid_until = fields.Date(required=True)
    shop = fields.Nested(ShopSchema, required=True)
    law = fields.Nested(
        LawSchema, allow_none=True, metadata={"description": "null where the rate book names no law profile"}
    )
    formatted = fields.Dict(required=True, keys=fields.String())
