"""The price list as JSON."""

from marshmallow import fields

from quoter.api.http.answers import Body, text
from quoter.api.http.fields import Day, DecimalText


def _amount(description: str) -> DecimalText:
    """An amount that is null where there is no price."""
    return DecimalText(required=True, allow_none=True, metadata={"description": description})


class ListBookSchema(Body):
    """The rate book that the prices are from; the digest changes with whatever it says."""

    code, digest = text(), text("SHA-256")


class TaxRatesSchema(Body):
    """The days on which the tax rates of this list count, as far as they are known."""

    since = Day(required=True, allow_none=True)
    until = Day(required=True, allow_none=True)


class ListRefusalSchema(Body):
    """Why an entry has no price."""

    reason, detail = text("A type of problem"), text()


class ListFormattedSchema(Body):
    """An entry for people."""

    price, tax, lead_time = text(), text("How much tax is in it or comes on top; may be blank"), text()


class ListEntrySchema(Body):
    """A repair alone, for a consumer, without findings."""

    device, maker, model, kind = text(), text(), text(), text()
    procedure, procedure_title = text(), text()
    grade = fields.String(required=True, allow_none=True)
    grade_title = fields.String(required=True, allow_none=True)
    price = _amount("As consumers are shown it: with or without tax, as `display` says")
    net, tax, gross = _amount("Before tax"), _amount("The tax"), _amount("With tax")
    lead_days = fields.Integer(required=True, allow_none=True, strict=True)
    refused = fields.Nested(ListRefusalSchema, required=True, allow_none=True)
    formatted = fields.Nested(ListFormattedSchema, required=True, allow_none=True)


class PriceListSchema(Body):
    """The price list or a page of it. `count` is how many entries there are on all pages."""

    book = fields.Nested(ListBookSchema, required=True)
    shop, currency, locale, direction = text(), text("ISO 4217"), text("BCP 47"), text("ltr or rtl")
    display = text("inclusive or exclusive of tax for consumers")
    tax_rates = fields.Nested(TaxRatesSchema, required=True)
    count = fields.Integer(required=True, strict=True)
    entries = fields.List(fields.Nested(ListEntrySchema), required=True)
