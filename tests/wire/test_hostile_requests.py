"""Requests that nobody sends who means well: refused or answered, never a fault, and nothing told of the inside."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from . import hostile
from .raw import PATIENCE_SECONDS, Running, answer, check_careful, running


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the service logs, and keeps its file."""
    return tmp_path_factory.mktemp("hostile") / "log"


@pytest.fixture(scope="module")
def service(log: Path) -> Iterator[Running]:
    """A service behind a proxy, which passes on what it is told."""
    with running(log.parent, QUOTER_TRUSTED_PROXY="127.0.0.1") as started:
        yield started


@pytest.fixture(autouse=True)
def _has_no_fault(service: Running, log: Path) -> Iterator[None]:
    """After each of them it goes on, and has nothing to complain of itself."""
    yield
    service.check_goes_on()
    assert "Traceback" not in log.read_text()
    assert service.served.process.poll() is None


@pytest.mark.parametrize("what", hostile.FRAMED_IN_TWO_WAYS)
def test_what_two_could_read_in_two_ways_is_refused(service: Running, what: str):
    """With 400 (431 where it is too long), once; what follows on the connection is not read (RFC 9112, 6.3)."""
    told = service.tell(hostile.FRAMED_IN_TWO_WAYS[what])
    assert told is not None
    assert told.status == (431 if what.endswith("of 100 kB") else 400), told
    assert told.is_last
    assert told.headers["Connection"] == "close"
    check_careful(told)


def test_a_length_that_is_not_kept_to_is_waited_for(service: Running):
    """And given up with whoever goes away: no half request is answered."""
    with service.connect() as connection:
        connection.sendall(service.posted(hostile.JOB).replace(b"Content-Length: ", b"Content-Length: 9"))
        connection.shutdown(1)
        assert answer(connection) is None


def test_what_follows_a_whole_request_is_another(service: Running):
    """Bytes beyond the length are read as the next request, and refused as one."""
    with service.connect() as connection:
        connection.sendall(service.posted(hostile.JOB) + b"nonsense\r\n\r\n")
        told = b"".join(iter(lambda: connection.recv(65_536), b""))
    assert re.findall(rb"HTTP/1\.[01] (\d{3}) ", told) == [b"200", b"400"]


@pytest.mark.parametrize("headers", [100_000, 10_000_000])
def test_headers_that_are_too_long_are_refused(service: Running, headers: int):
    """With 431 (RFC 6585, section 5), which arrives although more is being sent (RFC 9112, 9.6)."""
    told = service.tell(service.posted(hostile.JOB, hostile.JSON, b"X-Long: " + b"a" * headers))
    assert told is not None
    assert told.status == 431
    check_careful(told)


@pytest.mark.parametrize("group", ["target", "header", "body", "type", "coding"])
def test_what_is_absurd_is_answered(service: Running, group: str):
    """Below 500, as a problem where it is refused; pages for people are pages."""
    asked = hostile.of_group(service, group)
    assert len(asked) > 5
    for what, request in asked.items():
        told = service.tell(request)
        assert told is not None, what
        try:
            check_careful(told)
        except AssertionError as error:
            raise AssertionError(what) from error


@pytest.mark.parametrize("said", hostile.FORWARDED, ids=lambda said: f"{said[:12]!r}-{len(said)}")
def test_hops_that_cannot_be_read_are_nobody_known(service: Running, said: bytes):
    """The server's own reading would fail at some; who asks is then unknown, and the price the same."""
    told = service.tell(service.posted(hostile.JOB, hostile.JSON, b"X-Forwarded-For: " + said))
    assert told is not None
    assert told.status == (200 if len(said) < 30_000 else 431), told
    check_careful(told)


@pytest.mark.parametrize("header", [b"X-Forwarded-Proto", b"X-Forwarded-Host"])
@pytest.mark.parametrize(
    "said", [b"ftp", b"https, http", b'"', b"", b"a b", b"[::1", b"\xff", b":", b"a:b:c", b"x" * 9_000]
)
def test_a_scheme_or_a_name_that_cannot_be_read_counts_for_nothing(service: Running, header: bytes, said: bytes):
    """As if the proxy had not said it."""
    told = service.tell(service.posted(hostile.JOB, hostile.JSON, header + b": " + said))
    assert told is not None
    assert told.status == 200, told


def test_a_bomb_stays_packed(service: Running):
    """A body that is coded is refused with 415 and the codings that are taken (RFC 9110, 15.5.16), not unpacked."""
    before = service.used().resident_mib
    body = hostile.bomb(200_000_000)
    told = service.tell(service.posted(body, hostile.JSON, b"Content-Encoding: gzip"))
    assert told is not None
    assert (told.status, told.headers["Accept-Encoding"]) == (415, "identity")
    assert service.used().resident_mib - before < 50


def test_more_than_is_taken_is_refused_and_not_kept(service: Running):
    """50 MB, by length or in chunks, are read to the end, so that the refusal arrives, and are kept nowhere."""
    block = b"a" * 1_000_000
    head = service.request("POST /v1/prices", hostile.JSON, b"Transfer-Encoding: chunked")
    for first, middle, last in (
        (service.request("POST /v1/prices", hostile.JSON, b"Content-Length: 50000000"), block, b""),
        (head, b"f4240\r\n" + block + b"\r\n", b"0\r\n\r\n"),
    ):
        before = service.used()
        with service.connect() as connection:
            connection.settimeout(PATIENCE_SECONDS)
            connection.sendall(first)
            for _ in range(50):
                connection.sendall(middle)
            during = service.used()
            connection.sendall(last)
            told = answer(connection)
        assert told is not None
        assert told.status == 413
        check_careful(told)
        assert during.resident_mib - before.resident_mib < 20
