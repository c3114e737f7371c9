"""When the database cannot be used, or the program itself has a fault: said clearly, logged, and nothing half done."""

import logging
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from .problems import problem
from .running import BATTERY, Service, a_service


def test_a_database_that_stays_locked(tmp_path: Path, caplog: pytest.LogCaptureFixture):
    """503 and when to come back; meanwhile prices are named, and afterwards all is as before."""
    with a_service(tmp_path, wait_seconds=0.1) as service:
        desk = service.caller("desk")
        before = service.kept()
        with closing(sqlite3.connect(service.store.path, isolation_level=None)) as other:
            other.execute("begin immediate")
            reply = desk.post("/v1/quotes", BATTERY)
            assert desk.post("/v1/prices", BATTERY).status == 200
        problem(reply, 503, "unavailable")
        assert reply.headers["Retry-After"] == "10"
        assert str(service.store.path) not in reply.text
        assert "database is locked" in caplog.text
        assert service.kept() == before
        assert desk.post("/v1/quotes", BATTERY).status == 201


def test_a_disk_that_is_full(service: Service):
    """The quote that found no room is not there, not even half, and took no number."""
    desk = service.caller("desk")
    first = desk.post("/v1/quotes", BATTERY).body["number"]
    before = service.kept()
    with service.store.write() as database:
        (pages,) = database.execute("pragma page_count").fetchone()
        database.execute(f"pragma max_page_count = {pages}")
    problem(desk.post("/v1/quotes", BATTERY), 503, "unavailable")
    assert service.kept() == before
    with service.store.write() as database:
        database.execute("pragma max_page_count = 100000")
    assert (first, desk.post("/v1/quotes", BATTERY).body["number"]) == ("2026-00001", "2026-00002")


def test_a_fault_of_the_program(service: Service, caplog: pytest.LogCaptureFixture):
    """500 without a word of the fault itself, which is in the log."""
    desk = service.caller("desk")
    with service.store.write() as database:
        database.execute("drop table keys")
    with caplog.at_level(logging.ERROR):
        problem(desk.post("/v1/quotes", BATTERY), 500, None)
    assert "no such table: keys" in caplog.text


def test_every_answer_tells_browsers_to_be_careful(service: Service):
    """Errors included."""
    for path in ("/docs", "/v1/devices", "/none"):
        headers = service.caller(None).get(path).headers
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert "default-src 'self'" in headers["Content-Security-Policy"]
