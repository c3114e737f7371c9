"""Requests that may be sent again: who repeats one gets the answer that it got the first time."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from quoter.problems import NameReused, ReplyErased
from quoter.records.replies import EMPTIED, Reply
from quoter.service.clock import Clock, stamp
from quoter.service.ports import Replies as KeptReplies

KEPT = dt.timedelta(hours=24)
"""After which a request of the same name is a new one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A request that may be repeated: whose it is, the name that they gave it, and what it says as a hash."""

    holder: str
    name: str
    request_sha256: str


@dataclass(frozen=True, slots=True)
class Replies:
    """First answers. They are kept together with what the request made, or both are not."""

    kept: KeptReplies
    now: Clock

    def first(self, asked: Asked) -> Reply | None:
        """What the request got the first time. Raises NameReused where it said something else then,
        and ReplyErased where what it made has been erased, whatever is said now."""
        found = self.kept.find(asked.holder, asked.name, stamp(self.now()))
        if found is not None and found.status == EMPTIED:
            raise ReplyErased(f"what {asked.name!r} made has been erased; give what is new a name of its own")
        if found is not None and found.request_sha256 != asked.request_sha256:
            raise NameReused(asked.name)
        return found

    def keep(self, asked: Asked, status: int, headers: Mapping[str, str], body: bytes, *, about: str) -> None:
        """Keeps what a request got, for a day; `about` is the path of what it made.

        Raises Conflict where it was answered meanwhile: what it has made now must be undone.
        """
        moment = self.now()
        reply = Reply(
            holder=asked.holder,
            name=asked.name,
            request_sha256=asked.request_sha256,
            status=status,
            headers=headers,
            body=body,
            about=about,
            at=stamp(moment),
            expires_at=stamp(moment + KEPT),
        )
        self.kept.keep(reply)
