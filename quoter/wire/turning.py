"""Waits for all connections at once, at the cost of those on which something happens."""

import selectors
import time
from typing import Any

from waitress import wasyncore


class Connections(dict[int, Any]):
    """What `waitress` keeps of connections, by the numbers of their files, and the system watches.

    Waitress's own loop asks each of them at each turn, which takes 10,000 idle ones longer than to answer.
    """

    def __init__(self) -> None:
        super().__init__()
        self._selector = selectors.DefaultSelector()
        self._restless: set[int] = set()

    def __setitem__(self, file: int, connection: Any) -> None:
        """One more."""
        super().__setitem__(file, connection)
        self._restless.add(file)

    def __delitem__(self, file: int) -> None:
        """One that ends, while its file is still open."""
        super().__delitem__(file)
        self._restless.discard(file)
        self._watch(file, 0)

    def turn(self, seconds: float) -> None:
        """Reads and writes what is there, or waits for it."""
        now = time.time()
        for file in tuple(self._restless):
            if file in self:
                self._look_at(file, now)
        for key, events in self._selector.select(seconds):
            connection = self.get(key.fd)
            if connection is not None:
                self._restless.add(key.fd)
                _let_happen(connection, events, lambda file=key.fd, one=connection: self.get(file) is one)

    def close(self) -> None:
        """All of them."""
        wasyncore.close_all(self)
        self._selector.close()

    def _look_at(self, file: int, now: float) -> None:
        connection = self[file]
        # asked first: a thread may finish an answer between these lines, and who is quiet is not looked at again
        is_quiet = hasattr(connection, "is_quiet") and connection.is_quiet(now)
        reads = selectors.EVENT_READ if connection.readable() else 0
        writes = selectors.EVENT_WRITE if connection.writable() and not connection.accepting else 0
        self._watch(file, reads | writes)
        if is_quiet and not writes:
            self._restless.discard(file)

    def _watch(self, file: int, events: int) -> None:
        watched = self._selector.get_map().get(file)
        if watched is None:
            if events:
                self._selector.register(file, events)
        elif not events:
            self._selector.unregister(file)
        elif watched.events != events:
            self._selector.modify(file, events)


def _let_happen(connection: Any, events: int, is_open: Any) -> None:
    if events & selectors.EVENT_READ:
        wasyncore.read(connection)
    if events & selectors.EVENT_WRITE and is_open():
        wasyncore.write(connection)
