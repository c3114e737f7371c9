"""Waits for all connections at once, at the cost of those on which something happens."""

import selectors
from collections import deque
from typing import Any

from waitress import wasyncore


class Connections(dict[int, Any]):
    """What `waitress` keeps of connections, by the numbers of their files, and the system watches.

    Waitress's own loop asks each of them at each turn, which takes 10,000 idle ones longer than to answer. Here a
    connection is looked at after something has come, or after a thread has said that it is to be looked at.
    """

    def __init__(self) -> None:
        super().__init__()
        self._selector = selectors.DefaultSelector()
        self._watched: dict[int, int] = {}
        self._due: set[int] = set()
        self._said: deque[int] = deque()

    def __setitem__(self, file: int, connection: Any) -> None:
        """One more."""
        super().__setitem__(file, connection)
        self._due.add(file)

    def __delitem__(self, file: int) -> None:
        """One that ends, while its file is still open."""
        super().__delitem__(file)
        self._due.discard(file)
        self._watch(file, 0)

    def look_at(self, file: int) -> None:
        """For threads: has it looked at in the next turn, before which they must have changed what they change."""
        self._said.append(file)

    def is_waited_for(self, file: int) -> bool:
        """For threads that have changed something: whether it is noticed when more comes, though nobody looks now.

        A turn that stops watching a connection because it is busy is followed by one that looks again.
        """
        return bool(self._watched.get(file, 0) & selectors.EVENT_READ)

    def turn(self, seconds: float) -> None:
        """Reads and writes what is there, or waits for it."""
        due, self._due = self._due, set()
        while self._said:
            due.add(self._said.popleft())
        for file in due:
            if file in self:
                self._look_at(file)
        for key, events in self._selector.select(seconds):
            connection = self.get(key.fd)
            if connection is not None:
                self._due.add(key.fd)
                self._let_happen(key.fd, connection, events)

    def close(self) -> None:
        """All of them."""
        wasyncore.close_all(self)
        self._selector.close()

    def _look_at(self, file: int) -> None:
        """Watches for what can be done next. Who can take nothing now is left as it is until something comes: most
        often an answer leaves before that."""
        connection = self[file]
        reads = selectors.EVENT_READ if connection.readable() else self._watched.get(file, 0) & selectors.EVENT_READ
        writes = selectors.EVENT_WRITE if connection.writable() and not connection.accepting else 0
        self._watch(file, reads | writes)
        if connection.accepting:  # whether somebody else has room may change with every connection, and with time
            self._due.add(file)

    def _let_happen(self, file: int, connection: Any, events: int) -> None:
        if events & selectors.EVENT_READ:
            if connection.readable():
                wasyncore.read(connection)
            else:
                self._watch(file, self._watched.get(file, 0) & ~selectors.EVENT_READ)
        if events & selectors.EVENT_WRITE and self.get(file) is connection:
            wasyncore.write(connection)

    def _watch(self, file: int, events: int) -> None:
        watched = self._watched.get(file, 0)
        if watched == events:
            return
        if not events:
            del self._watched[file]
            self._selector.unregister(file)
            return
        self._watched[file] = events
        if watched:
            self._selector.modify(file, events)
        else:
            self._selector.register(file, events)
