"""What is sent and answered about webhooks."""

from marshmallow import fields, validate

from quoter.api.http.answers import Body, text
from quoter.api.http.fields import Line, OneOf, Truth
from quoter.api.http.paging import PageQuery
from quoter.api.prices.job_schema import Strict
from quoter.records.webhooks import ANNOUNCED, DELIVERY_STATES, TRIAL
from quoter.service.webhooks.addresses import LONGEST_ADDRESS

LONGEST_NOTE = 200
MOST_OVERLAP_HOURS = 7 * 24
HEALTH = {
    "healthy": "everything that was attempted has arrived",
    "incomplete": "the last attempt arrived, but something has not: it waits for its next attempt, or is dead",
    "failing": "the last attempt did not arrive, whatever waits or is dead",
    "paused": "nothing is sent",
}
"""What each state means; paused counts before all others."""


def events_field(*, required: bool) -> fields.List[str]:
    """Kinds of announcement."""
    return fields.List(
        fields.String(validate=OneOf(ANNOUNCED)),
        required=required,
        validate=validate.Length(min=1, max=len(ANNOUNCED)),
        metadata={"description": "Kinds of announcement that are wanted"},
    )


def note_field() -> Line:
    """What the owner writes about it."""
    return Line(validate=validate.Length(max=LONGEST_NOTE), metadata={"description": "What it is for"})


class RegisterWebhookSchema(Strict):
    """An address, and what it wants to be told."""

    address = Line(
        required=True,
        validate=validate.Length(min=1, max=LONGEST_ADDRESS),
        metadata={"description": "https; http only within networks that the settings name"},
    )
    events = events_field(required=True)
    note = note_field()


class ChangeWebhookSchema(Strict):
    """What shall be otherwise; what is absent stays."""

    events = events_field(required=False)
    note = note_field()
    paused = Truth(metadata={"description": "While it is paused, announcements wait"})


class RotateSecretSchema(Strict):
    """For how long the old secret signs as well."""

    overlap_hours = fields.Integer(
        load_default=24,
        strict=True,
        validate=validate.Range(0, MOST_OVERLAP_HOURS),
        metadata={"description": "Hours for which the old secret signs as well; 0 ends it at once"},
    )


class DeliveriesQuery(PageQuery):
    """Which deliveries."""

    state = fields.String(
        load_default=None, validate=OneOf(DELIVERY_STATES), metadata={"description": "What has become of them"}
    )


class AttemptSchema(Body):
    """What the last attempt came to."""

    at = text()
    status = fields.Integer(required=True, allow_none=True, strict=True)
    detail = text("Empty where it arrived")


class WebhookSchema(Body):
    """A webhook and how deliveries to it stand; never its secret."""

    id, address = text(), text()
    events = fields.List(fields.String(validate=OneOf(ANNOUNCED)), required=True)
    note, created_at, created_by = text(), text(), text()
    version = fields.Integer(required=True, strict=True)
    health = text("; ".join(f"{state}: {meaning}" for state, meaning in HEALTH.items()), validate=OneOf(tuple(HEALTH)))
    paused_at = fields.String(required=True, allow_none=True)
    paused_because = fields.String(
        required=True, allow_none=True, metadata={"description": "Null where somebody paused it by hand"}
    )
    old_secret_until = fields.String(
        required=True, allow_none=True, metadata={"description": "Until then the secret before signs as well"}
    )
    waiting = fields.Integer(required=True, strict=True)
    dead = fields.Integer(required=True, strict=True)
    last_delivered_at = fields.String(required=True, allow_none=True)
    last_attempt = fields.Nested(AttemptSchema, required=True, allow_none=True)


class WebhookWithSecretSchema(WebhookSchema):
    """A webhook with its secret, which is shown this once."""

    secret = text("`whsec_` and 32 bytes in base64")


class WebhookListSchema(Body):
    """Every webhook that has not ended, the oldest first."""

    webhooks = fields.List(fields.Nested(WebhookSchema), required=True)


class DeliverySchema(Body):
    """An announcement on its way to a webhook."""

    place = fields.Integer(required=True, strict=True)
    id = text("The header webhook-id: the same at every attempt")
    webhook = text("Id of the webhook")
    kind = text(validate=OneOf((*ANNOUNCED, TRIAL)))
    about = text("Path of what it is about")
    at = text("When it happened")
    state = text(validate=OneOf(DELIVERY_STATES))
    attempts = fields.Integer(required=True, strict=True, metadata={"description": "Since it was last sent by hand"})
    next_at = fields.String(required=True, allow_none=True, metadata={"description": "Null unless it waits"})
    last_attempt = fields.Nested(AttemptSchema, required=True, allow_none=True)


class DeliveryPageSchema(Body):
    """A page of deliveries, the newest first; the header Link leads to the next."""

    deliveries = fields.List(fields.Nested(DeliverySchema), required=True)


class SentAgainSchema(Body):
    """How many are sent again."""

    deliveries = fields.Integer(required=True, strict=True)
