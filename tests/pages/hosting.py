"""A shop's own site on another origin, with a strict policy, for the tests of the form that stands in it."""

import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from playwright.sync_api import Locator, Page, Request, expect

from quoter.service.access.keys import Keyring
from quoter.service.clock import utc_now
from quoter.store.database import open_store
from quoter.store.keys import Keys

from .running import Service

POLICY = "default-src 'none'; script-src {0}; connect-src {0}; style-src 'self'; base-uri 'none'; form-action 'none'"
"""Of the host's page: what docs/form.md asks for, and nothing more. No 'unsafe-inline'."""

HOST_STYLE = """
body { margin: 0; padding: 1rem; background: #fff; }
* { color: rgb(255, 0, 0); text-transform: uppercase; letter-spacing: 7px; }
input, button, label, p, h2 { font-size: 40px !important; border: 9px dotted lime !important; }
input, button, label, p, h2 { background: yellow !important; }
.frame, .price { display: none !important; }
"""
"""A style as rude as a site's can be, where a test asks for it."""


@dataclass
class Host:
    """A site that serves pages by their path."""

    address: str
    pages: dict[str, tuple[str, str]] = field(default_factory=dict)

    def show(self, path: str, body: str, policy: str, *, language: str = "en", head: str = "", scheme: str = "") -> str:
        """Puts a page there; the address of it."""
        dark = f'<meta name="color-scheme" content="{scheme}">' if scheme else ""
        size = '<meta name="viewport" content="width=device-width, initial-scale=1">'
        title = "<title>A shop's site</title>"
        text = f'<!doctype html><html lang="{language}"><head><meta charset="utf-8">{size}{dark}{title}{head}</head>'
        direction = ' dir="rtl"' if language == "ar" else ""
        text += f"<body{direction}><main><h1>A shop's site</h1>{body}</main></body></html>"
        self.pages[path] = (text, policy)
        return self.address + path


@contextmanager
def running_host() -> Iterator[Host]:
    """On a port of its own of this machine: another origin than the service (RFC 6454 section 4)."""
    pages: dict[str, tuple[str, str]] = {}

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            if self.path == "/rude.css":
                self.answer(200, HOST_STYLE, {"Content-Type": "text/css"})
            elif self.path in pages:
                text, policy = pages[self.path]
                self.answer(200, text, {"Content-Type": "text/html", "Content-Security-Policy": policy})
            else:
                self.answer(404, "", {})

        def answer(self, status: int, text: str, headers: Mapping[str, str]) -> None:
            body = text.encode()
            self.send_response(status)
            for name, value in (headers | {"Content-Length": str(len(body))}).items():
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: Any) -> None:
            """Nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield Host(f"http://127.0.0.1:{server.server_port}", pages)
    finally:
        server.shutdown()
        server.server_close()


def form_key(database: Path, *origins: str) -> str:
    """A form's key for some sites, as its holder presents it."""
    store = open_store(database)
    try:
        return Keyring(Keys(store), utc_now).new("a site's form", "form", origins=origins)[0]
    finally:
        store.close()


@dataclass
class Visit:
    """Somebody who looks at a shop's page with the form in it, and all that their browser asks for."""

    page: Page
    service: Service
    host: Host
    key: str
    asked: list[Request] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.complaints: list[str] = []
        self.page.on("request", lambda request: self.asked.append(request))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("console", lambda told: self._note(told.text))

    def _note(self, text: str) -> None:
        if "Content Security" in text:
            self.complaints.append(text)

    @property
    def policy(self) -> str:
        """The strictest with which the form works."""
        return POLICY.format(self.service.address)

    def open(self, *, attributes: str = "", **shown: Any) -> "Visit":
        """A page with the script tag and nothing else of ours."""
        tag = f'<script src="{self.service.address}/form.js" data-key="{self.key}" {attributes} async></script>'
        self.page.goto("about:blank")
        self.page.goto(self.host.show("/repairs", tag, self.policy, **shown))
        expect(self.form.locator("#device, .told").first).to_be_visible()
        return self

    @property
    def form(self) -> Locator:
        """What stands in the shadow of the element."""
        return self.page.locator("repair-enquiry .frame")

    def field(self, name: str) -> Locator:
        """A field by its id."""
        return self.form.locator(f"#{name}")

    def choose(self, words: str = "kesoway 5") -> "Visit":
        """Finds a device by typing, with a slip."""
        self.field("device").fill(words)
        expect(self.form.locator("[role=option]").first).to_be_visible()
        self.field("device").press("Enter")
        expect(self.form.locator("fieldset").first).to_be_visible()
        return self

    def tick(self, *fields: str) -> "Visit":
        """Repairs and findings."""
        for name in fields:
            self.field(name).check()
        return self

    def priced(self) -> "Visit":
        """Once the price of what is ticked stands there."""
        expect(self.form.locator(".price .amount")).to_be_visible()
        expect(self.form.locator(".price")).not_to_have_attribute("aria-busy", "true")
        return self

    def write(self) -> "Visit":
        """How they are reached, and their consent."""
        self.field("name").fill("Aoife Example")
        self.field("email").fill("aoife@example.org")
        self.field("noticed").fill("Empty by noon.")
        self.field("agreed").check()
        return self

    def send(self) -> None:
        """Clicks once."""
        self.form.locator("button[type=submit]").click()

    def filled(self) -> "Visit":
        """As far as it goes without sending."""
        return self.choose().tick("repair-battery").priced().write()

    def foreign(self) -> set[str]:
        """Origins that the browser asked beside the host's and the service's."""
        own = (self.service.address, self.host.address, "about:", "data:")
        return {request.url for request in self.asked if not request.url.startswith(own)}
