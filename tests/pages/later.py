"""The service with a clock that is some days ahead: python -m tests.pages.later DATABASE PORT DAYS

For what time alone does to a quote. It serves the books that its database has.
"""

import datetime as dt
import sys
from pathlib import Path

import waitress

from quoter.app import create_app
from quoter.config import Settings
from quoter.service.clock import utc_now


def main(database: str, port: str, days: str) -> None:
    """Until it is ended."""
    ahead = dt.timedelta(days=int(days))
    app = create_app(Settings(database=Path(database)), now=lambda: utc_now() + ahead)
    waitress.serve(app, host="127.0.0.1", port=int(port))


if __name__ == "__main__":
    main(*sys.argv[1:])
