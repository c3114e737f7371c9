"""A job as it travels: the one schema that the API and the command line read jobs with."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from marshmallow import RAISE, Schema, ValidationError, fields, validate

from quoter.api.fields import MOST_CHARACTERS, Day, DecimalText, code
from quoter.engine.refusals import pointer
from quoter.job import CUSTOMER_KINDS, PAYMENTS, URGENCIES, Discount, Job, Repair
from quoter.problems import JobRefused, Refusal
from quoter.words.locales import known_locale

MOST_REPAIRS, MOST_FINDINGS, MOST_PARTS = 50, 100, 50


def _known(tag: str) -> None:
    if not known_locale(tag):
        raise ValidationError("Not a known locale; a language tag such as en-IE.")


class Strict(Schema):
    """A body in which a misspelt field is an error."""

    class Meta:
        unknown = RAISE

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.error_messages["unknown"] = f"Unknown field; the fields are {', '.join(self.fields)}."


class RepairSchema(Strict):
    """One wish."""

    procedure = code(required=True)
    grade = code(allow_none=True, load_default=None)
    part = code(allow_none=True, load_default=None)


class CustomerSchema(Strict):
    """Who asks, as far as the price depends on it."""

    kind = fields.String(load_default="consumer", validate=validate.OneOf(CUSTOMER_KINDS))


class DiscountSchema(Strict):
    """A share that is taken off, and why."""

    rate = DecimalText(required=True, metadata={"description": "0.10 is 10 %"})
    reason = fields.String(load_default="", validate=validate.Length(max=200))


class JobSchema(Strict):
    """What is asked."""

    device = code(required=True)
    repairs = fields.List(fields.Nested(RepairSchema), required=True, validate=validate.Length(min=1, max=MOST_REPAIRS))
    parts = fields.Dict(
        keys=fields.String(validate=validate.Length(min=1, max=MOST_CHARACTERS)),
        values=fields.String(allow_none=True, validate=validate.Length(min=1, max=MOST_CHARACTERS)),
        load_default=dict,
        validate=validate.Length(max=MOST_PARTS),
        metadata={"description": "By slot the SKU to fit, or null for doing without"},
    )
    findings = fields.List(code(), load_default=list, validate=validate.Length(max=MOST_FINDINGS))
    customer = fields.Nested(CustomerSchema, load_default=lambda: {"kind": "consumer"})
    urgency = fields.String(load_default="standard", validate=validate.OneOf(URGENCIES))
    discount = fields.Nested(DiscountSchema, allow_none=True, load_default=None)
    payment = fields.String(load_default="other", validate=validate.OneOf(PAYMENTS))
    locale = fields.String(
        allow_none=True, load_default=None, validate=_known, metadata={"description": "BCP 47 tag, such as en-IE"}
    )
    date = Day(allow_none=True, load_default=None, metadata={"description": "Whose tax rates count; today if absent"})


JOB = JobSchema()


def job_of(data: Any, *, today: dt.date, locale: str) -> Job:
    """The job in a JSON document; `today` and `locale` fill in what it leaves open. Raises JobRefused."""
    try:
        loaded = JOB.load(data)
    except ValidationError as error:
        raise JobRefused(tuple(refusals_of(error.messages))) from None
    discount = loaded["discount"]
    return Job(
        device=loaded["device"],
        repairs=tuple(Repair(**repair) for repair in loaded["repairs"]),
        date=loaded["date"] or today,
        parts=loaded["parts"],
        findings=tuple(loaded["findings"]),
        customer_kind=loaded["customer"]["kind"],
        urgency=loaded["urgency"],
        discount=Discount(**discount) if discount else None,
        payment=loaded["payment"],
        locale=loaded["locale"] or locale,
    )


def refusals_of(messages: Any, path: tuple[str | int, ...] = ()) -> list[Refusal]:
    """marshmallow's nested messages, flat, each with its JSON pointer."""
    if isinstance(messages, Mapping):
        # A list field of mappings nests {index: {...}}, a mapping field {key: {"value": [...]}}.
        inner = [(() if step in ("_schema", "value", "key") else (step,), each) for step, each in messages.items()]
        return [refusal for step, each in inner for refusal in refusals_of(each, path + step)]
    return [Refusal("invalid-value", pointer(*path), str(message)) for message in messages]
