"""One attempt to tell a receiver something: a POST to an address that has just been checked.

The connection goes to the network address that was checked, so a name that leads elsewhere a moment later changes
nothing; the certificate is that of the name. Redirects are not followed, and no proxy of the environment is asked.
"""

import contextlib
import datetime as dt
import email.utils
import http.client
import io
import socket
import ssl
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, cast

from quoter.problems import AddressRefused
from quoter.records.webhooks import Claim, Outcome
from quoter.service.clock import stamp
from quoter.service.webhooks.addresses import Addresses, Target
from quoter.service.webhooks.signing import signatures
from quoter.service.webhooks.webhooks import secrets_at

SECONDS_TO_CONNECT = 5.0
SECONDS_IN_ALL = 10.0
"""From looking up the name to the end of the answer, however slowly it drips."""

MOST_BYTES = 64 * 1024
"""Of an answer; its body is read to be polite, and not kept."""


@cache
def trusted_by_the_system() -> ssl.SSLContext:
    """The authorities of this machine; whoever sends nothing does not wait until they have been read."""
    return ssl.create_default_context()


@dataclass(frozen=True, slots=True)
class Sender:
    """Makes attempts. `addresses` decides each time anew where one may go, `tls` who may say that they are there."""

    addresses: Addresses
    seconds_to_connect: float = SECONDS_TO_CONNECT
    seconds_in_all: float = SECONDS_IN_ALL
    tls: Callable[[], ssl.SSLContext] = trusted_by_the_system

    def attempt(self, claim: Claim, moment: dt.datetime) -> Outcome:
        """Sends what is to be told and says what came of it; never raises for what the receiver does."""
        until = time.monotonic() + self.seconds_in_all
        body = claim.body.encode()
        try:
            target = self.addresses.target(claim.webhook.address)
            with _Wire(self._connected(target, until), until) as wire:
                return _answer(wire, target, body, _headers(claim, moment, body), moment)
        except AddressRefused as refused:
            return Outcome(detail=str(refused))
        except TimeoutError:
            return Outcome(detail="no answer in time")
        except ssl.SSLError as error:
            return Outcome(detail=f"no safe connection: {getattr(error, 'verify_message', '') or error.reason}")
        except OSError as error:
            return Outcome(detail=f"no connection: {error.strerror or 'it broke'}")
        except (http.client.HTTPException, ValueError, _TooMuch):  # http.client reads numbers with int()
            return Outcome(detail="what came back is not an answer of HTTP")

    def _connected(self, target: Target, until: float) -> socket.socket:
        """To the first of the checked addresses that takes it."""
        by = min(until, time.monotonic() + self.seconds_to_connect)
        failed: OSError = TimeoutError()
        for address in target.addresses:
            try:
                plain = socket.create_connection((address, target.port), _left(by))
            except OSError as error:
                failed = error
                continue
            return self._secured(plain, target, until) if target.scheme == "https" else plain
        raise failed

    def _secured(self, plain: socket.socket, target: Target, until: float) -> socket.socket:
        try:
            plain.settimeout(_left(until))
            return self.tls().wrap_socket(plain, server_hostname=target.name)
        except BaseException:
            plain.close()
            raise


class _TooMuch(Exception):
    """An answer that is longer than anybody needs."""


class _Wire(io.RawIOBase):
    """A connection on which everything together must be over by a moment, and not much may come back."""

    def __init__(self, connected: socket.socket, until: float) -> None:
        super().__init__()
        self._socket, self._until, self._taken = connected, until, 0

    def sendall(self, data: Any) -> None:
        """Sends, as a socket does."""
        self._socket.settimeout(_left(self._until))
        self._socket.sendall(data)

    def makefile(self, *_: Any, **__: Any) -> io.BufferedReader:
        """What is read from, as of a socket."""
        return io.BufferedReader(self, 4096)

    def readable(self) -> bool:
        """It is."""
        return True

    def readinto(self, buffer: Any) -> int:
        """Waits for no longer than is left of the whole time."""
        if self._taken >= MOST_BYTES:
            raise _TooMuch
        self._socket.settimeout(_left(self._until))
        taken = self._socket.recv_into(buffer)
        self._taken += taken
        return taken

    def close(self) -> None:
        """Ends the connection."""
        self._socket.close()
        super().close()


def _left(until: float) -> float:
    left = until - time.monotonic()
    if left <= 0:
        raise TimeoutError
    return left


def _headers(claim: Claim, moment: dt.datetime, body: bytes) -> dict[str, str]:
    """Those of the specification Standard Webhooks; the id is the same at every attempt, the time is not."""
    seconds = int(moment.timestamp())
    message_id = claim.delivery.announcement
    return {
        "Content-Type": "application/json",
        "Connection": "close",
        "User-Agent": "quoter",
        "webhook-id": message_id,
        "webhook-timestamp": str(seconds),
        "webhook-signature": signatures(secrets_at(claim.webhook, stamp(moment)), message_id, seconds, body),
    }


def _answer(wire: _Wire, target: Target, body: bytes, headers: Mapping[str, str], moment: dt.datetime) -> Outcome:
    connection = http.client.HTTPConnection(target.name, target.port)
    connection.sock = wire  # otherwise it would connect by itself, to wherever the name leads by then
    connection.request("POST", target.path, body, {"Host": target.host, **headers})
    response = http.client.HTTPResponse(cast(socket.socket, wire), method="POST")
    response.begin()
    asked = _wait_seconds(response.getheader("Retry-After", ""), moment)
    # The status is said: nothing else counts. A chunk of less than nothing is a ValueError.
    with contextlib.suppress(OSError, http.client.HTTPException, ValueError, _TooMuch):
        response.read(MOST_BYTES)
    return Outcome(status=response.status, detail=_detail(response.status), wait_seconds=asked)


def _detail(status: int) -> str:
    if 300 <= status < 400:
        return "it answered with a redirect, which is not followed"
    return "" if 200 <= status < 300 else f"it answered {status}"


def _wait_seconds(asked: str, moment: dt.datetime) -> int:
    """The header Retry-After: seconds or a date (RFC 9110, section 10.2.3); nothing where it is neither."""
    if asked.isascii() and asked.isdecimal():
        return int(asked[:9])
    try:
        until = email.utils.parsedate_to_datetime(asked)
    except (ValueError, OverflowError):
        return 0
    if until.tzinfo is None:
        until = until.replace(tzinfo=dt.UTC)
    return max(0, int((until - moment).total_seconds()))
