"""A rest for the garbage collector while a large book is read.

Reading makes a million objects that all stay and form no circles: the collector would look through the growing heap
again and again, for a third of the time, and find nothing.
"""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

_LOCK = Lock()
_resting: list[bool] = []
"""For each book that is being read, whether the collector was at work before."""


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """Several threads may want it at a time: the last one sets it to work again, if it was at work before the first."""
    with _LOCK:
        _resting.append(gc.isenabled() or any(_resting))
        gc.disable()
    try:
        yield
    finally:
        with _LOCK:
            if _resting.pop() and not _resting:
                gc.enable()
