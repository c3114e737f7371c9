"""Who is connected: how many at a time, how slow they may be, and who goes first where there are too many."""

import errno
import math
import socket
import threading
import time
from contextlib import suppress
from functools import partial
from heapq import nsmallest
from typing import Any

from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.server import TcpWSGIServer
from waitress.utilities import queue_logger

from quoter.logs import Seldom
from quoter.wire.requests import Parser
from quoter.wire.turning import Connections

PATIENCE_SECONDS = 30
"""How long a connection stays on which nothing is asked, and how long anybody may be slow before it counts."""

LEAST_PACE = 1_000
"""Bytes a second, on the average, that whoever is slow for longer must send or take."""

LOOKED_AFTER_SECONDS = 1

IDLE_SECONDS = 1
"""Since when nothing is asked on a connection that may have to make room."""

ROOM_MADE = 16
"""One of so many connections, at most, makes room at a time."""

TAKEN_AT_ONCE = 64
"""New connections between two looks at the others."""

LINGERING_SECONDS = 2
"""How long what somebody goes on sending is taken and forgotten after their request was refused before its end, or
after they asked too much ahead: to close at once would take the answer away from them (RFC 9112, 9.6)."""

MOST_AHEAD = 4
"""Requests that are answered on a connection before their answers are taken."""

NO_MORE = (errno.EMFILE, errno.ENFILE, errno.ENOBUFS, errno.ENOMEM)


class Channel(HTTPChannel):  # type: ignore[misc]
    """A connection that knows since when somebody lets it wait."""

    def __init__(self, server: "Server", sock: socket.socket, addr: Any, adj: Adjustments, map: Connections) -> None:  # noqa: A002 - as waitress calls it
        self.parser_class = partial(Parser, most_bytes_kept=server.most_bytes_kept)
        self.timed: Parser | None = None
        self.request: Parser | None = None
        self.begun_at = self.answered_at = self.lingers_until = 0.0
        self.owed = 0
        self.is_refused = False
        self.file = sock.fileno()
        super().__init__(server, sock, addr, adj, map=map)

    def received(self, data: bytes) -> bool:
        """What has come; notes when the request began that is not whole yet."""
        taken: bool = super().received(data)
        if len(self.requests) > MOST_AHEAD:
            self._ask_to_wait()
        if self.request is not self.timed:
            self.timed, self.begun_at = self.request, self.last_activity
        return taken

    def _ask_to_wait(self) -> None:
        """Answers the first of many requests that were sent ahead; the others may be sent again (RFC 9112, 9.3.2)."""
        with self.requests_lock:
            for request in self.requests[MOST_AHEAD:]:
                request.close()
            del self.requests[MOST_AHEAD:]
            if self.requests:
                self.requests[-1].headers["CONNECTION"] = "close"
        self.is_refused = True  # others may be on their way still

    def handle_close(self) -> None:
        """Ends; a body that was not whole is forgotten. The request stays: a thread may be looking at it."""
        begun = self.request
        if begun is not None:
            begun.close()
        super().handle_close()

    def send_continue(self) -> None:
        """Says that a body may follow (RFC 9110, 15.2.1), as long as nobody has ended the connection."""
        with self.outbuf_lock:
            if self.connected:
                super().send_continue()

    def _flush_some(self, do_close: bool = False) -> bool:
        """Sends what there is, one thread at a time: that a body may follow is said by a thread that has nothing else
        to do any more, while another may be sending the rest of its answer. Nobody ends a connection but on request,
        since it is to be the thread that waits for it."""
        with self.outbuf_lock:
            sent: bool = super()._flush_some(do_close)
        return sent

    def service(self) -> None:
        """Answers a request; notes how much of the answer is still to be taken."""
        self.is_refused = self.is_refused or self.requests[0].error is not None
        if self.server.is_stopping and len(self.requests) == 1:
            self.requests[0].headers["CONNECTION"] = "close"  # who asked is not to ask again here (RFC 9112, 9.6)
        self.answered_at = math.inf  # until it is
        self.server.answering.channel = self
        try:
            super().service()
        finally:
            self.server.answering.channel = None
        self.owed, self.answered_at = self.total_outbufs_len, time.time()

    def handle_write(self) -> None:
        """Sends what there is; after a refusal the other direction stays open for a moment."""
        if self.is_refused and self.close_when_flushed and not self.will_close:
            self._flush_exception(self._flush_some)
            if self.connected and not (self.total_outbufs_len or self.will_close):
                self._linger()
        else:
            super().handle_write()

    def _linger(self) -> None:
        self.close_when_flushed = False
        self.lingers_until = time.time() + LINGERING_SECONDS
        try:
            self.socket.shutdown(socket.SHUT_WR)
        except OSError:
            self.handle_close()

    def handle_read(self) -> None:
        """What comes, if it still counts."""
        if self.lingers_until:
            with suppress(OSError):
                self.recv(self.adj.recv_bytes)
        else:
            super().handle_read()

    def is_idle(self) -> bool:
        """Whether nothing is asked, nothing is being asked, and every answer has left."""
        return not (self.requests or self.request or self.total_outbufs_len)

    def is_overdue(self, now: float) -> bool:
        """Whether who is there has been waited for long enough."""
        if self.lingers_until:
            return self.lingers_until < now
        if self.requests:  # a thread is at it, and waits itself where too much of the answer is not taken
            too_much = self.total_outbufs_len > self.adj.outbuf_high_watermark
            return bool(too_much and self.last_activity + PATIENCE_SECONDS < now)
        if self.total_outbufs_len:
            return _is_late(now, self.answered_at, self.owed - self.total_outbufs_len)
        if self.request is not None:
            return _is_late(now, self.begun_at, self.request.header_bytes_received + self.request.body_bytes_received)
        return bool(self.last_activity + PATIENCE_SECONDS < now)


def _is_late(now: float, since: float, moved_bytes: int) -> bool:
    return since + PATIENCE_SECONDS + moved_bytes / LEAST_PACE < now


class Server(TcpWSGIServer):  # type: ignore[misc]
    """Takes so many connections at a time; others wait outside until one of those that nobody uses makes room."""

    channel_class = Channel

    def __init__(
        self, app: Any, connections: Connections, listening: socket.socket, adj: Adjustments, most_bytes_kept: int
    ) -> None:
        self.most_bytes_kept = most_bytes_kept
        self.closed_until = self.next_channel_cleanup = 0.0
        self.is_stopping = False
        self._connections, self.answering = connections, threading.local()  # which channel a thread is at
        where = (listening.family, listening.type, listening.proto, listening.getsockname())
        super().__init__(app, connections, _sock=listening, adj=adj, sockinfo=where, bind_socket=False)
        self.task_dispatcher.queue_logger = Seldom(queue_logger)

    def pull_trigger(self) -> None:
        """Wakes whoever waits for requests, if there is something to do: not after an answer that has left."""
        channel = getattr(self.answering, "channel", None)
        if channel is not None:
            if self._connections.is_waited_for(channel.file) and not channel.writable():
                return
            self._connections.look_at(channel.file)
        super().pull_trigger()

    def readable(self) -> bool:
        """Whether there is room for somebody else."""
        now = time.time()
        if now >= self.next_channel_cleanup:
            self.next_channel_cleanup = now + LOOKED_AFTER_SECONDS
            self.maintenance(now)
        return bool(self.accepting) and not self._is_full() and self.closed_until <= now

    def _is_full(self) -> bool:
        return bool(len(self.active_channels) >= self.adj.connection_limit)

    def handle_accept(self) -> None:
        """Takes on those who wait."""
        for _ in range(TAKEN_AT_ONCE):
            before = len(self.active_channels)
            super().handle_accept()
            if len(self.active_channels) <= before or self._is_full():
                return

    def accept(self) -> Any:
        """The next who waits; nobody for a while where the system has no more files to give."""
        try:
            return super().accept()
        except OSError as error:
            if error.errno not in NO_MORE:
                raise
            self.closed_until = time.time() + LOOKED_AFTER_SECONDS
            self.logger.warning("no connection could be taken on: %s", error.strerror)
            return None

    def maintenance(self, now: float) -> None:
        """Ends connections that keep it waiting, and, where there is no room, some on which nothing is asked."""
        channels = list(self.active_channels.values())
        leaving = [channel for channel in channels if channel.is_overdue(now)]
        if self._is_full() and not leaving:
            idle = [each for each in channels if each.is_idle() and each.last_activity + IDLE_SECONDS < now]
            leaving = nsmallest(
                max(TAKEN_AT_ONCE, len(channels) // ROOM_MADE), idle, key=lambda each: each.last_activity
            )
        for channel in leaving:  # at once: a socket that cannot be written to would not say so
            channel.handle_close()
