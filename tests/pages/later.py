"""The service with a clock that is some days ahead, for what time alone does to a quote."""

import datetime as dt
from pathlib import Path

import waitress

from quoter.app import create_app
from quoter.config import Settings
from quoter.service.clock import utc_now


def main(arguments: list[str]) -> None:
    """Serves the books that a database has, so many days ahead, until it is ended; prints where."""
    database, days = arguments
    ahead = dt.timedelta(days=int(days))
    app = create_app(Settings(database=Path(database)), now=lambda: utc_now() + ahead)
    server = waitress.create_server(app, host="127.0.0.1", port=0)
    print(f"http://127.0.0.1:{server.effective_port}", flush=True)
    server.run()
