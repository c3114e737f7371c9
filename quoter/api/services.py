"""The use cases that this app serves, put together by `app.py`."""

from dataclasses import dataclass

from flask import current_app

from quoter.service.keys import Keyring
from quoter.service.quoting import Quoting
from quoter.service.shelf import Shelf


@dataclass(frozen=True, slots=True)
class Services:
    """What views may call."""

    shelf: Shelf
    quoting: Quoting
    keyring: Keyring


def services() -> Services:
    """Those of the app that is answering."""
    found: Services = current_app.extensions["quoter"]
    return found
