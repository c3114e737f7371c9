"""Erases in the background what has been kept for long enough: once at the start, then every hour."""

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from quoter.service.customers import Customers

LOOKS_EVERY_SECONDS = 3600.0

log = logging.getLogger(__name__)


@dataclass(slots=True)
class Retention:
    """A thread that erases contact data after `keep_days`; with 0 it erases nothing.

    Several processes may do so at once: each batch looks again at what it is about to erase.
    """

    customers: Customers
    keep_days: int
    _stopped: threading.Event = field(default_factory=threading.Event)

    @contextmanager
    def at_work(self) -> Iterator[None]:
        """Looks now and every hour, until the end."""
        self._stopped.clear()
        thread = threading.Thread(target=self._run, name="retention", daemon=True)
        thread.start()
        try:
            yield
        finally:
            self._stopped.set()
            thread.join()

    def _run(self) -> None:
        while not self._stopped.is_set():
            try:
                self.erase_due()
            except Exception:
                log.exception("contact data whose time is over could not be erased; tried again within the hour")
            self._stopped.wait(LOOKS_EVERY_SECONDS)

    def erase_due(self) -> int:
        """Erases all that is due, as far as the service does not stop meanwhile. How many quotes and enquiries."""
        self.customers.forget_senders()
        erased = 0
        for batch in self.customers.erase_due(self.keep_days) if self.keep_days else ():
            erased += batch
            if self._stopped.is_set():
                break
        self.customers.settle(is_new=erased > 0)
        return erased
