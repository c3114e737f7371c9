"""What the service logs: lines for people or for programs, what was asked for and no more, and never a secret."""

import http.client
import json
import logging
import os
import re
import signal
import sqlite3
import subprocess
import time
from contextlib import closing
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from background.receivers import receiving, status

from quoter.logs import Seldom
from quoter.serving import _warn_of_power

from .running import BALLYQUARN, BATTERY, PATIENCE_SECONDS, Served, command, environment, served

DEMO = ("--demo", "--book", BALLYQUARN)
EVERYTHING = {"QUOTER_LOG": "requests", "QUOTER_WEBHOOK_NETWORKS": "127.0.0.0/8"}
SITE = "https://shop.example"
CONTACT = {"name": "Aoife Example", "phone": "+353 1 555 0100", "email": "aoife@example.org"}
TRACED = "a hint of \x1b[31m\n2026 error forged"


def test_by_default_nothing_is_logged_that_nobody_must_look_at(tmp_path: Path):
    """Prices, refusals and wrong keys are everyday."""
    log = tmp_path / "log"
    with served(tmp_path / "quoter.db", *DEMO, lines=6, log=log) as service:
        key = service.greeting[3].split()[1]
        assert service.ask("/v1/prices", key, BATTERY)[0] == 200
        assert service.ask("/v1/prices", "quoter_000000000000_x", BATTERY)[0] == 401
        assert service.stop() == 0
    assert log.read_text() == ""


def test_a_program_reads_a_line_for_each_request(tmp_path: Path):
    """An object a line (RFC 8259): when, which operation, how it went, how long it took, and whose key it was; and
    when the service began and ended."""
    log = tmp_path / "log"
    options = ("--log", "requests", "--log-format", "json")
    with served(tmp_path / "quoter.db", *DEMO, *options, lines=6, log=log) as service:
        key = service.greeting[3].split()[1]
        service.ask("/v1/prices", key, BATTERY, **{"X-Request-Id": "a-call-of-ours"})
        service.ask("/v1/prices", key, {"device": "brick"})
        service.ask("/healthz")
        assert service.stop() == 0
    started, *lines, told, stopped = [json.loads(line) for line in log.read_text().splitlines()]
    assert (started["message"], started["port"], told["message"].partition(":")[0], stopped["message"]) == (
        "started",
        service.port,
        "told to stop",
        "stopped",
    )
    assert started["database"] == str(tmp_path / "quoter.db")
    assert [(line["method"], line["operation"], line["status"]) for line in lines] == [
        ("POST", "priceJobs", 200),
        ("POST", "priceJobs", 422),
        ("GET", "health", 200),
    ]
    assert [line["key"] for line in lines[:2]] == [key.split("_")[1]] * 2
    assert "key" not in lines[2]
    assert lines[0]["request"] == "a-call-of-ours"
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", line["at"]) for line in lines)
    assert all(line["level"] == "info" and line["milliseconds"] >= 0 for line in lines)


class Asking:
    """Somebody who asks for everything that has a secret, and remembers the secrets."""

    def __init__(self, service: Served) -> None:
        self.service = service
        self.keys = dict(line.split() for line in service.greeting[2:5])
        # no part so short that a time or a port may have the same digits
        self.secrets = set(CONTACT.values()) | {"Empty by noon", "aoife", "555 0100", "5550100"}
        for key in self.keys.values():
            self.secrets |= {key, key.rpartition("_")[2]}

    def ask(self, path: str, scope: str, document: Any = None, **more: str) -> Any:
        """The body of an answer that is no refusal."""
        found, body = self.service.ask(path, self.keys[scope], document, **more)
        assert found < 300, (found, body)
        return body

    def page(self, method: str, path: str, form: dict[str, str] | None = None, **headers: str) -> tuple[int, Any, str]:
        """What a browser gets."""
        sent = {"Sec-Fetch-Site": "same-origin", "Content-Type": "application/x-www-form-urlencoded"} | headers
        with closing(
            http.client.HTTPConnection("127.0.0.1", self.service.port, timeout=PATIENCE_SECONDS)
        ) as connection:
            connection.request(method, path, urlencode(form or {}), sent)
            response = connection.getresponse()
            return response.status, response.headers, response.read().decode(errors="replace")

    def sign_in_and_out(self) -> None:
        """The cookie and the token of its forms."""
        found, headers, _ = self.page("POST", "/sign-in", {"key": self.keys["desk"]})
        assert found == 303
        cookie = headers["Set-Cookie"].partition(";")[0]
        csrf = json.loads(self.page("GET", "/session", Cookie=cookie)[2])["csrf"]
        self.secrets |= {cookie.partition("=")[2], csrf}
        assert self.page("POST", "/sign-out", {"csrf": csrf}, Cookie=cookie)[0] == 303

    def read_by_link(self) -> str:
        """The link of a quote, read and accepted; its path."""
        quote = self.ask("/v1/quotes", "desk", BATTERY | {"contact": CONTACT})
        link = "/q/" + quote["link"].rpartition("/q/")[2]
        token = link.split("/")[2]
        self.secrets.add(token)
        for path, expected in ((link, 200), (f"{link}/quote.pdf", 200), (f"/q/{token}x", 404), (f"/q/{token}/9", 404)):
            assert (path, self.page("GET", path)[0]) == (path, expected)
        assert self.page("POST", f"{link}/accept", {"name": CONTACT["name"]})[0] < 500
        self.ask(f"/v1/quotes?{urlencode({'words': 'aoife'})}", "desk")
        return link

    def fill_in_a_form(self) -> None:
        """An enquiry with the token of its form, first sent too soon."""
        origin = {"Origin": f"http://127.0.0.1:{self.service.port}"}
        token = self.ask("/v1/enquiry-forms", "form", {}, **origin)["token"]
        self.secrets.add(token)
        filled = {"job": BATTERY, "noticed": "Empty by noon.", "contact": CONTACT, "may_be_contacted": True}
        found, body = self.service.ask("/v1/enquiries", self.keys["form"], filled | {"token": token}, **origin)
        if found == 201:
            return  # the machine stood still for as long as somebody takes to fill it in
        assert (found, body["type"]) == (422, "/problems/too-early")
        time.sleep(3.2)
        self.ask("/v1/enquiries", "form", filled | {"token": token}, **origin)

    def tell_a_webhook(self, address: str) -> None:
        """Its secrets, old and new, with attempts that fail."""
        made = self.ask("/v1/webhooks", "owner", {"address": address, "events": ["quote.issued"]})
        again = self.ask(f"/v1/webhooks/{made['id']}/secret", "owner", {}, **{"If-Match": f'"{made["version"]}"'})
        self.ask(f"/v1/webhooks/{made['id']}/trial", "owner", {})
        self.secrets |= {each["secret"].removeprefix("whsec_") for each in (made, again)}

    def be_refused(self, link: str, database: Path) -> None:
        """While somebody else holds the database, and by keys that do not count: what goes wrong is logged too."""
        with closing(sqlite3.connect(database, isolation_level=None)) as holder:
            holder.execute("begin immediate")
            document = BATTERY | {"contact": CONTACT}
            assert self.service.ask("/v1/quotes", self.keys["desk"], document)[0] == 503
            assert self.page("GET", link)[0] < 500
            holder.execute("rollback")
        wrong = self.keys["owner"][:-1] + ("a" if self.keys["owner"][-1] != "a" else "b")
        self.secrets.add(wrong)
        assert self.service.ask("/v1/quotes", wrong)[0] == 401
        self.ask("/v1/customers/export", "owner", {"email": CONTACT["email"]})


@pytest.mark.parametrize("form", ["text", "json"])
def test_no_secret_is_ever_logged(tmp_path: Path, form: str):
    """Keys, cookies, tokens of pages and forms, links, webhooks' secrets, contact data: with everything logged."""
    log, database = tmp_path / "log", tmp_path / "quoter.db"
    with (
        receiving(status(500)) as receiver,
        served(database, *DEMO, lines=6, log=log, QUOTER_LOG_FORMAT=form, **EVERYTHING) as service,
    ):
        asking = Asking(service)
        asking.sign_in_and_out()
        asking.tell_a_webhook(receiver.address)
        link = asking.read_by_link()
        asking.fill_in_a_form()
        receiver.wait_for(2)
        asking.be_refused(link, database)
        assert service.stop() == 0
    logged = log.read_text()
    assert len(logged.splitlines()) > 15
    assert "error" in logged
    assert [secret for secret in asking.secrets if secret in logged] == []
    assert len(asking.secrets) > 15


WRITING = """
import logging, sys, threading
from quoter.api.http.request_log import RequestNames
from quoter.logs import Seldom, set_up
set_up("problems", sys.argv[1], RequestNames())
def fail():
    raise ValueError(sys.argv[2])
thread = threading.Thread(target=fail, name="retention")
thread.start()
thread.join()
server = logging.getLogger("waitress")
server.error("Exception while serving /q/a-link")
queue = Seldom(logging.getLogger("waitress.queue"))
for _ in range(3):
    queue.warning("Task queue depth is %d", 1)
logging.getLogger("quoter.x").info("not asked for")
logging.getLogger("quoter.x").warning("forged\\n2026 error")
"""


def written(form: str) -> list[str]:
    """What a program of its own logs, of whose lines the test knows."""
    done = subprocess.run(
        [*command()[:1], "-c", WRITING, form, TRACED], capture_output=True, text=True, env=environment(), timeout=60
    )
    assert done.returncode == 0
    return done.stderr.splitlines()


def test_threads_and_the_server_log_in_the_same_way():
    """A thread's fault with its trace, the server without addresses, and that others wait only once a minute."""
    fault, *others = map(json.loads, written("json"))
    assert (fault["level"], fault["logger"]) == ("error", "quoter.logs")
    assert fault["message"] == "the thread retention ended by a fault"
    assert TRACED in fault["trace"]
    assert [(line["logger"], line["message"]) for line in others] == [
        ("waitress", "Exception while serving a request"),
        ("waitress.queue", "Task queue depth is 1"),
        ("quoter.x", "forged\n2026 error"),
    ]


def test_what_is_said_seldom_is_said_again_after_a_minute(caplog: pytest.LogCaptureFixture):
    """Both sides of it; what is left out in between is not made up for."""
    moments = iter((0.0, 0.0, 59.9, 60.0, 60.0, 61.0))
    seldom = Seldom(logging.getLogger("seldom"), ticks=lambda: next(moments))
    for number in range(4):
        seldom.warning("%d wait", number)
    assert caplog.messages == ["0 wait", "2 wait"]


def test_nobody_writes_a_line_of_their_own_into_the_log():
    """Lines of a trace are set in, and a message is one line."""
    lines = written("text")
    begun = [line for line in lines if not line.startswith("    ")]
    assert [line.split(" ", 1)[1] for line in begun] == [
        "error quoter.logs: the thread retention ended by a fault",
        "error waitress: Exception while serving a request",
        "warning waitress.queue: Task queue depth is 1",
        "warning quoter.x: forged\\n2026 error",
    ]
    assert all(line.startswith("    ") or re.match(r"\d{4}-\d\d-\d\dT", line) for line in lines)
    assert len(lines) > len(begun)


@pytest.mark.parametrize(
    ("host", "user", "warned"),
    [
        ("0.0.0.0", 0, True),
        ("192.0.2.1", 0, True),
        ("127.0.0.1", 0, False),
        ("::1", 0, False),
        ("0.0.0.0", 1000, False),
    ],
)
def test_power_that_nobody_needs_is_spoken_of(caplog: pytest.LogCaptureFixture, host: str, user: int, warned: bool):
    """Root on an address that others can reach; not where only this machine can, nor for another user."""
    _warn_of_power(host, user)
    assert [each for each in caplog.messages if each.startswith("the service runs as root and listens on")] == (
        caplog.messages[:1] if warned else []
    )
    assert bool(caplog.messages) is warned


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="users as POSIX has them")
def test_the_service_itself_speaks_of_it(tmp_path: Path):
    """On the standard error, whoever runs this test: just then when it is root."""
    log = tmp_path / "log"
    options = ("--book", BALLYQUARN, "--database", tmp_path / "quoter.db", "--host", "0.0.0.0", "--port", "0")
    with (
        log.open("wb") as errors,
        subprocess.Popen(
            command("serve", *options), stdout=subprocess.PIPE, stderr=errors, env=environment()
        ) as process,
    ):
        assert process.stdout is not None
        assert b"http://0.0.0.0:" in process.stdout.readline()
        process.send_signal(signal.SIGTERM)
        assert process.wait(30) == 0
    assert ("runs as root" in log.read_text()) is (os.geteuid() == 0)
