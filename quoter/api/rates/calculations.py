"""What the owner would otherwise work out on paper; every answer shows its formulas."""

from dataclasses import asdict
from decimal import Decimal
from typing import Any

from flask import Blueprint, Response
from marshmallow import ValidationError, fields

from quoter.api.http.answers import Body
from quoter.api.rates.books import OWNER
from quoter.api.http.fields import DecimalText
from quoter.api.prices.job_schema import Strict
from quoter.api.http.operations import Answer, Operation, json_answer, loaded_body, operation
from quoter.api.prices.price_schemas import WorkingSchema
from quoter.api.http.services import services
from quoter.books.calculations import BreakEven, HourlyRate, TargetPrice, break_even, hourly_rate, price_for_margin
from quoter.books.currencies import minor_unit
from quoter.money import Currency
from quoter.quote import shown

blueprint = Blueprint("calculations", __name__)


def number(help: str, *, required: bool = True) -> DecimalText:  # noqa: A002 - what it is
    """A decimal number as text; one that need not be given is None then."""
    if required:
        return DecimalText(required=True, metadata={"description": help})
    return DecimalText(allow_none=True, load_default=None, metadata={"description": help})


def _known_currency(code: str) -> None:
    if minor_unit(code) is None:
        raise ValidationError("Not an ISO 4217 currency; three capital letters, such as EUR.")


class CalculationSchema(Strict):
    """In which currency."""

    currency = fields.String(
        load_default=None,
        validate=_known_currency,
        metadata={"description": "ISO 4217; that of the shop's first rate book if absent"},
    )


class HourlyRateSchema(CalculationSchema):
    """A year of one person at the bench."""

    yearly_wage = number("Before on-costs")
    on_costs = number("Share of the wage that comes on top of it: insurance, pension; 0.11 is 11 %")
    yearly_overheads = number("Rent, tools, energy … that this person's hours must carry")
    paid_hours = number("In a year")
    holiday_hours = number("Of these, holidays and days off")
    sick_hours = number("Of these, sick leave")
    not_chargeable = number("Share of the hours worked that no customer pays for")
    margin = number("Wanted share of the price; or give profit", required=False)
    profit = number("Wanted amount an hour; or give margin", required=False)


class PriceForMarginSchema(CalculationSchema):
    """A price for a wanted margin."""

    cost = number("What the job costs the shop")
    margin = number("Wanted share of the price")


class BreakEvenSchema(CalculationSchema):
    """A month."""

    fixed_costs = number("A month's costs that come whether or not there are jobs")
    average_net = number("Of a job, before tax")
    average_variable_cost = number("Of a job: part, consumables, paid time")


class CalculatedSchema(Body):
    """What comes out, and how."""

    result = fields.Dict(keys=fields.String(), required=True)
    working = fields.List(fields.Nested(WorkingSchema), required=True)


def _declared(id: str, path: str, summary: str, schema: CalculationSchema, example: dict[str, str]) -> Operation:  # noqa: A002
    return Operation(
        id=id,
        method="POST",
        path=f"/v1/calculations/{path}",
        summary=summary,
        description="Nothing is kept. Each step is shown with its numbers filled in.",
        scopes=OWNER,
        body={"anyOf": [schema], "example": example},
        answers={200: Answer("The result and its working", CalculatedSchema())},
        problems=(400, 404, 413, 415, 422),
    )


HOURLY_RATE = _declared(
    "calculateHourlyRate",
    "hourly-rate",
    "What an hour must be charged at",
    HourlyRateSchema(),
    {
        "yearly_wage": "36000",
        "on_costs": "0.11",
        "yearly_overheads": "20000",
        "paid_hours": "2080",
        "holiday_hours": "240",
        "sick_hours": "40",
        "not_chargeable": "0.25",
        "margin": "0.20",
    },
)
PRICE_FOR_MARGIN = _declared(
    "calculatePriceForMargin",
    "price-for-margin",
    "What something must be sold at for a margin",
    PriceForMarginSchema(),
    {"cost": "27.40", "margin": "0.20"},
)
BREAK_EVEN = _declared(
    "calculateBreakEven",
    "break-even",
    "How many jobs a month carry the shop",
    BreakEvenSchema(),
    {"fixed_costs": "5200", "average_net": "95", "average_variable_cost": "52"},
)


@operation(blueprint, HOURLY_RATE)
def calculate_hourly_rate() -> Response:
    """A loaded hourly rate."""
    inputs, currency = _inputs(HourlyRateSchema())
    return _answer(hourly_rate(**inputs, currency=currency))


@operation(blueprint, PRICE_FOR_MARGIN)
def calculate_price_for_margin() -> Response:
    """A price for a margin."""
    inputs, currency = _inputs(PriceForMarginSchema())
    return _answer(price_for_margin(**inputs, currency=currency))


@operation(blueprint, BREAK_EVEN)
def calculate_break_even() -> Response:
    """Jobs to break even."""
    inputs, currency = _inputs(BreakEvenSchema())
    return _answer(break_even(**inputs, currency=currency))


def _inputs(schema: CalculationSchema) -> tuple[dict[str, Any], Currency]:
    loaded = loaded_body(schema)
    code = loaded.pop("currency")
    if code is None:
        return loaded, services().shelf.named(None).book.currency
    return loaded, Currency(code, minor_unit(code) or 0)


def _answer(calculated: HourlyRate | TargetPrice | BreakEven) -> Response:
    result = {name: _text(value) for name, value in asdict(calculated).items() if name != "working"}
    working = [{"name": step.name, "formula": step.formula, "value": shown(step.value)} for step in calculated.working]
    return json_answer({"result": result, "working": working})


def _text(value: Decimal | int) -> str:
    return shown(value) if isinstance(value, Decimal) else str(value)
