"""Starts the service and says where it is and how to get in."""

import signal
import socket
import sys
import time
from contextlib import closing
from types import FrameType
from typing import Any

import waitress
from flask import Flask
from waitress import wasyncore

from quoter.api.services import services_of
from quoter.app import create_app
from quoter.config import Settings
from quoter.pages.demo_site import DEMO_FORM
from quoter.pages.visitors import DEMO_KEY
from quoter.problems import Unreadable
from quoter.service.clock import stamp, utc_now
from quoter.service.keys import Keyring
from quoter.store.books import Books
from quoter.store.database import Store, open_store
from quoter.store.keys import Keys

LARGEST_READ = 64_000_000
"""Bytes that are read before a body is refused: what is over the settings' limit gets a problem document, and what is
over this a bare refusal."""

MOST_CONNECTIONS = 2_000
"""Open at a time. A proxy in front keeps slow and idle ones away; without one, more than these wait outside."""

PROXY_HEADERS = ("x-forwarded-for", "x-forwarded-proto", "x-forwarded-host")
"""Who asks, whether over HTTPS, and by which name of the service."""

SECONDS_TO_FINISH = 20
"""For requests that are worked on when the service is told to stop."""

DEMO_SCOPES = ("owner", "desk", "form")


def serve(settings: Settings, *, demo: bool = False) -> int:
    """Answers requests until it is told to stop. Raises Unreadable where it cannot listen, BookFlawed, Unavailable."""
    with closing(open_store(settings.database)) as store:
        if not settings.books and not Books(store).codes():
            print("There is no rate book yet: name one with --book DIR or QUOTER_BOOKS.", file=sys.stderr)
            return 2
        app = create_app(settings, store=store)
        work = services_of(app)
        with (
            _listen(settings) as listening,
            work.background.at_work(),
            work.retention.at_work(),
            work.deliverer.at_work(),
        ):
            _greet(app, store, listening, demo)
            signal.signal(signal.SIGTERM, _stop)
            _answer(app, listening, settings)
    return 0


def _answer(app: Flask, listening: socket.socket, settings: Settings) -> None:
    """Until it is stopped; what is being worked on then is still answered."""
    connections: dict[int, wasyncore.dispatcher] = {}
    server = waitress.create_server(
        app,
        map=connections,
        sockets=[listening],
        threads=settings.threads,
        max_request_body_size=LARGEST_READ,
        channel_timeout=30,
        connection_limit=MOST_CONNECTIONS,
        ident=None,
        clear_untrusted_proxy_headers=True,
        **_believed(settings.trusted_proxy),
    )
    try:
        wasyncore.loop(timeout=1, use_poll=True, map=connections)
    except (SystemExit, KeyboardInterrupt):
        server.del_channel()
        listening.close()
        _finish(server, connections)


def _believed(proxy: str) -> dict[str, Any]:
    """What the proxy in front says of who asks. From anybody else it could be a lie, and is dropped."""
    return {"trusted_proxy": proxy, "trusted_proxy_headers": set(PROXY_HEADERS)} if proxy else {}


def _finish(server: Any, connections: dict[int, wasyncore.dispatcher]) -> None:
    """Lets requests that are worked on come to their end, and their answers reach whoever asked."""
    until = time.monotonic() + SECONDS_TO_FINISH
    server.task_dispatcher.shutdown(timeout=SECONDS_TO_FINISH)
    while any(connection.writable() for connection in connections.values()) and time.monotonic() < until:
        wasyncore.poll(0.1, connections)
    for channel in list(server.active_channels.values()):
        channel.handle_close()
    wasyncore.close_all(connections)


def _listen(settings: Settings) -> socket.socket:
    try:
        return socket.create_server((settings.host, settings.port))
    except OSError as error:
        where, reason = f"{settings.host}:{settings.port}", str(error.strerror).partition(" (")[0]
        raise Unreadable(where, f"the service cannot listen there: {reason}; try another --port") from None


def _greet(app: Flask, store: Store, listening: socket.socket, demo: bool) -> None:
    host, port = listening.getsockname()[:2]
    print(f"Repair quotes: http://{host}:{port} (the desk; the owner's page: /owner; the API: /docs)")
    if demo:
        app.config.update(_show_demo_keys(Keyring(Keys(store), utc_now), f"http://{host}:{port}"))
    else:
        print("Getting in: quoter key new --scope desk --name NAME makes a key.")
    sys.stdout.flush()


def _stop(signum: int, frame: FrameType | None) -> None:
    """Without this a request that is being answered would be cut off."""
    sys.exit(0)


def _show_demo_keys(keyring: Keyring, address: str) -> dict[str, str]:
    """New keys for each scope; those of earlier starts end. Returns those of the desk and of the shop's site."""
    for key in keyring.keys.all():
        if key.name.startswith("demo ") and key.counts_at(stamp(utc_now())):
            keyring.revoke(key.id)
    print("Getting in: send one of these keys, which count until the next start, as Authorization: Bearer KEY")
    port = address.rpartition(":")[2]
    origins = {"form": [f"http://{host}:{port}" for host in ("127.0.0.1", "localhost")]}
    for scope in DEMO_SCOPES:
        presented, key = keyring.new(f"demo {scope}", scope, origins=origins.get(scope, ()))
        print(f"  {scope:6} {presented}")
        if scope == "form":
            site = presented
        if scope == "desk":
            desk = key.id
            example = f"curl -H 'Authorization: Bearer {presented}' {address}/v1/devices"
    print(f"For example: {example}")
    print(f"A shop's site with the form in it: {address}/demo/site")
    return {DEMO_KEY: desk, DEMO_FORM: site}
