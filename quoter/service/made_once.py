"""What is costly to make and may be asked for by many at once: made once, and kept while there is room."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from typing import Generic, TypeVar

Thing = TypeVar("Thing")


class MadeOnce(Generic[Thing]):
    """Things by key. Who asks for one that is being made waits for it; the one used longest ago is forgotten first.

    `weight` says how much of the `room` a thing takes; one that takes more than all of it is not kept.
    """

    def __init__(self, room: int, weight: Callable[[Thing], int] = lambda _: 1) -> None:
        self._room, self._weight = room, weight
        self._kept: OrderedDict[Hashable, Thing] = OrderedDict()
        self._taken = 0
        self._making: dict[Hashable, Future[Thing]] = {}
        self._lock = threading.Lock()

    def kept(self, key: Hashable) -> Thing | None:
        """The thing, if it has been made and not been forgotten."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
            return self._kept.get(key)

    def get(self, key: Hashable, make: Callable[[], Thing]) -> Thing:
        """The thing, made now if need be. Raises what `make` raises, also to those who have waited for it."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
            waited_for = self._making.get(key)
            mine: Future[Thing] = waited_for or self._making.setdefault(key, Future())
        if waited_for is None:
            self._make(key, make, mine)
        return mine.result()

    def _make(self, key: Hashable, make: Callable[[], Thing], promise: Future[Thing]) -> None:
        try:
            thing = make()
        except BaseException as error:
            with self._lock:
                del self._making[key]
            promise.set_exception(error)
            return
        with self._lock:
            del self._making[key]
            self._keep(key, thing)
        promise.set_result(thing)

    def _keep(self, key: Hashable, thing: Thing) -> None:
        self._kept[key] = thing
        self._taken += self._weight(thing)
        while self._taken > self._room:
            _, forgotten = self._kept.popitem(last=False)
            self._taken -= self._weight(forgotten)
