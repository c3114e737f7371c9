"""Fields that marshmallow does not have, or has too lenient for money."""

import re
from decimal import Decimal
from typing import Any

from marshmallow import fields, validate

MOST_CHARACTERS = 64


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


def code(*, required: bool = False, **options: Any) -> fields.String:
    """A code of the rate book."""
    options.setdefault("metadata", {"description": "A code of the rate book"})
    return fields.String(required=required, validate=validate.Length(min=1, max=MOST_CHARACTERS), **options)


def described_type(field: fields.Field[Any], **_: Any) -> dict[str, Any]:
    """How the description of the API types the fields of this module."""
    if isinstance(field, DecimalText):
        kind: Any = ["string", "null"] if field.allow_none else "string"
        return {"type": kind, "format": "decimal", "pattern": field.PATTERN, "examples": ["0.10"]}
    if isinstance(field, Day):
        return {"type": "string", "format": "date", "pattern": field.PATTERN}
    return {}
