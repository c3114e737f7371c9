"""A real server process and a real browser, for the tests of pages and for their screenshots."""

import json
import re
import shutil
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, expect, sync_playwright

from quoter.cli.main import main as quoter

from .later import main as later
from .nursery import Program, begun

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-features=WebUIOmniboxPopup,WebUIOmniboxAimPopup",  # the list under the address bar, a page by itself
]

SECONDS_TO_START, SECONDS_TO_STOP = 60, 60

PATIENCE_MILLISECONDS = 120_000
"""For whatever a page is to do. It only ends what never comes: machines that run tests may stand still for a while."""


@dataclass(frozen=True)
class Answer:
    """What the service answered."""

    status: int
    headers: Any
    body: bytes

    @property
    def json(self) -> Any:
        """The body, which is JSON."""
        return json.loads(self.body)


class _Stay(urllib.request.HTTPRedirectHandler):
    """Redirects are looked at, not followed."""

    def redirect_request(self, *_: Any) -> None:
        return None


_OPENER = urllib.request.build_opener(_Stay)


@dataclass(frozen=True)
class Service:
    """A running service: where it is, and a key of each scope."""

    address: str
    keys: dict[str, str]

    def ask(self, method: str, path: str, body: bytes | None = None, headers: dict[str, str] | None = None) -> Answer:
        """A plain request, without a key."""
        request = urllib.request.Request(self.address + path, body, headers or {}, method=method)
        try:
            with _OPENER.open(request, timeout=120) as response:
                return Answer(response.status, response.headers, response.read())
        except urllib.error.HTTPError as error:
            with error:
                return Answer(error.code, error.headers, error.read())

    def call(self, method: str, path: str, data: Any = None, **headers: str) -> Answer:
        """A call of the API with the owner's key; `If_Match` is the header of that name."""
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        sent = {"Authorization": f"Bearer {self.keys['owner']}", **named}
        if data is None:
            return self.ask(method, path, None, sent)
        return self.ask(method, path, json.dumps(data).encode(), {**sent, "Content-Type": "application/json"})


@contextmanager
def patient_browser() -> Iterator[Browser]:
    """Chromium as it is installed here, waited for as long as a busy machine may take."""
    expect.set_options(timeout=PATIENCE_MILLISECONDS)
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=CHROMIUM, headless=True, args=ARGUMENTS)
        launched.on("context", lambda context: context.set_default_timeout(PATIENCE_MILLISECONDS))
        yield launched
        launched.close()


@contextmanager
def running_service(database: Path, *books: Path, options: Sequence[str] = ()) -> Iterator[Service]:
    """The service as a process of its own, with demo keys."""
    arguments = ["serve", "--demo", "--port", "0", "--database", str(database), *options]
    for book in books:
        arguments += ["--book", str(book)]
    log = database.with_suffix(".log")
    with _process(quoter, arguments, log) as address:
        yield Service(address, _keys_in(log))


@contextmanager
def later_service(database: Path, days: int) -> Iterator[Service]:
    """What a service with this database will be in some days. It has no keys: it is for who only looks."""
    with _process(later, [str(database), str(days)], database.with_suffix(".later.log")) as address:
        yield Service(address, {})


@contextmanager
def _process(program: Program, arguments: list[str], log: Path) -> Iterator[str]:
    """Runs until it is not needed any more, and gives the address that it prints when it listens.

    It answers once it has printed all that it has to say.
    """
    process = begun(program, arguments, log)
    try:
        address = _address_in(log, process)
        urllib.request.urlopen(f"{address}/healthz", timeout=SECONDS_TO_START).close()
        yield address
    finally:
        process.terminate()
        process.join(SECONDS_TO_STOP)
        assert process.exitcode is not None, "the service does not stop"


def _address_in(log: Path, process: BaseProcess) -> str:
    until = time.monotonic() + SECONDS_TO_START
    while time.monotonic() < until and process.is_alive():
        printed = log.read_text() if log.exists() else ""
        if found := re.search(r"http://127\.0\.0\.1:\d+\b", printed.rpartition("\n")[0]):
            return found[0]
        time.sleep(0.02)
    raise RuntimeError(f"the service did not start:\n{log.read_text() if log.exists() else ''}")


def _keys_in(log: Path) -> dict[str, str]:
    return dict(re.findall(r"^ +(owner|desk|form) +(quoter_\S+)$", log.read_text(), re.MULTILINE))
