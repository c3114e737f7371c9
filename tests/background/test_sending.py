"""One attempt: where it goes, how long it may take, and what is made of what comes back."""

import datetime as dt
import socket
import ssl
import subprocess
import threading
import time
from collections.abc import Iterator
from ipaddress import ip_network
from pathlib import Path

import pytest

from quoter.background.sending import Sender
from quoter.records.webhooks import Claim, Delivery, Outcome, Webhook
from quoter.service.clock import stamp, utc_now
from quoter.service.webhooks.addresses import Addresses
from quoter.service.webhooks.signing import new_secret

from .receivers import Receiver, dripping, flooding, hanging, receiving, status

HERE = (ip_network("127.0.0.0/8"),)

PATIENT_SECONDS = 30.0
"""For attempts that are over by themselves: a machine may stand still for some seconds."""

SECONDS, ENOUGH_FOR_A_STATUS = 1.0, 4.0
"""For attempts that have to be ended, before the status comes and after it."""

FAR_LESS_THAN_A_MINUTE = 30.0
"""Such receivers go on for a minute: whoever is back sooner has not waited for their end."""

OK = b"HTTP/1.1 200 OK\r\nContent-Type: text/plain\r\n"


def here(name: str, port: int) -> list[str]:
    """Every name leads to this machine."""
    return ["127.0.0.1"]


def claim(address: str) -> Claim:
    """Something to be told there."""
    now = stamp(utc_now())
    hook = Webhook(id="w", address=address, events=(), secret=new_secret(), created_at=now, created_by="")
    delivery = Delivery(
        place=1, announcement="a", webhook="w", kind="k", about="x", at=now, state="waiting", attempts=0, next_at=now
    )
    return Claim(delivery=delivery, webhook=hook, body='{"type":"k"}', until=now)


def attempt(address: str, *, resolve=here, seconds: float = PATIENT_SECONDS, **sending) -> tuple[Outcome, float]:
    """What came of it, and how many seconds it took."""
    sender = Sender(Addresses(resolve, HERE), seconds_to_connect=seconds, seconds_in_all=seconds, **sending)
    began = time.monotonic()
    return sender.attempt(claim(address), utc_now()), time.monotonic() - began


@pytest.mark.parametrize("code", [200, 201, 202, 204, 299])
def test_any_status_of_2xx_is_a_success(code: int):
    """RFC 9110, section 15.3."""
    with receiving(status(code)) as receiver:
        outcome, _ = attempt(receiver.address)
    assert (outcome.is_success, outcome.status, outcome.detail) == (True, code, "")


@pytest.mark.parametrize("code", [400, 401, 404, 410, 418, 429, 500, 503, 599])
def test_any_other_is_a_failure_that_says_so(code: int):
    """With the status and nothing of the body."""
    with receiving(status(code)) as receiver:
        outcome, _ = attempt(receiver.address)
    assert (outcome.is_success, outcome.status, outcome.detail) == (False, code, f"it answered {code}")


@pytest.mark.parametrize("code", [301, 302, 303, 307, 308])
def test_a_redirect_is_not_followed(code: int):
    """Else a receiver on the internet could send this service into the house."""
    with receiving() as inside, receiving(status(code, Location=inside.address)) as outside:
        outcome, _ = attempt(outside.address)
        time.sleep(0.1)
        assert (len(outside.got), len(inside.got)) == (1, 0)
    assert outcome == Outcome(status=code, detail="it answered with a redirect, which is not followed")


@pytest.mark.parametrize(
    ("answering", "given", "succeeds"),
    [
        (hanging(60), SECONDS, False),
        (dripping(b"HT", b""), SECONDS, False),
        (dripping(b"HTTP/1.1 200 OK\r\nX-Long: ", b"x"), SECONDS, False),
        (dripping(b"HTTP/1.1 100 Continue\r\n\r\n", b"HTTP/1.1 100 Continue\r\n\r\n"), SECONDS, False),
        (dripping(OK + b"Content-Length: 9999\r\n\r\n", b"x"), ENOUGH_FOR_A_STATUS, True),
        (dripping(OK + b"Transfer-Encoding: chunked\r\n\r\n", b"1\r\nx\r\n"), ENOUGH_FOR_A_STATUS, True),
    ],
    ids=["silent", "half a line", "endless header", "endless patience", "slow body", "slow chunks"],
)
def test_the_whole_answer_is_over_in_time(answering, given: float, succeeds: bool):
    """However slowly it drips; once the status and the headers are said, the rest decides nothing."""
    with receiving(answering) as receiver:
        outcome, seconds = attempt(receiver.address, seconds=given)
    assert seconds < FAR_LESS_THAN_A_MINUTE
    assert outcome.is_success is succeeds
    assert outcome.detail == ("" if succeeds else "no answer in time")


@pytest.mark.parametrize("size", [b"-5", b"-1", b"0x5", b"zz", b"1_0", b""])
def test_a_broken_chunk_after_the_status_decides_nothing(size: bytes):
    """A chunk's size is hexadecimal digits alone (RFC 9112, section 7.1); the status has been said by then."""
    said = OK + b"Transfer-Encoding: chunked\r\n\r\n" + size + b"\r\nabc"
    with receiving(lambda request: request.wfile.write(said)) as receiver:
        outcome, _ = attempt(receiver.address)
    assert (outcome.is_success, outcome.status) == (True, 200)


def test_no_more_of_an_answer_is_read_than_anybody_needs():
    """Of 64 MB a small part, and what has been said so far counts."""
    sent: list[int] = []
    with receiving(flooding(OK + b"\r\n", 64, sent)) as receiver:
        outcome, seconds = attempt(receiver.address, seconds=60.0)
        time.sleep(0.2)
    assert outcome.is_success
    assert seconds < FAR_LESS_THAN_A_MINUTE
    assert sum(sent) < 16_000_000  # what the sockets of both sides hold, and no more


@pytest.mark.parametrize(
    "start",
    [b"SSH-2.0-x\r\n\r\n", b"\x00" * 200, b"HTTP/1.1 abc\r\n\r\n", b"", OK + b"X: " + b"y" * 70_000 + b"\r\n\r\n"],
    ids=["another protocol", "zeros", "no number", "nothing", "too long a header"],
)
def test_what_is_no_answer_is_a_failure(start: bytes):
    """And nothing breaks."""
    with receiving(lambda request: request.wfile.write(start)) as receiver:
        outcome, _ = attempt(receiver.address)
    assert outcome.status is None
    assert outcome.detail


def test_headers_without_end_are_cut_off():
    """They count as much as a body does."""
    sent: list[int] = []
    with receiving(flooding(OK + b"X: ", 64, sent)) as receiver:
        outcome, _ = attempt(receiver.address)
    assert outcome == Outcome(detail="what came back is not an answer of HTTP")


def test_where_nobody_listens_there_is_no_connection():
    """Said in the words of the system, without the address that was tried."""
    with socket.socket() as unused:
        unused.bind(("127.0.0.1", 0))
        outcome, _ = attempt(f"http://127.0.0.1:{unused.getsockname()[1]}/")
    assert outcome.status is None
    assert outcome.detail.startswith("no connection: ")


def test_the_connection_goes_to_the_address_that_was_checked():
    """The name is asked for once an attempt, and is what the receiver sees as Host (RFC 9112, section 3.2)."""
    asked: list[str] = []

    def resolve(name: str, port: int) -> list[str]:
        asked.append(name)
        return ["127.0.0.1"]

    with receiving() as receiver:
        outcome, _ = attempt(f"http://books.example.invalid:{receiver.port}/told?a=b", resolve=resolve)
        assert receiver.got[0].headers["host"] == f"books.example.invalid:{receiver.port}"
    assert outcome.is_success
    assert asked == ["books.example.invalid"]


def test_a_name_that_leads_elsewhere_the_second_time_is_not_followed_there():
    """DNS rebinding: fine when it was registered, the machine next door at the attempt. Nothing is sent."""
    answers = [["203.0.114.7"], ["127.0.0.2"]]
    addresses = Addresses(lambda name, port: answers.pop(0), ())
    with receiving() as receiver:
        address = f"https://books.example.org:{receiver.port}/"
        assert addresses.target(address).addresses == ("203.0.114.7",)
        outcome = Sender(addresses).attempt(claim(address), utc_now())
        assert receiver.got == []
    assert outcome.status is None
    assert "127.0.0.2, which is not on the open internet" in outcome.detail


def test_one_closed_address_among_several_is_enough_to_refuse():
    """Any of them may be the one that is connected to."""
    with receiving() as receiver:
        address = f"http://books.example.org:{receiver.port}/"
        outcome, _ = attempt(address, resolve=lambda name, port: ["127.0.0.1", "10.0.0.1"])
        assert receiver.got == []
    assert "10.0.0.1" in outcome.detail


def test_the_next_address_of_a_name_is_tried():
    """Where nobody listens at the first."""
    with receiving() as receiver:
        address = f"http://books.example.org:{receiver.port}/"
        outcome, _ = attempt(address, resolve=lambda name, port: ["127.9.9.9", "127.0.0.1"])
    assert outcome.is_success


def test_a_proxy_of_the_environment_is_not_asked(monkeypatch: pytest.MonkeyPatch):
    """It would be spoken to instead of the address that was checked."""
    with receiving() as receiver, receiving() as proxy:
        for name in ("http_proxy", "HTTP_PROXY", "https_proxy", "ALL_PROXY"):
            monkeypatch.setenv(name, f"http://127.0.0.1:{proxy.port}")
        outcome, _ = attempt(receiver.address)
        assert (len(receiver.got), len(proxy.got)) == (1, 0)
    assert outcome.is_success


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A certificate for books.example.org that nobody has signed, and its key."""
    folder = tmp_path_factory.mktemp("tls")
    key, cert = folder / "key.pem", folder / "cert.pem"
    command = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=x"]
    names = ["-addext", "subjectAltName=DNS:books.example.org", "-keyout", str(key), "-out", str(cert)]
    done = subprocess.run([*command, *names], capture_output=True, check=False)
    if done.returncode:
        pytest.skip("needs openssl")
    return cert, key


@pytest.fixture
def secured(certificate: tuple[Path, Path]) -> Iterator[Receiver]:
    """A receiver that speaks TLS."""
    receiver = Receiver()
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(*certificate)
    receiver.server.socket = context.wrap_socket(receiver.server.socket, server_side=True)
    threading.Thread(target=receiver.server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    yield receiver
    receiver.server.shutdown()
    receiver.server.server_close()


def test_a_certificate_of_the_name_is_enough_although_an_address_is_connected_to(
    secured: Receiver, certificate: tuple[Path, Path]
):
    """RFC 9525: the name that was registered is what the certificate must be for."""
    trusting = ssl.create_default_context(cafile=str(certificate[0]))
    outcome, _ = attempt(f"https://books.example.org:{secured.port}/", tls=lambda: trusting)
    assert outcome.is_success, outcome
    assert secured.got[0].headers["host"] == f"books.example.org:{secured.port}"


@pytest.mark.parametrize(
    ("name", "trusts"), [("books.example.org", False), ("other.example.org", True), ("127.0.0.1", True)]
)
def test_a_certificate_that_nobody_vouches_for_or_of_another_name_is_refused(
    secured: Receiver, certificate: tuple[Path, Path], name: str, trusts: bool
):
    """Nothing is sent; the failure says why."""
    context = ssl.create_default_context(cafile=str(certificate[0])) if trusts else ssl.create_default_context()
    outcome, _ = attempt(f"https://{name}:{secured.port}/", tls=lambda: context)
    assert outcome.status is None
    assert outcome.detail.startswith("no safe connection: ")
    assert secured.got == []


def test_a_receiver_that_never_shakes_hands_is_given_up():
    """TLS begins, and nothing comes: the time for the whole counts there too."""
    with socket.create_server(("127.0.0.1", 0)) as mute:
        outcome, seconds = attempt(f"https://books.example.org:{mute.getsockname()[1]}/", seconds=SECONDS)
    assert outcome == Outcome(detail="no answer in time")
    assert seconds < FAR_LESS_THAN_A_MINUTE


def test_a_moment_to_wait_for_that_is_over_is_none(caplog: pytest.LogCaptureFixture):
    """Retry-After with a date in the past."""
    past = "Sun, 06 Nov 1994 08:49:37 GMT"  # the example of RFC 9110, section 5.6.7
    with receiving(status(503, Retry_After=past)) as receiver:
        outcome, _ = attempt(receiver.address)
    assert outcome.wait_seconds == 0
    assert dt.timedelta(seconds=outcome.wait_seconds) == dt.timedelta(0)
