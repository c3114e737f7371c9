"""The use cases that this app serves, put together by `app.py`."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field

from flask import Flask, current_app

from quoter.background.deliveries import Deliverer
from quoter.background.effects import Background
from quoter.background.retention import Retention
from quoter.records.measures import StoreState
from quoter.service.access.keys import Keyring
from quoter.service.access.limits import Limits
from quoter.service.access.sessions import SignIn
from quoter.service.customers import Customers
from quoter.service.enquiries.enquiring import Enquiring
from quoter.service.ports import Together
from quoter.service.quotes.quoting import Quoting
from quoter.service.rates.effects import Effects
from quoter.service.rates.price_lists import PriceLists
from quoter.service.rates.rates import Rates
from quoter.service.rates.shelf import Shelf
from quoter.service.replies import Replies
from quoter.service.webhooks.announcing import Announcing
from quoter.service.webhooks.webhooks import Webhooks


@dataclass(frozen=True, slots=True)
class Services:
    """What views may call. `together` makes one of what several of them keep.

    `check_usable` raises Unavailable where the database cannot be used.
    So does `as_one`, but others wait only from the first thing on that is kept within it.
    `stopping` is set once the service has been told to stop and only finishes what it is at.
    """

    shelf: Shelf
    quoting: Quoting
    enquiring: Enquiring
    rates: Rates
    price_lists: PriceLists
    effects: Effects
    background: Background
    keyring: Keyring
    sign_in: SignIn
    replies: Replies
    limits: Limits
    customers: Customers
    retention: Retention
    announcing: Announcing
    webhooks: Webhooks
    deliverer: Deliverer
    together: Together
    check_usable: Callable[[], None]
    store_state: Callable[[], StoreState]
    as_one: Together
    stopping: threading.Event = field(default_factory=threading.Event)


def services() -> Services:
    """Those of the app that is answering."""
    return services_of(current_app)


def services_of(app: Flask) -> Services:
    """Those of an app."""
    found: Services = app.extensions["quoter"]
    return found
