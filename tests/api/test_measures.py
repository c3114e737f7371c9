"""What the service says of itself: readiness, figures for Prometheus, names of requests, lines of the log."""

import json
import logging
import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest
from prometheus_client.parser import text_string_to_metric_families

from quoter.api.http.request_log import RequestNames
from quoter.logs import set_up

from .problems import problem
from .running import BATTERY, Service, a_service


def figures(service: Service) -> dict[tuple[str, ...], float]:
    """Every sample by its name and labels, read by Prometheus' own parser."""
    text = service.caller("owner").get("/metrics").text
    return {
        (sample.name, *sample.labels.values()): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }


def test_a_healthy_service_is_ready(service: Service):
    """And nothing has been written to find that out."""
    before = service.store.path.with_name(service.store.path.name + "-wal").read_bytes()
    assert service.caller(None).get("/readyz").body == {"status": "ok"}
    assert service.store.path.with_name(service.store.path.name + "-wal").read_bytes() == before


def test_a_service_with_a_locked_database_is_not_ready(tmp_path: Path):
    """It answers all the same, within a second or so, whatever patience its writers have."""
    with a_service(tmp_path, wait_seconds=60) as service, closing(sqlite3.connect(service.store.path)) as other:
        other.isolation_level = None
        other.execute("begin immediate")
        problem(service.caller(None).get("/readyz"), 503, "unavailable")
        assert service.caller(None).get("/healthz").status == 200
        other.execute("rollback")
        assert service.caller(None).get("/readyz").status == 200


def test_a_service_whose_database_has_lost_its_tables_is_not_ready(service: Service):
    """A wrong file in the right place, say."""
    with service.store.write() as database:
        database.execute("alter table quotes rename to others")
    assert service.caller(None).get("/readyz").status in (500, 503)


def test_what_is_counted(service: Service):
    """Requests by operation and status, prices, issued quotes, refusals by reason; a list counts each job."""
    desk = service.caller("desk")
    desk.post("/v1/prices", [BATTERY, BATTERY | {"device": "none"}, BATTERY])
    desk.post("/v1/prices", BATTERY | {"device": "none"})
    desk.post("/v1/quotes", BATTERY)
    found = figures(service)
    assert found["quoter_prices_total",] == 2
    assert found["quoter_quotes_issued_total",] == 1
    assert found["quoter_refusals_total", "unknown-code"] == 2
    assert found["quoter_requests_total", "priceJobs", "200"] == 1
    assert found["quoter_requests_total", "priceJobs", "422"] == 1
    assert found["quoter_request_seconds_count", "priceJobs"] == 2
    assert found["quoter_database_bytes",] > 100_000
    assert found["quoter_database_busy_seconds_total",] > 0
    assert found["quoter_webhook_deliveries", "waiting"] == 0


def test_a_quote_that_is_asked_for_again_is_issued_once(service: Service):
    """The second answer is a repetition."""
    desk = service.caller("desk")
    for _ in range(2):
        assert desk.post("/v1/quotes", BATTERY, Idempotency_Key="walk-in-7").status == 201
    assert figures(service)["quoter_quotes_issued_total",] == 1


def test_addresses_do_not_become_labels(service: Service):
    """Thousands of paths that lead nowhere are one line, and the link of a customer is none."""
    nobody = service.app.test_client()
    for number in range(50):
        nobody.get(f"/wp-admin/{number}")
    nobody.get("/q/tell-tale-link/1")
    found = figures(service)
    assert found["quoter_requests_total", "nowhere", "404"] == 50
    assert not any("tell-tale" in label or "wp-admin" in label for labels in found for label in labels)


def test_a_request_has_a_name(service: Service):
    """The caller's, where it is plain; else one of its own that nobody else has."""
    desk = service.caller("desk")
    assert desk.get("/v1/devices", X_Request_Id="till-2.0042").headers["X-Request-Id"] == "till-2.0042"
    for bad in ("short", "x" * 65, "a b c d e f g h", '{"level":"error"}'):
        assert desk.get("/v1/devices", X_Request_Id=bad).headers["X-Request-Id"] not in ("", bad)
    names = {desk.get("/v1/devices").headers["X-Request-Id"] for _ in range(20)}
    assert len(names) == 20


@pytest.fixture
def lines(capsys: pytest.CaptureFixture[str]):
    """Sets up logging and reads what was logged since; afterwards all is as before."""
    root, ours = logging.getLogger(), logging.getLogger("quoter")
    before = root.handlers[:], root.level, ours.level

    def read(what: str, form: str) -> None:
        set_up(what, form, RequestNames())

    yield read
    root.handlers[:] = before[0]
    root.setLevel(before[1])
    ours.setLevel(before[2])
    threading.excepthook = threading.__excepthook__


def test_a_request_is_a_line_of_json(service: Service, lines, capsys: pytest.CaptureFixture[str]):
    """With its name, its operation and its key's id, and without address, body or secret."""
    lines("requests", "json")
    desk = service.caller("desk")
    desk.get("/v1/devices?words=tell-tale", X_Request_Id="till-2.0042")
    (line,) = capsys.readouterr().err.splitlines()
    said = json.loads(line)
    assert {name: said[name] for name in ("level", "request", "method", "operation", "status")} == {
        "level": "info",
        "request": "till-2.0042",
        "method": "GET",
        "operation": "listDevices",
        "status": 200,
    }
    assert said["milliseconds"] >= 0
    assert desk.key.startswith(f"quoter_{said['key']}_")
    assert "tell-tale" not in line
    assert desk.key not in line


def test_a_fault_is_logged_with_the_name_that_the_caller_is_told(
    service: Service, lines, capsys: pytest.CaptureFixture[str]
):
    """So that both speak of the same."""
    lines("problems", "json")
    desk = service.caller("desk")
    with service.store.write() as database:
        database.execute("drop table keys")
    reply = desk.post("/v1/quotes", BATTERY)
    (said,) = [json.loads(line) for line in capsys.readouterr().err.splitlines()]
    assert said["request"] == reply.headers["X-Request-Id"]
    assert said["request"] in reply.body["detail"]
    assert "no such table: keys" in said["trace"]


def test_nobody_writes_lines_of_their_own_into_the_log(lines, capsys: pytest.CaptureFixture[str]):
    """Line breaks and escapes of what is logged as text are written out (CWE-117)."""
    lines("problems", "text")
    logging.getLogger("quoter").warning("the folder of %s", "x\n2026-03-02 error quoter: all is lost\x1b[2J")
    (line,) = capsys.readouterr().err.splitlines()
    assert "\\n2026" in line
    assert "\x1b" not in line
