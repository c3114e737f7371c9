"""The one place where the parts meet."""

import time
from collections.abc import Callable
from functools import partial
from typing import Any

from flask import Flask, Response

from quoter.api.customers import customers
from quoter.api.description import docs
from quoter.api.enquiries import enquiries
from quoter.api.http import auth, cors, health, limits, measures, problems, request_log
from quoter.api.http.services import Services
from quoter.api.prices import devices, price_list, prices
from quoter.api.quotes import decisions, documents, quotes, revisions
from quoter.api.quotes.quoted import PUBLIC_ADDRESS
from quoter.api.rates import books, calculations, drafts, effects, sheets
from quoter.api.webhooks import webhooks
from quoter.background.deliveries import Deliverer
from quoter.background.effects import Background
from quoter.background.resolving import resolved
from quoter.background.retention import Retention
from quoter.background.sending import Sender
from quoter.config import Settings
from quoter.pages import (
    asking,
    customer,
    demo_site,
    desk,
    desk_enquiries,
    desk_quote,
    desk_quotes,
    form_script,
    frame,
    owner,
    owner_webhooks,
    signing_in,
)
from quoter.service.access.keys import Keyring
from quoter.service.access.limits import Ticks
from quoter.service.access.limits import limits as limits_of
from quoter.service.access.sessions import SignIn
from quoter.service.clock import Clock, utc_now
from quoter.service.customers import Customers
from quoter.service.enquiries.enquiring import Enquiring, EnquiryLimits
from quoter.service.quotes.quoting import Quoting
from quoter.service.rates.effects import Effects
from quoter.service.rates.price_lists import PriceLists
from quoter.service.rates.rates import Rates
from quoter.service.rates.shelf import Shelf
from quoter.service.replies import Replies
from quoter.service.webhooks.addresses import Addresses, Resolve
from quoter.service.webhooks.announcing import Announcing
from quoter.service.webhooks.webhooks import Webhooks
from quoter.store.announcements import Expiries, Outbox
from quoter.store.books import Books
from quoter.store.customers import Customers as CustomerRecords
from quoter.store.database import Store, open_store
from quoter.store.deliveries import Deliveries
from quoter.store.effects import EffectRuns
from quoter.store.enquiries import Enquiries
from quoter.store.keys import Keys
from quoter.store.quotes import Quotes
from quoter.store.replies import Replies as KeptReplies
from quoter.store.sessions import Sessions
from quoter.store.shared_secrets import Secrets
from quoter.store.state import store_state
from quoter.store.webhooks import KeptWebhooks

BLUEPRINTS = (
    prices.blueprint,
    price_list.blueprint,
    quotes.blueprint,
    enquiries.blueprint,
    documents.blueprint,
    revisions.blueprint,
    decisions.blueprint,
    devices.blueprint,
    books.blueprint,
    drafts.blueprint,
    sheets.blueprint,
    effects.blueprint,
    calculations.blueprint,
    customers.blueprint,
    webhooks.blueprint,
    frame.blueprint,
    form_script.blueprint,
    asking.blueprint,
    demo_site.blueprint,
    signing_in.blueprint,
    desk.blueprint,
    desk_quotes.blueprint,
    desk_quote.blueprint,
    desk_enquiries.blueprint,
    customer.blueprint,
    owner.blueprint,
    owner_webhooks.blueprint,
    health.blueprint,
    measures.blueprint,
    docs.blueprint,
)

SECURITY_HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'self'; "
        "frame-ancestors 'self'"
    ),
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
}


def create_app(
    settings: Settings,
    *,
    store: Store | None = None,
    now: Clock = utc_now,
    ticks: Ticks = time.monotonic_ns,
    resolve: Resolve = resolved,
) -> Flask:
    """The service; `resolve` finds where webhooks lead.

    Raises BookFlawed where a rate book has faults, Unavailable where the database cannot be used.
    """
    app = _App("quoter", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = settings.max_body_bytes
    app.config[PUBLIC_ADDRESS] = settings.public_address
    app.config[form_script.KEPT_DAYS] = settings.keep_contact_days
    store = store or open_store(settings.database)
    announcing = announcing_in(store, now)
    shelf = Shelf(Books(store, announcing.book_published), now)
    for code in shelf.seed(settings.books):
        app.logger.warning("the folder of %s says something else than what is published, which counts", code)
    addresses = Addresses(resolve, settings.webhook_networks)
    app.extensions["quoter"] = _services(store, shelf, announcing, addresses, settings, ticks)
    for blueprint in BLUEPRINTS:
        app.register_blueprint(blueprint)
    app.jinja_env.policies["json.dumps_kwargs"] = {"sort_keys": False}  # members in the order that they are written in
    for part in (auth, request_log, measures, problems, cors, limits):
        part.register(app)
    app.after_request(_with_security_headers)
    return app


class _App(Flask):
    """Flask without its look at each function whether it is one of asyncio's: here is none."""

    def ensure_sync(self, func: Callable[..., Any]) -> Callable[..., Any]:
        """The function as it is."""
        return func


def announcing_in(store: Store, now: Clock) -> Announcing:
    """What keeps announcements in a database."""
    return Announcing(Outbox(store), Expiries(store, Quotes(store)), store.write, now)


def _services(
    store: Store, shelf: Shelf, announcing: Announcing, addresses: Addresses, settings: Settings, ticks: Ticks
) -> Services:
    now = shelf.now
    keys, quotes, deliveries = Keys(store), Quotes(store, announcing.quote_changed), Deliveries(store)
    keyring, rates = Keyring(keys, now), Rates(shelf.books, shelf, now)
    measured = Effects(EffectRuns(store), quotes, rates, now)
    quoting = Quoting(shelf, quotes, now)
    held = Customers(CustomerRecords(store), quotes, now)
    return Services(
        shelf=shelf,
        quoting=quoting,
        enquiring=_enquiring(store, quoting, announcing, settings),
        rates=rates,
        price_lists=PriceLists(),
        effects=measured,
        background=Background(measured),
        keyring=keyring,
        sign_in=SignIn(Sessions(store), keys, keyring, now),
        replies=Replies(KeptReplies(store), now),
        limits=limits_of(
            settings.form_requests_a_minute, settings.form_key_requests_a_minute, settings.wrong_keys_a_minute, ticks
        ),
        customers=held,
        retention=Retention(held, settings.keep_contact_days),
        announcing=announcing,
        webhooks=Webhooks(KeptWebhooks(store), deliveries, announcing, addresses, store.write, now),
        deliverer=Deliverer(deliveries, announcing, Sender(addresses), now),
        together=store.write,
        as_one=store.as_one,
        check_usable=store.check_usable,
        store_state=partial(store_state, store),
    )


def _enquiring(store: Store, quoting: Quoting, announcing: Announcing, settings: Settings) -> Enquiring:
    limits = EnquiryLimits(
        hourly_from_address=settings.enquiries_per_hour, daily_through_key=settings.enquiries_per_day
    )
    return Enquiring(
        quoting=quoting,
        enquiries=Enquiries(store),
        secrets=Secrets(store),
        together=store.write,
        now=quoting.now,
        limits=limits,
        announce=announcing.tell,
    )


def _with_security_headers(response: Response) -> Response:
    said = {name.lower() for name, _ in response.headers}
    for name, value in SECURITY_HEADERS.items():
        if name.lower() not in said:
            response.headers.add(name, value)
    return response
