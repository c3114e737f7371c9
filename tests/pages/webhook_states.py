"""The owner's page of webhooks in every state that looks different."""

import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from typing import TYPE_CHECKING

from playwright.sync_api import expect

from .running import Service

if TYPE_CHECKING:
    from .states import Scene

PATH = "/owner/webhooks"
JOB = {"device": "kessoway-5", "repairs": [{"procedure": "charge-port"}]}
NOWHERE = "http://127.0.0.1:9/the/address/of/a/program/with/a/long/name/that/must/break/somewhere/told"


class _Pleased(BaseHTTPRequestHandler):
    def do_POST(self) -> None:
        self.send_response(204)
        self.end_headers()

    def log_message(self, *_: object) -> None:
        pass


@contextmanager
def _pleased() -> Iterator[str]:
    """The address of a receiver that takes everything."""
    server = HTTPServer(("127.0.0.1", 0), _Pleased)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/told"
    server.shutdown()
    server.server_close()


def registered(service: Service, address: str, events: tuple[str, ...] = ("quote.issued",), note: str = "") -> str:
    """The path of a new webhook."""
    wanted = {"address": address, "events": list(events), "note": note}
    answer = service.call("POST", "/v1/webhooks", wanted)
    assert answer.status == 201, answer.body
    path: str = answer.headers["Location"]
    return path


def give_up(database: Path) -> None:
    """Everything that waits, as it will be in two days."""
    with closing(sqlite3.connect(database, timeout=20)) as connection, connection:
        connection.execute("update deliveries set state = 'dead', attempts = 10 where state = 'waiting'")


def change(service: Service, path: str, wanted: dict[str, object]) -> None:
    """Changes a webhook as it is."""
    tag = service.call("GET", path).headers["ETag"]
    assert service.call("PATCH", path, wanted, If_Match=tag).status == 200


def no_webhooks(scene: "Scene") -> None:
    """Nobody is told anything."""
    scene.go(PATH)


def webhooks_standing(scene: "Scene") -> None:
    """One that is healthy, one that fails with dead letters, one that is paused."""
    with _pleased() as address:
        good = registered(scene.service, address, note="the accounts")
        failing = registered(scene.service, NOWHERE, ("quote.issued", "quote.decided"))
        for _ in range(2):
            assert scene.service.call("POST", "/v1/quotes", JOB).status == 201
        scene.page.wait_for_timeout(3000)
        give_up(scene.folder / "quoter.db")
        scene.service.call("POST", f"{good}/trial")
        scene.service.call("POST", f"{failing}/trial")
        scene.page.wait_for_timeout(3000)
    change(scene.service, registered(scene.service, f"{NOWHERE}/paused", ("book.published",)), {"paused": True})
    scene.go(PATH)
    scene.page.get_by_text("Change what it is told").first.click()


def webhook_refused(scene: "Scene") -> None:
    """An address into a closed network."""
    scene.go(PATH)
    scene.page.get_by_label("Address", exact=True).fill("https://10.0.0.8/told")
    scene.page.get_by_role("button", name="Register").click()
    expect(scene.page.locator("#register .told")).to_contain_text("not on the open internet")


def rotating(scene: "Scene") -> None:
    """The question before a new secret is made."""
    scene.go(PATH)
    scene.page.get_by_role("button", name="New secret").first.click()


def secret_shown(scene: "Scene") -> None:
    """A secret, this once."""
    rotating(scene)
    scene.page.get_by_role("button", name="Make a new secret").click()
    expect(scene.page.locator("#secret output")).to_contain_text("whsec_")


WEBHOOK_STATES: tuple[Callable[["Scene"], None], ...] = (
    no_webhooks,
    webhooks_standing,
    webhook_refused,
    rotating,
    secret_shown,
)
