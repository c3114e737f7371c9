"""A job as it travels: the one schema that the API and the command line read jobs with."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from marshmallow import RAISE, Schema, ValidationError, fields, validate

from quoter.api.http.fields import Choices, Day, DecimalText, Line, OneOf, Wrong, code
from quoter.book import RateBook
from quoter.engine import refusals
from quoter.engine.refusals import pointer
from quoter.job import CUSTOMER_KINDS, PAYMENTS, URGENCIES, Discount, Job, Repair
from quoter.problems import JobRefused, Refusal
from quoter.words.locales import canonical, known_locale

MOST_REPAIRS, MOST_FINDINGS, MOST_PARTS = 50, 100, 50
MOST_REFUSALS = 100
"""That are listed. Whoever has more has one reason for them."""


def known_tag(tag: str) -> None:
    if not known_locale(tag):
        raise ValidationError("Not a known locale; a language tag such as en-IE.")


class Strict(Schema):
    """A body in which a misspelt field is an error."""

    class Meta:
        unknown = RAISE

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        names = tuple(self.fields)
        self.error_messages["unknown"] = Wrong(f"Unknown field; the fields are {', '.join(names)}.", names)  # type: ignore[assignment]
        self.error_messages["type"] = f"Not an object; its fields are {', '.join(names)}."


class RepairSchema(Strict):
    """One wish."""

    procedure = code(required=True)
    grade = code(allow_none=True, load_default=None)
    part = code(allow_none=True, load_default=None)


class CustomerSchema(Strict):
    """Who asks, as far as the price depends on it."""

    kind = fields.String(load_default="consumer", validate=OneOf(CUSTOMER_KINDS))


class DiscountSchema(Strict):
    """A share that is taken off, and why."""

    rate = DecimalText(required=True, metadata={"description": "0.10 is 10 %"})
    reason = Line(load_default="", validate=validate.Length(max=200))


def repairs_field(**options: Any) -> fields.List[Any]:
    """What shall be done."""
    return fields.List(fields.Nested(RepairSchema), validate=validate.Length(min=1, max=MOST_REPAIRS), **options)


def parts_field(**options: Any) -> Choices:
    """Parts by slot."""
    meaning = {"description": "By slot the SKU to fit, or null for doing without"}
    return Choices(most=MOST_PARTS, metadata=meaning, **options)


def findings_field(**options: Any) -> fields.List[Any]:
    """What was seen."""
    return fields.List(code(), validate=validate.Length(max=MOST_FINDINGS), **options)


def locale_field(**options: Any) -> fields.String:
    """The customer's language."""
    meaning = {"description": "BCP 47 tag, such as en-IE"}
    return fields.String(allow_none=True, validate=known_tag, metadata=meaning, **options)


class JobSchema(Strict):
    """What is asked."""

    device = code(required=True)
    repairs = repairs_field(required=True)
    parts = parts_field(load_default=dict)
    findings = findings_field(load_default=list)
    customer = fields.Nested(CustomerSchema, load_default=lambda: {"kind": "consumer"})
    urgency = fields.String(load_default="standard", validate=OneOf(URGENCIES))
    discount = fields.Nested(DiscountSchema, allow_none=True, load_default=None)
    payment = fields.String(load_default="other", validate=OneOf(PAYMENTS))
    locale = locale_field(load_default=None)
    date = Day(allow_none=True, load_default=None, metadata={"description": "Whose tax rates count; today if absent"})


JOB = JobSchema()


def job_of(data: Any, book: RateBook, *, today: dt.date, locale: str, schema: JobSchema = JOB) -> Job:
    """The job in a JSON document; `today` and `locale` fill in what it leaves open. A larger `schema` may have more.

    Raises JobRefused where it is not of the form of a job, with what else is wrong by the book. A job that is returned
    may still be refused by the engine.
    """
    try:
        loaded = schema.load(data)
    except ValidationError as error:
        malformed = refusals_of(error.messages)[:MOST_REFUSALS]
        also = _also_refused(data, error.valid_data, malformed, book, today)  # type: ignore[arg-type]
        raise JobRefused((*malformed, *also)) from None
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
        locale=canonical(loaded["locale"] or locale),
    )


def refusals_of(messages: Any, path: tuple[str | int, ...] = ()) -> list[Refusal]:
    """marshmallow's nested messages, flat, each with its JSON pointer."""
    if isinstance(messages, Mapping):
        inner = [(() if step == "_schema" else (step,), each) for step, each in messages.items()]
        return [refusal for step, each in inner for refusal in refusals_of(each, path + step)]
    at = pointer(*path)
    return [
        Refusal("invalid-value", at, str(message), message.allowed if isinstance(message, Wrong) else ())
        for message in messages
    ]


def _also_refused(
    data: Any, loaded: Mapping[str, Any], malformed: list[Refusal], book: RateBook, today: dt.date
) -> list[Refusal]:
    """What the book says of the fields that are in form, so that nobody has to ask twice."""
    if not isinstance(data, Mapping):
        return []
    places = [refusal.pointer for refusal in malformed]
    return [
        refusal
        for refusal in refusals.refusals_of(_readable(data, loaded, today), book)
        if not any(_overlap(refusal.pointer, place) for place in places)
    ]


def _overlap(one: str, other: str) -> bool:
    return f"{one}/".startswith(f"{other}/") or f"{other}/".startswith(f"{one}/")


def _readable(data: Mapping[str, Any], loaded: Mapping[str, Any], today: dt.date) -> Job:
    """What can be read of a malformed job, each at its place, with nothing in the place of the rest."""
    repairs = [each if isinstance(each, Mapping) else {} for each in _items(data, "repairs", list)[:MOST_REPAIRS]]
    parts = list(_items(data, "parts", dict).items())[:MOST_PARTS]
    rate = (loaded.get("discount") or {}).get("rate")
    return Job(
        device=_text(data.get("device")),
        repairs=tuple(
            Repair(_text(each.get("procedure")), _text(each.get("grade")) or None, _text(each.get("part")) or None)
            for each in repairs
        ),
        date=loaded.get("date") or today,
        parts={slot: _text(sku) or None for slot, sku in parts},
        findings=tuple(_text(each) for each in _items(data, "findings", list)[:MOST_FINDINGS]),
        customer_kind=CUSTOMER_KINDS[0],
        urgency=URGENCIES[0],
        discount=None if rate is None else Discount(rate, ""),
        payment=PAYMENTS[0],
        locale="",
    )


def _items(data: Mapping[str, Any], name: str, kind: type[Any]) -> Any:
    value = data.get(name)
    return value if isinstance(value, kind) else kind()


def _text(value: Any) -> str:
    return value if isinstance(value, str) else ""
