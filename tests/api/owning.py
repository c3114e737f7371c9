"""What an owner does over the API, in a line each."""

from typing import Any

import orjson

from .running import Caller, Reply, Service

BOOK = "/v1/books/ballyquarn"
DRAFT = f"{BOOK}/draft"
BENCH_RATE = {"do": "set", "table": "book.toml", "key": "labour.bench_rate"}


class Owner:
    """Somebody with an owner's key and the draft of a book that they saw last."""

    def __init__(self, service: Service, code: str = "ballyquarn") -> None:
        self.caller: Caller = service.caller("owner")
        self.book, self.draft, self.tag = f"/v1/books/{code}", f"/v1/books/{code}/draft", ""

    def seen(self, reply: Reply) -> Reply:
        """The answer, whose tag is remembered."""
        self.tag = reply.headers.get("ETag", self.tag)
        return reply

    def open(self, **wanted: Any) -> Reply:
        """Opens the draft."""
        return self.seen(self.caller.post(self.draft, wanted))

    def look(self) -> Reply:
        """Reads the draft."""
        return self.seen(self.caller.get(self.draft))

    def edit(self, *edits: dict[str, Any], **headers: str) -> Reply:
        """Sends edits with the tag seen last."""
        content = orjson.dumps({"edits": edits})
        return self.seen(self.caller.send("PATCH", self.draft, content, **{"If_Match": self.tag, **headers}))

    def rate(self, value: str) -> Reply:
        """Another bench rate."""
        return self.edit(BENCH_RATE | {"value": value})

    def rows(self, table: str) -> list[dict[str, Any]]:
        """A table's rows."""
        found: list[dict[str, Any]] = self.caller.get(f"{self.draft}/tables/{table}").body["rows"]
        return found

    def publish(self, reason: str = "dearer", **wanted: Any) -> Reply:
        """Publishes the draft as it was seen last."""
        return self.caller.post(f"{self.draft}/publication", {"reason": reason, **wanted}, If_Match=self.tag)

    def published(self, rate: str, **wanted: Any) -> Reply:
        """A version with another bench rate."""
        self.open()
        self.rate(rate)
        done = self.publish(**wanted)
        assert done.status == 201, done.text
        return done


def errors(reply: Reply) -> list[tuple[str, str]]:
    """Pointer and detail of each error."""
    return [(each["pointer"], each["detail"]) for each in reply.body["errors"]]
