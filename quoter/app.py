"""The one place where the parts meet."""

import time
from functools import partial

from flask import Flask, Response

from quoter.api import (
    books,
    calculations,
    cors,
    customers,
    decisions,
    devices,
    docs,
    documents,
    drafts,
    effects,
    enquiries,
    health,
    limits,
    measures,
    price_list,
    prices,
    problems,
    quotes,
    request_log,
    revisions,
    sheets,
)
from quoter.api.quoted import PUBLIC_ADDRESS
from quoter.api.services import Services
from quoter.background.effects import Background
from quoter.background.retention import Retention
from quoter.config import Settings
from quoter.pages import customer, desk, desk_enquiries, desk_quote, desk_quotes, frame, owner, signing_in
from quoter.service.clock import Clock, utc_now
from quoter.service.customers import Customers
from quoter.service.effects import Effects
from quoter.service.enquiring import Enquiring, EnquiryLimits
from quoter.service.keys import Keyring
from quoter.service.limits import Ticks
from quoter.service.limits import limits as limits_of
from quoter.service.price_lists import PriceLists
from quoter.service.quoting import Quoting
from quoter.service.rates import Rates
from quoter.service.replies import Replies
from quoter.service.sessions import SignIn
from quoter.service.shelf import Shelf
from quoter.store.books import Books
from quoter.store.customers import Customers as CustomerRecords
from quoter.store.database import Store, open_store
from quoter.store.effects import EffectRuns
from quoter.store.enquiries import Enquiries
from quoter.store.keys import Keys
from quoter.store.quotes import Quotes
from quoter.store.replies import Replies as KeptReplies
from quoter.store.sessions import Sessions
from quoter.store.shared_secrets import Secrets
from quoter.store.state import store_state

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
    frame.blueprint,
    signing_in.blueprint,
    desk.blueprint,
    desk_quotes.blueprint,
    desk_quote.blueprint,
    desk_enquiries.blueprint,
    customer.blueprint,
    owner.blueprint,
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
    settings: Settings, *, store: Store | None = None, now: Clock = utc_now, ticks: Ticks = time.monotonic_ns
) -> Flask:
    """The service. Raises BookFlawed where a rate book has faults, Unavailable where the database cannot be used."""
    app = Flask("quoter", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = settings.max_body_bytes
    app.config[PUBLIC_ADDRESS] = settings.public_address
    store = store or open_store(settings.database)
    shelf = Shelf(Books(store), now)
    for code in shelf.seed(settings.books):
        app.logger.warning("the folder of %s says something else than what is published, which counts", code)
    app.extensions["quoter"] = _services(store, shelf, settings, now, ticks)
    for blueprint in BLUEPRINTS:
        app.register_blueprint(blueprint)
    app.jinja_env.policies["json.dumps_kwargs"] = {"sort_keys": False}  # members in the order that they are written in
    for part in (request_log, measures, problems, cors, limits):
        part.register(app)
    app.after_request(_with_security_headers)
    return app


def _services(store: Store, shelf: Shelf, settings: Settings, now: Clock, ticks: Ticks) -> Services:
    keys, quotes = Keys(store), Quotes(store)
    keyring, rates = Keyring(keys, now), Rates(Books(store), shelf, now)
    measured = Effects(EffectRuns(store), quotes, rates, now)
    quoting = Quoting(shelf, quotes, now)
    held = Customers(CustomerRecords(store), quotes, now)
    return Services(
        shelf=shelf,
        quoting=quoting,
        enquiring=_enquiring(store, quoting, now, settings),
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
        together=store.write,
        as_one=store.as_one,
        check_usable=store.check_usable,
        store_state=partial(store_state, store),
    )


def _enquiring(store: Store, quoting: Quoting, now: Clock, settings: Settings) -> Enquiring:
    limits = EnquiryLimits(
        hourly_from_address=settings.enquiries_per_hour, daily_through_key=settings.enquiries_per_day
    )
    return Enquiring(
        quoting=quoting,
        enquiries=Enquiries(store),
        secrets=Secrets(store),
        together=store.write,
        now=now,
        limits=limits,
    )


def _with_security_headers(response: Response) -> Response:
    for name, value in SECURITY_HEADERS.items():
        response.headers.setdefault(name, value)
    return response
