"""The bodies that the API answers with, as schemas: they describe and, in tests, check. Nothing is dumped by them."""

from marshmallow import RAISE, Schema, fields

from quoter.api.http.fields import DecimalText


class Body(Schema):
    """A body whose members are all known."""

    class Meta:
        unknown = RAISE


def text(description: str = "", **options: object) -> fields.String:
    """A required text."""
    return fields.String(required=True, metadata={"description": description} if description else {}, **options)  # type: ignore[arg-type]


def amount(description: str = "") -> DecimalText:
    """A required amount as text."""
    return DecimalText(required=True, metadata={"description": description} if description else {})


class DeviceSummarySchema(Body):
    """A device in a list."""

    code, maker, model, kind = text(), text(), text(), text()
    year = fields.Integer(required=True, allow_none=True, strict=True)


class DevicePageSchema(Body):
    """A page of devices, the best match first; the header Link leads to the next."""

    devices = fields.List(fields.Nested(DeviceSummarySchema), required=True)


class PartOfferSchema(Body):
    """A part that can be chosen."""

    sku, title, grade = text(), text(), text()
    grade_title = text("What the grade is called in the language of the answer")
    lead_days = fields.Integer(required=True, strict=True)


class ProcedureOfferSchema(Body):
    """What the shop does on a device; `parts` fit its main slot, the preferred one first."""

    procedure, title = text(), text()
    slot = fields.String(required=True, allow_none=True)
    parts = fields.List(fields.Nested(PartOfferSchema), required=True)


class FindingOfferSchema(Body):
    """What may be seen on the device."""

    code, title = text(), text()
    stops = fields.Boolean(required=True)
    caution = fields.String(required=True, allow_none=True)
    caution_for_customer = fields.String(required=True, allow_none=True)


class ReachSchema(Body):
    """How the shop is reached, also about what it does not work on."""

    name, phone, email = text(), text(), text()


class DeviceSchema(DeviceSummarySchema):
    """A device with what is offered for it."""

    procedures = fields.List(fields.Nested(ProcedureOfferSchema), required=True)
    findings = fields.List(fields.Nested(FindingOfferSchema), required=True)
    shop = fields.Nested(ReachSchema, required=True)


class HealthSchema(Body):
    """The service answers."""

    status = text()


class ProblemErrorSchema(Body):
    """One thing that is wrong, where, and what would be right."""

    reason, pointer, detail = text(), text("JSON pointer (RFC 6901) into what was sent"), text()
    allowed = fields.List(fields.String())
    caution = fields.String()
    place = fields.Dict(keys=fields.String(), metadata={"description": "Of a fault in a rate book: table, row, column"})


class ProblemSchema(Body):
    """Problem details (RFC 9457)."""

    type = fields.String(required=True, metadata={"format": "uri-reference"})
    title, detail = text(), text()
    status = fields.Integer(required=True, strict=True)
    errors = fields.List(fields.Nested(ProblemErrorSchema))
    meanwhile = fields.List(
        fields.String(), metadata={"description": "What somebody else has changed, where they were quicker"}
    )
