"""Who wants to be told what, and how far each telling is."""

from dataclasses import dataclass

ANNOUNCED = (
    "quote.issued",
    "quote.revised",
    "quote.decided",
    "quote.expired",
    "enquiry.received",
    "book.published",
)
"""Kinds of announcement that a webhook may want."""

TRIAL = "webhook.trial"
"""The kind of an announcement that somebody sends to see whether it arrives."""

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

    `id` is the same at every attempt, and so is `body`: the JSON document that is sent, which names no customer.
    `about` is what keeps order: everything about one thing is told in the order in which it happened.
    """

    id: str
    kind: str
    about: str
    at: str
    body: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """An announcement on its way to a webhook; `place` is its place in the order of all.

    `attempts` counts since it was last sent by hand. `kind` and `at` are those of the announcement.
    """

    place: int
    announcement: str
    webhook: str
    kind: str
    about: str
    at: str
    state: str
    attempts: int
    next_at: str
    last_at: str | None = None
    last_status: int | None = None
    last_detail: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """A delivery that one worker alone may attempt until a moment, with whom to tell and what."""

    delivery: Delivery
    webhook: Webhook
    body: str
    until: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of an attempt: the status that was answered, if any, and what to say about it.

    `wait_seconds` is how long the receiver asked to be left alone for (RFC 9110, section 10.2.3).
    """

    status: int | None = None
    detail: str = ""
    wait_seconds: int = 0

    @property
    def is_success(self) -> bool:
        """Any status of the class 2xx."""
        return self.status is not None and 200 <= self.status < 300

    @property
    def is_goodbye(self) -> bool:
        """410 Gone: the receiver wants nothing any more."""
        return self.status == 410


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How deliveries to a webhook stand: how many wait and are dead, and what the last attempt came to.

    `missed` counts those that wait after an attempt that did not arrive.
    """

    waiting: int = 0
    dead: int = 0
    missed: int = 0
    last_at: str | None = None
    last_status: int | None = None
    last_detail: str | None = None
    last_delivered_at: str | None = None

    @property
    def has_failed(self) -> bool:
        """Whether the last attempt, of whatever delivery, did not arrive."""
        return self.last_at is not None and not Outcome(status=self.last_status).is_success


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryFilter:
    """Which deliveries of a webhook to find, the newest first. `before` is the place that the last page ended with."""

    webhook: str
    limit: int
    before: int | None = None
    state: str | None = None
