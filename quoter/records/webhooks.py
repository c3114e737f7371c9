"""Who wants to be told what, and how far each telling is."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

ANNOUNCED = (
    "quote.issued",
    "quote.revised",
    "quote.decided",
    "quote.expired",
    "enquiry.received",
    "book.published",
)
"""Kinds of announcement."""

DELIVERY_STATES = ("waiting", "delivered", "dead")
"""Of a delivery. Dead: given up after the last attempt; it can be sent again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Webhook:
    """An address that is told about some kinds of event. `old_secret` signs as well until `old_secret_until`.

    Paused by hand or, with `paused_because`, by the service; ended for good with `ended_at`.
    """

    id: str
    address: str
    events: tuple[str, ...]
    secret: str
    created_at: str
    created_by: str
    note: str = ""
    version: int = 1
    old_secret: str | None = None
    old_secret_until: str | None = None
    paused_at: str | None = None
    paused_because: str | None = None
    ended_at: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Announcement:
    """Something that happened, to be told once to each webhook that wants its kind.

    `id` is the same at every attempt. `about` is what keeps order: everything about one thing is told in the order in
    which it happened. The body names no customer.
    """

    id: str
    kind: str
    about: str
    at: str
    body: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """An announcement on its way to a webhook; `place` is its place in the order of all."""

    place: int
    announcement: str
    webhook: str
    about: str
    state: str
    attempts: int
    next_at: str
    last_at: str | None = None
    last_status: int | None = None
    last_detail: str | None = None
