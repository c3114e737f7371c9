"""What clients ask for, each by a mark that stands in what it makes, and what they were told."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

import orjson


class Told(NamedTuple):
    """A whole answer."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def is_acknowledgement(self) -> bool:
        """Whether it says that something was done."""
        return 200 <= self.status < 300

    @property
    def document(self) -> Any:
        """Its JSON."""
        return orjson.loads(self.body)


class Caller(NamedTuple):
    """Who asks, on a page of a site if any."""

    key: str
    origin: str = ""


@dataclass(slots=True, kw_only=True)
class Wish:
    """Something that a client wants to be done once.

    `mark` is kept with what it makes. With `is_named` it is also its Idempotency-Key. `told` is what the client knows
    of it: None where no whole answer came.
    """

    mark: str
    kind: str
    caller: Caller
    path: str
    method: str = "POST"
    body: Any = None
    if_match: str = ""
    is_named: bool = False
    told: Told | None = None

    def headers(self) -> dict[str, str]:
        """What is sent with it."""
        headers = {
            "Authorization": f"Bearer {self.caller.key}" if self.caller.key else "",
            "Origin": self.caller.origin,
            "Content-Type": "" if self.body is None else "application/json",
            "If-Match": self.if_match,
            "Idempotency-Key": f'"{self.mark}"' if self.is_named else "",
        }
        return {name: value for name, value in headers.items() if value}

    @property
    def can_be_repeated(self) -> bool:
        """Whether sending it again does nothing twice: by its name, or as one form is one enquiry."""
        return self.is_named or self.kind == "enquire"
