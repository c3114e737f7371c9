"""Starts the service and says where it is and how to get in; lets it finish what it is at when it is told to stop."""

import ctypes
import errno
import gc
import ipaddress
import logging
import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Iterable
from contextlib import closing, suppress
from pathlib import Path
from types import FrameType
from typing import NoReturn

from flask import Flask
from waitress.adjustments import Adjustments

from quoter.api.http.request_log import RequestNames
from quoter.api.http.services import services_of
from quoter.api.rates.sheets import LARGEST_UPLOAD
from quoter.app import create_app
from quoter.books.check import flaws
from quoter.books.load import is_folder, read_folder
from quoter.config import Settings
from quoter.logs import set_up
from quoter.pages.demo_site import DEMO_FORM
from quoter.pages.visitors import DEMO_KEY
from quoter.problems import BookFlawed, Unreadable
from quoter.service.access.keys import Keyring
from quoter.service.clock import utc_now
from quoter.store.books import Books
from quoter.store.database import Store, open_store
from quoter.store.keys import Keys
from quoter.store.place import network_of
from quoter.wire.connections import PATIENCE_SECONDS, Server
from quoter.wire.files import room_for
from quoter.wire.forwarded import believed, knowing_who_asks, understandable
from quoter.wire.turning import Connections

LARGEST_READ = 64_000_000
"""Bytes that are read before a body is refused: what is over the settings' limit gets a problem document, and what is
over this a bare refusal."""

LARGEST_IN_MEMORY = 131_072
"""Bytes of a body; the rest of a larger one waits in a file until all of it is there."""

LARGEST_UNREAD = 64_000_000
"""Bytes of answers that nobody takes, beyond which a thread would wait: more than there can be, so that none does."""

LARGEST_HEADERS = 32_768
"""Bytes of all headers of a request together."""

M_MMAP_THRESHOLD, M_ARENA_MAX = -3, -8
"""Of mallopt(3)."""

LARGE_BLOCK_BYTES, MOST_ARENAS = 131_072, 2

SECONDS_TO_FINISH = 20
"""For requests that are worked on when the service is told to stop."""

AT_ONCE = 130
"""Status of a program that was interrupted, as shells count: 128 and the number of SIGINT."""

FAULTS_OF_PORTS = (errno.EADDRINUSE, errno.EACCES)
"""Taken, or kept for root. Whatever else keeps the service from listening, no other port would help."""

log = logging.getLogger(__name__)

DEMO_SCOPES = ("owner", "desk", "form")


def serve(settings: Settings, *, demo: bool = False) -> int:
    """Answers requests until it is told to stop. Raises Unreadable where it cannot listen, BookFlawed, Unavailable."""
    set_up(settings.log, settings.log_format, RequestNames())
    _check_folders(settings.books)
    _warn_of_network(settings)
    _give_back_what_is_freed()
    with closing(open_store(settings.database)) as store:
        if not settings.books and not Books(store).codes():
            print("There is no rate book yet: name one with --book DIR or QUOTER_BOOKS.", file=sys.stderr)
            return 2
        app = create_app(settings, store=store)
        gc.collect()
        gc.freeze()  # what is there from the start stays: the collector need not go through it again and again
        work = services_of(app)
        with (
            _listen(settings) as listening,
            work.background.at_work(),
            work.retention.at_work(),
            work.deliverer.at_work(),
        ):
            server, connections = server_for(app, listening, settings)
            _mind_signals(server, work.stopping)
            _warn_of_power(listening.getsockname()[0], getattr(os, "geteuid", lambda: None)())
            _greet(app, store, listening, demo)
            log.info("started", extra={"said": _where(listening, settings)})
            while not work.stopping.is_set():
                connections.turn(1)
            _let_in(server)
            listening.close()
            log.info("told to stop: what has come in is finished")
            _finish(server, connections)
    log.info("stopped")
    return 0


def _check_folders(folders: Iterable[Path]) -> None:
    """Before a database is made: who mistypes a folder may have mistyped its place, too."""
    missing = tuple(flaw for folder in folders if not is_folder(folder) for flaw in flaws(read_folder(folder)))
    if missing:
        raise BookFlawed(missing)


def _warn_of_network(settings: Settings) -> None:
    kind = network_of(settings.database)
    if kind is not None:
        log.warning(
            "%s is on a network file system (%s), where SQLite cannot keep what it promises: name a place on a disk of "
            "this machine with --database",
            settings.database,
            kind,
        )


def _give_back_what_is_freed() -> None:
    """Has the C library return large blocks to the system, and not keep a heap for each thread. Only glibc is asked.

    To read a rate book takes several times the memory of the book, which would stay with the process for good.
    """
    with suppress(OSError, AttributeError, TypeError):
        library = ctypes.CDLL(None)
        library.gnu_get_libc_version  # noqa: B018 - another library's mallopt means other things
        library.mallopt(M_MMAP_THRESHOLD, LARGE_BLOCK_BYTES)
        library.mallopt(M_ARENA_MAX, MOST_ARENAS)


def server_for(app: Flask, listening: socket.socket, settings: Settings) -> tuple[Server, Connections]:
    """A server that answers where somebody is listening already, and its connections, to be turned."""
    connections = Connections()
    adjustments = Adjustments(
        sockets=[listening],
        threads=settings.threads,
        max_request_body_size=LARGEST_READ,
        max_request_header_size=LARGEST_HEADERS,
        inbuf_overflow=LARGEST_IN_MEMORY,
        outbuf_high_watermark=LARGEST_UNREAD,
        channel_timeout=PATIENCE_SECONDS,
        connection_limit=_most_connections(settings),
        ident=None,
        clear_untrusted_proxy_headers=True,
        **believed(settings.trusted_proxy),
    )
    most_kept = max(settings.max_body_bytes, LARGEST_UPLOAD)
    server = Server(knowing_who_asks(app), connections, listening, adjustments, most_kept)
    if settings.trusted_proxy:
        server.application = understandable(server.application)
    return server, connections


def _most_connections(settings: Settings) -> int:
    """As many as the settings say, or as the system has room for."""
    most = room_for(settings.connections)
    if most < settings.connections:
        log.warning(
            "the system lets the service open too few files for %d connections: it takes %d at a time; raise the limit "
            "(ulimit -n, LimitNOFILE) or lower --connections",
            settings.connections,
            most,
        )
    return most


def _mind_signals(server: Server, stopping: threading.Event) -> None:
    """SIGTERM and SIGINT let the service finish. Another SIGTERM changes nothing; another SIGINT ends it at once."""

    def stop(signum: int, frame: FrameType | None) -> None:
        if stopping.is_set() and signum == signal.SIGINT:
            _end_at_once()
        stopping.set()
        server.trigger.pull_trigger()  # wakes whoever waits for requests

    for signum in (signal.SIGTERM, signal.SIGINT):
        signal.signal(signum, stop)


def _end_at_once() -> NoReturn:
    """Whoever presses a second time does not want to wait; what is kept is whole at every moment."""
    os._exit(AT_ONCE)


def _warn_of_power(host: str, user: int | None) -> None:
    if user == 0 and not ipaddress.ip_address(host).is_loopback:
        log.warning(
            "the service runs as root and listens on %s, which others can reach: run it as a user of its own", host
        )


def _let_in(server: Server) -> None:
    """Those whose connection the system has already taken on: closing the door would cut them off. Nothing else is done
    meanwhile, for each moment more of them may come."""
    while server.readable():
        before = len(server.active_channels)
        server.handle_accept()
        if len(server.active_channels) <= before:
            break


def _finish(server: Server, connections: Connections) -> None:
    """Lets requests that have come in be answered, and their answers reach whoever asked; takes no others."""
    until = time.monotonic() + SECONDS_TO_FINISH
    server.is_stopping = True
    server.del_channel()
    connections.turn(0)
    while time.monotonic() < until and _some_are_busy(server):
        connections.turn(0.05)
    server.task_dispatcher.shutdown(timeout=max(0.1, until - time.monotonic()))
    for channel in list(server.active_channels.values()):
        channel.handle_close()
    connections.close()


def _some_are_busy(server: Server) -> bool:
    """Whether an answer is still to be given; connections on which nothing was asked are closed."""
    for channel in list(server.active_channels.values()):
        if not (channel.requests or channel.request or channel.writable()):
            channel.handle_close()
    return bool(server.active_channels)


def _listen(settings: Settings) -> socket.socket:
    try:
        return socket.create_server((settings.host, settings.port))
    except (OSError, TypeError) as error:  # a TypeError where a name cannot be written as one of a host
        where, reason = f"{settings.host}:{settings.port}", str(getattr(error, "strerror", error)).partition(" (")[0]
        other = "--port" if getattr(error, "errno", None) in FAULTS_OF_PORTS else "--host"
        raise Unreadable(where, f"the service cannot listen there: {reason}; try another {other}") from None


def _where(listening: socket.socket, settings: Settings) -> dict[str, object]:
    host, port = listening.getsockname()[:2]
    return {"host": host, "port": port, "database": str(settings.database), "process": os.getpid()}


def _greet(app: Flask, store: Store, listening: socket.socket, demo: bool) -> None:
    host, port = listening.getsockname()[:2]
    print(f"Repair quotes: http://{host}:{port} (the desk; the owner's page: /owner; the API: /docs)")
    if demo:
        app.config.update(_show_demo_keys(Keyring(Keys(store), utc_now), f"http://{host}:{port}"))
    else:
        Keyring(Keys(store), utc_now).forget_demo()
        print("Getting in: quoter key new --scope desk --name NAME makes a key.")
    sys.stdout.flush()


def _show_demo_keys(keyring: Keyring, address: str) -> dict[str, str]:
    """New keys for each scope; earlier ones are forgotten. Returns those of the desk and of the shop's site."""
    keyring.forget_demo()
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
