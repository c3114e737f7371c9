"""The service with a clock that is some days ahead, for what time alone does to a quote."""

import datetime as dt
from pathlib import Path

import waitress

from quoter.app import create_app
from quoter.config import Settings
from quoter.service.clock import utc_now


def main(arguments: list[str]) -> None:
    """Serves the books that a database has, at a port, so many days ahead, until it is ended."""
    database, port, days = arguments
    ahead = dt.timedelta(days=int(days))
    app = create_app(Settings(database=Path(database)), now=lambda: utc_now() + ahead)
    waitress.serve(app, host="127.0.0.1", port=int(port))
