"""That a body may follow is said once, by whichever thread (RFC 9110, 10.1.1), and nothing else goes wrong by it."""

import logging
import socket
import struct
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from quoter.wire.connections import Channel

from .test_patience import ENDS_WHAT_NEVER_COMES, WHOLE, Turned, turned, until

GO_ON = b"HTTP/1.1 100 Continue\r\n\r\n"
HEAD = b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 4\r\nExpect: 100-continue\r\n\r\n"


class Held(Channel):
    """A connection on which a thread that says that a body may follow stops `before` or after that for the test."""

    before: bool
    is_about_to: threading.Event
    may_go_on: threading.Event
    closed_by: list[int]

    def send(self, data: bytes, do_close: bool = True) -> int:
        """As ever, but for the stop."""
        if data != GO_ON or threading.current_thread() is threading.main_thread():
            return int(super().send(data, do_close))
        sent = 0 if self.before else int(super().send(data, do_close))
        self.is_about_to.set()
        self.may_go_on.wait(0.3)
        return int(super().send(data, do_close)) if self.before else sent

    def handle_close(self) -> None:
        """As ever."""
        self.closed_by.append(threading.get_ident())
        super().handle_close()


@contextmanager
def held(*, before: bool) -> Iterator[tuple[Turned, socket.socket]]:
    """A service of such connections and somebody on one of them, who asks twice; the first answer has left."""

    class OfThisTest(Held):
        is_about_to, may_go_on, closed_by = threading.Event(), threading.Event(), list[int]()

    OfThisTest.before = before
    with turned() as service:
        service.server.channel_class = OfThisTest
        asking = service.connect(WHOLE + HEAD)
        assert OfThisTest.is_about_to.wait(ENDS_WHAT_NEVER_COMES)
        yield service, asking
        asking.close()


def _channel(service: Turned) -> Any:
    (channel,) = service.server.active_channels.values()
    return channel


def test_it_is_said_once():
    """Also where more comes just as a thread says so, and whoever waits for all finds something to be sent."""
    with held(before=False) as (service, asking):
        channel = _channel(service)
        asking.sendall(b"a")
        service.turn()
        channel.may_go_on.set()
        asking.sendall(b"aaa")
        told = b""
        while not told.endswith(b"\r\n\r\n4"):
            more = service.told(asking)
            assert more
            told += more
        assert told.count(b"HTTP/1.1 200") == 2
        assert told.count(GO_ON) == 1
        until(lambda: channel.total_outbufs_len == 0, service)


def test_whoever_has_gone_is_not_missed(caplog: pytest.LogCaptureFixture):
    """A thread that finds nobody there leaves the end to the one that waits for all, and nobody logs a fault."""
    with held(before=True) as (service, asking):
        channel = _channel(service)
        asking.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        asking.close()
        channel.may_go_on.set()
        for _ in range(1_000):
            service.turn()
            if not service.server.active_channels:
                break
        assert not service.server.active_channels
        assert set(channel.closed_by) == {threading.get_ident()}
        assert channel.file not in service.connections
        assert not [each for each in caplog.records if each.levelno >= logging.ERROR]
