"""How long a connection is waited for, and which goes first where there is no room, by moments that the test names."""

import math
import socket
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from select import select
from typing import Any, NamedTuple

from flask import Flask, Response, request

from quoter.config import Settings
from quoter.logs import Seldom
from quoter.serving import _let_in, server_for
from quoter.wire.connections import (
    IDLE_SECONDS,
    LEAST_PACE,
    LINGERING_SECONDS,
    MOST_AHEAD,
    PATIENCE_SECONDS,
    TAKEN_AT_ONCE,
    Server,
)
from quoter.wire.turning import Connections

ENDS_WHAT_NEVER_COMES = 60
"""Seconds. Machines that run tests may stand still for a while."""

LARGE = 8_000_000
"""Bytes of an answer: more than the system takes for a reader who does not read, less than a thread waits for."""
WHOLE = b"GET / HTTP/1.1\r\nHost: a\r\n\r\n"


class Turned(NamedTuple):
    """A server whose connections the test turns itself."""

    server: Server
    connections: Connections
    port: int
    began_at: float

    def turn(self) -> None:
        """As often as needed for whatever is on its way."""
        for _ in range(5):
            self.connections.turn(0.005)

    def told(self, connection: socket.socket) -> bytes:
        """What comes next, or nothing where the connection is closed."""
        connection.setblocking(False)
        until = time.monotonic() + ENDS_WHAT_NEVER_COMES
        while time.monotonic() < until:
            self.turn()
            with suppress(BlockingIOError):
                return connection.recv(1_000)
        raise AssertionError("no answer")

    def connect(self, *sent: bytes, small: bool = False) -> socket.socket:
        """Somebody who has sent this; with a small window if they will not read."""
        connection = socket.socket()
        if small:
            connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4_096)
        connection.connect(("127.0.0.1", self.port))
        connection.settimeout(ENDS_WHAT_NEVER_COMES)
        for each in sent:
            connection.sendall(each)
        self.turn()
        return connection

    def told_all(self, connection: socket.socket) -> bytes:
        """What comes until the service has nothing more to say."""
        told = b""
        while more := self.told(connection):
            told += more
        return told

    def later(self, seconds: float) -> None:
        """What is done about those who are there when so much time has gone by, and more if the machine has paused."""
        self.server.maintenance(time.time() + seconds)
        self.turn()

    def soon(self, seconds: float) -> None:
        """The same when so much time has gone by since the beginning: for nobody it is more, however slow a machine."""
        self.server.maintenance(self.began_at + seconds)
        self.turn()


@contextmanager
def turned(**settings: Any) -> Iterator[Turned]:
    """A server of an app that says how much it was sent, or much."""
    app = Flask("patience")

    @app.route("/", methods=["GET", "POST"])
    def told() -> Response:
        return Response(str(len(request.get_data())))

    @app.get("/large")
    def large() -> Response:
        return Response(b"a" * LARGE)

    with socket.create_server(("127.0.0.1", 0)) as listening:
        server, connections = server_for(app, listening, Settings(**settings))
        server.next_channel_cleanup = math.inf  # moments are those that the test names
        yield Turned(server, connections, listening.getsockname()[1], time.time())
        server.task_dispatcher.shutdown()
        connections.close()


def is_open(connection: socket.socket) -> bool:
    """Whether nobody has closed it."""
    connection.setblocking(False)
    try:
        return connection.recv(1) != b""
    except BlockingIOError:
        return True
    except ConnectionError:
        return False


def test_an_idle_connection_stays_for_a_while():
    """And no longer, also after an answer."""
    with turned() as service, closing(service.connect()) as fresh, closing(service.connect(WHOLE)) as used:
        assert service.told(used).startswith(b"HTTP/1.1 200")
        service.soon(PATIENCE_SECONDS - 5)
        assert is_open(fresh)
        assert is_open(used)
        service.later(PATIENCE_SECONDS + 5)
        assert not is_open(fresh)
        assert not is_open(used)


def test_a_slow_request_must_keep_up_some_pace():
    """What has come buys time: a byte a second is too slow, a body that is large and comes steadily is not."""
    body = b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 90000\r\n\r\n" + b"a" * 60_000
    with turned() as service, closing(service.connect(WHOLE[:20])) as slow, closing(service.connect(body)) as steady:
        service.soon(PATIENCE_SECONDS - 5)
        slow.sendall(b"a")  # it is not silence that counts
        service.turn()
        service.later(PATIENCE_SECONDS + 5)
        assert not is_open(slow)
        assert is_open(steady)
        service.later(PATIENCE_SECONDS + 60_000 / LEAST_PACE + 5)
        assert not is_open(steady)


def test_many_requests_on_one_connection_are_not_one_slow_one():
    """Each has its own time, even if there is never a moment without a begun one."""
    with turned() as service, closing(service.connect(WHOLE[:9])) as busy:
        (channel,) = service.server.active_channels.values()
        first = channel.request
        busy.sendall(WHOLE[9:] + WHOLE[:9])
        service.turn()
        assert channel.request is not None
        assert channel.request is not first
        assert channel.timed is channel.request
        assert not channel.is_overdue(channel.begun_at + PATIENCE_SECONDS)


def test_whoever_does_not_read_is_given_up():
    """The answer, and the file in which it waits, are let go."""
    ask = b"GET /large HTTP/1.1\r\nHost: a\r\n\r\n"
    with turned() as service, closing(service.connect(ask, small=True)) as deaf:
        until(lambda: _is_answered(service), service)
        service.soon(PATIENCE_SECONDS - 5)
        assert len(service.server.active_channels) == 1
        (channel,) = service.server.active_channels.values()
        assert not channel.requests
        service.later(PATIENCE_SECONDS + channel.owed / LEAST_PACE + 5)
        assert not service.server.active_channels
        assert deaf.fileno() > 0


def test_whoever_asks_much_ahead_gets_some_and_asks_again():
    """So that no thread waits for somebody who takes no answers. After the last the connection is closed in a moment:
    to close it at once, on what has not been read, would take the answers away (RFC 9112, 9.6)."""
    with turned() as service, closing(service.connect(WHOLE * 5_000)) as eager:
        told = service.told_all(eager)
        assert MOST_AHEAD <= told.count(b"HTTP/1.1 200") < 100  # a thread has begun before the others are counted
        assert told.count(b"Connection: close") == 1
        eager.sendall(WHOLE)
        service.turn()
        assert len(service.server.active_channels) == 1
        service.later(LINGERING_SECONDS + 1)
        assert not service.server.active_channels


def test_who_is_answered_while_it_stops_is_told_to_go():
    """With the last answer, so that nobody asks again on a connection that is about to end (RFC 9112, 9.6)."""
    with turned() as service, closing(service.connect()) as asking:
        service.server.is_stopping = True
        service.server.task_dispatcher.set_thread_count(0)  # nobody answers before both have come
        asking.sendall(2 * WHOLE)
        service.turn()
        service.server.task_dispatcher.set_thread_count(1)
        told = service.told_all(asking)
        first, last = told.split(b"HTTP/1.1 200 OK")[1:]
        assert b"Connection: close" not in first
        assert b"Connection: close" in last


def test_after_a_refusal_what_goes_on_coming_is_forgotten():
    """For a moment, so that the answer is not lost; then it is over (RFC 9112, 9.6)."""
    with turned() as service, closing(service.connect(b"nonsense\r\n\r\n")) as talking:
        assert service.told_all(talking).startswith(b"HTTP/1.0 400")
        talking.sendall(b"a" * 50_000)
        service.turn()
        talking.sendall(WHOLE)
        service.turn()
        assert service.told(talking) == b""  # no other answer
        assert len(service.server.active_channels) == 1
        service.later(LINGERING_SECONDS + 1)
        assert not service.server.active_channels


def test_where_there_is_no_room_the_longest_idle_makes_some():
    """Not whoever is about to ask, nor whoever came just now; the newcomer waits outside and is then answered."""
    with turned(connections=10) as service:
        asking = service.connect(WHOLE[:20])
        idle = [service.connect() for _ in range(9)]
        assert len(service.server.active_channels) == 10
        outside = service.connect(WHOLE)
        assert len(service.server.active_channels) == 10
        service.soon(0)
        assert all(is_open(each) for each in idle)  # they have only just come
        service.later(IDLE_SECONDS + 1)
        assert not is_open(idle[0])
        assert is_open(asking)
        assert service.told(outside).startswith(b"HTTP/1.1 200")
        asking.sendall(WHOLE[20:])
        service.turn()
        assert service.told(asking).startswith(b"HTTP/1.1 200")
        for each in (asking, outside, *idle):
            each.close()


def test_all_who_wait_outside_are_let_in_at_the_end():
    """However many, and also where more leave than come."""
    with turned() as service:
        leaving = [service.connect() for _ in range(TAKEN_AT_ONCE + 20)]
        for each in leaving:
            each.close()
        waiting = [socket.create_connection(("127.0.0.1", service.port)) for _ in range(TAKEN_AT_ONCE + 10)]
        _let_in(service.server)
        service.server.del_channel()  # nobody else
        service.turn()
        assert len(service.server.active_channels) == len(waiting)
        for each in waiting:
            each.close()


def test_a_queue_is_warned_of_seldom():
    """Who has too much to do is not given more by its log."""
    with turned() as service:
        assert isinstance(service.server.task_dispatcher.queue_logger, Seldom)


def test_those_on_whom_nothing_happens_are_not_asked():
    """A turn looks at those on whom something happened, and at whoever lets others in, however many there are."""
    with turned() as service:
        held = [socket.create_connection(("127.0.0.1", service.port)) for _ in range(50)]
        service.turn()
        assert len(service.connections) > 50
        assert len(service.connections._due) < 5
        held[0].sendall(WHOLE)
        service.turn()
        assert held[0].recv(1_000).startswith(b"HTTP/1.1 200")
        for each in held:
            each.close()
        until(lambda: not service.server.active_channels, service)
        assert len(service.connections) < 5


class _Answered:
    """A connection that a thread is at, which finishes its answer in the moment after somebody has looked whether more
    may come; `says` is what a thread tells of it."""

    accepting = False

    def __init__(self, here: socket.socket, there: socket.socket, says: Callable[[], object]) -> None:
        self.here, self.there, self.says = here, there, says
        self.is_at_work, self.has_answer = True, False

    def readable(self) -> bool:
        seen = not (self.is_at_work or self.has_answer)
        if self.is_at_work and select([self.here], [], [], 0)[0]:
            self._finish()
        return seen

    def writable(self) -> bool:
        return self.has_answer

    def _finish(self) -> None:
        self.is_at_work, self.has_answer = False, True
        self.says()

    def handle_read_event(self) -> None:
        self.here.sendall(b"read " + self.here.recv(100))

    def handle_write_event(self) -> None:
        self.has_answer = False
        self.here.sendall(b"answered ")

    def close(self) -> None:
        self.here.close()


def test_an_answer_that_is_finished_while_somebody_looks_is_sent():
    """Who has looked just before a thread finished looks again, because the thread says so."""
    here, there = socket.socketpair()
    with closing(there), closing(Connections()) as connections:
        there.settimeout(ENDS_WHAT_NEVER_COMES)
        file = here.fileno()
        connections[file] = _Answered(here, there, lambda: connections.look_at(file))
        there.sendall(b"more")
        for _ in range(5):
            connections.turn(0)
        assert there.recv(100) == b"answered read more"


class _Silent(_Answered):
    """The same where the answer has left already; a thread says nothing as long as more would be noticed."""

    def _finish(self) -> None:
        self.is_at_work = False
        self.says()


def test_what_comes_while_an_answer_is_finished_is_read():
    """A connection that is busy when more comes is not watched any more; the thread that ends just then has seen that
    it was, and says nothing."""
    here, there = socket.socketpair()
    with closing(there), closing(Connections()) as connections:
        there.settimeout(ENDS_WHAT_NEVER_COMES)
        file, seen = here.fileno(), []
        quiet = _Silent(here, there, lambda: seen.append(connections.is_waited_for(file)))
        quiet.is_at_work = False
        connections[file] = quiet
        connections.turn(0)
        quiet.is_at_work = True
        there.sendall(b"more")
        for _ in range(4):
            connections.turn(0)
        assert seen == [True]
        assert there.recv(100) == b"read more"


def _is_answered(service: Turned) -> bool:
    (channel,) = service.server.active_channels.values()
    return math.isfinite(channel.answered_at) and bool(channel.total_outbufs_len)


def until(holds: Callable[[], bool], service: Turned) -> None:
    """Turns the connections until this holds."""
    last = time.monotonic() + ENDS_WHAT_NEVER_COMES
    while not holds():
        assert time.monotonic() < last
        service.turn()
