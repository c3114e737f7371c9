"""A service that announces, with what delivers driven by hand, or by its threads, and a clock that is set."""

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from ipaddress import ip_network
from pathlib import Path
from typing import Any

from quoter.api.http.services import services_of
from quoter.api.prices.job_schema import job_of
from quoter.app import create_app
from quoter.background.deliveries import Deliverer
from quoter.background.resolving import resolved
from quoter.background.sending import Sender
from quoter.config import Settings
from quoter.records.access import StoredKey
from quoter.records.quotes import Contact, IssuedQuote
from quoter.records.webhooks import ANNOUNCED, Delivery, DeliveryFilter, Webhook
from quoter.service.clock import utc_now
from quoter.service.webhooks.addresses import Resolve
from quoter.store.database import Store

BALLYQUARN = Path(__file__).parents[2] / "rates" / "ballyquarn"
LOOPBACK = (ip_network("127.0.0.0/8"),)
DESK = StoredKey(id="d", name="desk", scope="desk", sees_economics=False, secret_sha256="", created_at="")
JOB = {"device": "kessoway-5", "repairs": [{"procedure": "battery", "grade": "genuine"}]}
EVEN = 0.5
"""Chance that makes a pause just as long as it is listed."""


class Shop:
    """The use cases over a database, and one that delivers: its attempts are patient, its chance is even."""

    def __init__(self, database: Path, *, resolve: Resolve = resolved, networks: Any = LOOPBACK) -> None:
        self.now = utc_now()
        self.store = Store(database)
        settings = Settings(books=(BALLYQUARN,), webhook_networks=networks)
        self.use = services_of(create_app(settings, store=self.store, now=self.clock, resolve=resolve))
        self.deliverer = self.another(seconds_to_connect=60.0, seconds_in_all=60.0)

    def another(self, **sending: Any) -> Deliverer:
        """Somebody else who delivers from the same database."""
        sender = Sender(self.use.webhooks.addresses, **sending)
        return Deliverer(self.use.webhooks.deliveries, self.use.announcing, sender, self.clock, lambda: EVEN)

    def clock(self) -> dt.datetime:
        """Stands where it is set."""
        return self.now

    def forward(self, **difference: float) -> None:
        """Later by so many days, hours, …"""
        self.now += dt.timedelta(**difference)

    def webhook(self, address: str, events: tuple[str, ...] = ANNOUNCED) -> Webhook:
        """A new one, registered a moment ago."""
        made = self.use.webhooks.register(address, events, "", "the owner")
        self.forward(microseconds=1)
        return made

    def quote(self, contact: Contact = Contact()) -> IssuedQuote:  # noqa: B008 - it never changes
        """A quote that is issued now."""
        published = self.use.shelf.named("ballyquarn")
        today = self.use.quoting.today(published.book)
        job = job_of(JOB, published.book, today=today, locale="en-IE")
        return self.use.quoting.issue(job, published, DESK, contact=contact)

    def revised(self, seen: IssuedQuote, urgency: str = "express") -> IssuedQuote:
        """The quote in another hurry."""
        published = self.use.shelf.named("ballyquarn")
        today = self.use.quoting.today(published.book)
        job = job_of(JOB | {"urgency": urgency}, published.book, today=today, locale="en-IE")
        return self.use.quoting.revise(seen, job, published, DESK, reason="in a hurry", told=())

    def trial(self, webhook: Webhook) -> Delivery:
        """Something that says nothing."""
        return self.use.webhooks.try_out(webhook)

    def delivered(self, most: int = 100) -> int:
        """Attempts everything that is due; how many attempts that were."""
        return next(number for number in range(most) if not self.deliverer.deliver_next())

    def deliveries(self, webhook: Webhook, state: str | None = None) -> list[Delivery]:
        """To a webhook, the oldest first."""
        found = self.use.webhooks.find(DeliveryFilter(webhook=webhook.id, limit=1000, state=state))
        return found[::-1]

    def only(self, webhook: Webhook) -> Delivery:
        """The one delivery to a webhook."""
        (found,) = self.deliveries(webhook)
        return found

    def set_sender(self, **changed: Any) -> None:
        """Another way of sending."""
        self.deliverer = replace(self.deliverer, sender=replace(self.deliverer.sender, **changed))


@contextmanager
def a_shop(folder: Path, **options: Any) -> Iterator[Shop]:
    """A shop whose webhooks may lead to this machine."""
    shop = Shop(folder / "quoter.db", **options)
    try:
        yield shop
    finally:
        shop.store.close()
