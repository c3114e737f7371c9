"""Fields that marshmallow does not have, or has too lenient for money."""

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError, fields, validate

from quoter.records.customers import is_phone
from quoter.records.quotes import TURNING

MOST_CHARACTERS = 64


@dataclass(frozen=True, slots=True)
class Wrong:
    """What is wrong with a value, and what would be right. marshmallow carries it as it carries a text."""

    detail: str
    allowed: tuple[str, ...]

    def __str__(self) -> str:
        return self.detail


class OneOf(validate.OneOf):
    """One of a few words; an error gives them also one by one."""

    def __call__(self, value: Any) -> Any:
        try:
            return super().__call__(value)
        except ValidationError as error:
            raise ValidationError([Wrong(str(error), tuple(map(str, self.choices)))]) from None


class Choices(fields.Dict):
    """By code a code or null, at most so many. Errors stand at the key; marshmallow's own nest what is wrong there."""

    def __init__(self, *, most: int, **options: Any) -> None:
        self.most, length = most, validate.Length(min=1, max=MOST_CHARACTERS)
        super().__init__(
            keys=fields.String(validate=length), values=fields.String(allow_none=True, validate=length), **options
        )

    def _deserialize(self, *arguments: Any, **options: Any) -> Any:
        try:
            loaded = super()._deserialize(*arguments, **options)  # type: ignore[no-untyped-call]
        except ValidationError as error:
            if not isinstance(error.messages, dict):
                raise
            by_key = {key: [each for told in by.values() for each in told] for key, by in error.messages.items()}
            raise ValidationError(by_key) from None
        if len(loaded) > self.most:
            raise ValidationError(f"More than {self.most} are too many.")
        return loaded


class DecimalText(fields.Field[Decimal]):
    """A decimal number as text: "0.10". A JSON number has been a binary float already and is refused."""

    PATTERN = r"^-?(0|[1-9][0-9]{0,11})(\.[0-9]{1,10})?$"
    default_error_messages = {"invalid": 'Not a decimal number as text, such as "0.10".'}  # noqa: RUF012

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Decimal:
        if not isinstance(value, str) or not re.fullmatch(self.PATTERN[1:-1], value, re.ASCII):
            raise self.make_error("invalid")
        return Decimal(value)

    def _serialize(self, value: Decimal | None, attr: str | None, obj: Any, **kwargs: Any) -> str | None:
        return None if value is None else format(value, "f")


class Day(fields.Date):
    """A calendar day, YYYY-MM-DD and nothing else (marshmallow takes every ISO 8601 form)."""

    PATTERN = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"
    default_error_messages = {"invalid": "Not a day, YYYY-MM-DD."}  # noqa: RUF012

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str) or not re.fullmatch(self.PATTERN[1:-1], value, re.ASCII):
            raise self.make_error("invalid", input=value, obj_type=self.OBJ_TYPE)
        return super()._deserialize(value, attr, data, **kwargs)


class Moment(fields.AwareDateTime):
    """A moment as RFC 3339 section 5.6 writes it, and no other form of ISO 8601."""

    PATTERN = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt][0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,9})?([Zz]|[+-][0-9]{2}:[0-9]{2})$"
    default_error_messages = {"invalid": "Not a moment such as 2026-11-25T10:00:00Z (RFC 3339)."}  # noqa: RUF012

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, str) or not re.fullmatch(self.PATTERN[1:-1], value, re.ASCII):
            raise self.make_error("invalid", input=value, obj_type=self.OBJ_TYPE)
        return super()._deserialize(value.upper(), attr, data, **kwargs)


class Truth(fields.Boolean):
    """true or false, and nothing that equals them: marshmallow takes words for them, and 0 and 1."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> bool:
        if not isinstance(value, bool):
            raise self.make_error("invalid", input=value)
        return value


class WholeNumber(fields.Integer):
    """A whole number in a query: its digits and nothing else (marshmallow takes 1_0, blanks and other scripts)."""

    DIGITS = "-?(0|[1-9][0-9]{0,17})"
    default_error_messages = {"invalid": "Not a whole number of up to 18 digits."}  # noqa: RUF012

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, str) and not re.fullmatch(self.DIGITS, value, re.ASCII):
            raise self.make_error("invalid", input=value)
        return super()._deserialize(value, attr, data, **kwargs)


class Line(fields.String):
    """A text of one line: nothing that moves a cursor, ends a text, or turns what follows around."""

    PATTERN = r"^[^\u0000-\u001f\u007f-\u009f\u2028\u2029]*$"
    default_error_messages = {"signs": "Not a text of one line."}  # noqa: RUF012

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        if not re.fullmatch(self.PATTERN[1:-1], text) or any(sign in TURNING for sign in text):
            raise self.make_error("signs")
        return text


class Lines(Line):
    """A text of some lines: no control character but the ends of lines and tabs."""

    PATTERN = r"^[^\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f]*$"
    default_error_messages = {"signs": "Not a text: it has control characters."}  # noqa: RUF012


class Mailbox(Line):
    """An address of electronic mail, or nothing. Whether it exists only a message can tell."""

    PATTERN = r"^([^\u0000-\u0020\u007f@]+@[^\u0000-\u0020\u007f@]+)?$"
    default_error_messages = {"signs": "Not an address such as name@example.org."}  # noqa: RUF012

    def _deserialize(self, *arguments: Any, **options: Any) -> Any:
        text = super()._deserialize(*arguments, **options)
        if not text.isprintable():  # signs that nobody sees
            raise self.make_error("signs")
        return text


class Phone(Line):
    """A number at which somebody is called, or nothing. What it is made of is a rule of the shop, not a pattern."""

    default_error_messages = {"number": "Not a phone number of digits, such as +353 1 555 0100."}  # noqa: RUF012

    def _deserialize(self, *arguments: Any, **options: Any) -> Any:
        text = super()._deserialize(*arguments, **options)
        if text.strip() and not is_phone(text):
            raise self.make_error("number")
        return text


def code(*, required: bool = False, **options: Any) -> fields.String:
    """A code of the rate book."""
    options.setdefault("metadata", {"description": "A code of the rate book"})
    return fields.String(required=required, validate=validate.Length(min=1, max=MOST_CHARACTERS), **options)


def described_type(field: fields.Field[Any], **_: Any) -> dict[str, Any]:
    """How the description of the API types the fields of this module."""
    kind: Any = ["string", "null"] if field.allow_none else "string"
    if isinstance(field, DecimalText):
        return {"type": kind, "format": "decimal", "pattern": field.PATTERN, "examples": ["0.10"]}
    if isinstance(field, Day):
        return {"type": kind, "format": "date", "pattern": field.PATTERN}
    if isinstance(field, Moment):
        return {"type": kind, "format": "date-time", "pattern": field.PATTERN}
    if isinstance(field, Line):
        return {"type": kind, "pattern": field.PATTERN}
    if isinstance(field, Choices):
        return {"maxProperties": field.most, "propertyNames": {"minLength": 1, "maxLength": MOST_CHARACTERS}}
    return {}
