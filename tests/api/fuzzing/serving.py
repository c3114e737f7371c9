"""A service behind the server that is shipped, on a socket, with something of everything in it to be met."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from quoter.serving import server_for

from ..asking import asked
from ..owning import Owner
from ..running import BATTERY, OFTEN, RATES, SITE, Service, a_service

NO_KEY = "none"
SCOPES = ("owner", "desk", "form", NO_KEY)
"""Whose key is sent. The widest first: what it makes, the others meet."""

UNHINDERED = replace(OFTEN, enquiries_per_hour=1_000_000, enquiries_per_day=1_000_000)


@dataclass(frozen=True, slots=True)
class Running:
    """A service that listens, with a key of each scope."""

    service: Service
    port: int
    keys: dict[str, str]

    @property
    def address(self) -> str:
        """Of the service."""
        return f"http://127.0.0.1:{self.port}"

    def headers(self, scope: str) -> dict[str, str]:
        """What somebody of this scope sends with every request."""
        if scope == NO_KEY:
            return {}
        key = {"Authorization": f"Bearer {self.keys[scope]}"}
        return key | ({"Origin": SITE} if scope == "form" else {})


@contextmanager
def listening(folder: Path) -> Iterator[Running]:
    """The service on a free port, until the block ends."""
    with a_service(folder, RATES / "ballyquarn", settings=UNHINDERED) as service:
        furnish(service)
        keys = {scope: service.new_key(scope) for scope in SCOPES if scope != NO_KEY}
        with socket.create_server(("127.0.0.1", 0)) as door:
            server, connections = server_for(service.app, door, UNHINDERED)
            has_ended = threading.Event()

            def run() -> None:  # as the command does: waitress's loop ends when an idle connection is closed
                while not has_ended.is_set():
                    connections.turn(0.5)

            thread = threading.Thread(target=run)
            thread.start()
            try:
                yield Running(service, int(server.effective_port), keys)
            finally:
                has_ended.set()
                thread.join()
                server.task_dispatcher.shutdown()
                connections.close()


def furnish(service: Service) -> None:
    """A quote, an enquiry, a webhook, a second version of the book and a draft."""
    owner = service.caller("owner")
    owner.post("/v1/webhooks", {"address": "https://books.example.org/told", "events": ["quote.issued"]})
    owner.post("/v1/quotes", BATTERY)
    asked(service, service.caller("form"))
    Owner(service).published("3.60")
    Owner(service).open()
