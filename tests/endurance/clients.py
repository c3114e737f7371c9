"""Clients at work: each asks for one thing after the other until the service is gone in the middle of it."""

import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import count
from random import Random
from typing import Any

from .processes import Process, Unanswered
from .wishes import Caller, Told, Wish

JOBS: tuple[dict[str, Any], ...] = (
    {"device": "kessoway-5", "repairs": [{"procedure": "battery", "grade": "genuine"}]},
    {"device": "kessoway-5", "repairs": [{"procedure": "battery"}], "findings": ["swollen-cell"]},
    {"device": "dunnec-21", "repairs": [{"procedure": "screen"}]},
)
DRAFT = "/v1/books/ballyquarn/draft"
RIPE_SECONDS = 3.2
"""A form that is sent sooner than in three seconds is taken for a program's."""
TWINS = 0.2
"""How many wishes are sent twice at the same time."""
LATEST = 40
"""Quotes and enquiries that clients work on: the newest."""


@dataclass(slots=True)
class Memory:
    """What clients know in common: quotes, enquiries and forms that the service has told them of."""

    callers: dict[str, Caller]
    quotes: list[str] = field(default_factory=list)
    enquiries: list[str] = field(default_factory=list)
    forms: list[tuple[float, str]] = field(default_factory=list)
    rates: Iterator[int] = field(default_factory=lambda: count(1))
    lock: threading.Lock = field(default_factory=threading.Lock)

    def ripe_form(self) -> str | None:
        """The token of a form that somebody may have filled in by now; nobody else gets it."""
        with self.lock:
            if self.forms and self.forms[0][0] <= time.monotonic():
                return self.forms.pop(0)[1]
        return None


@dataclass(slots=True)
class Client:
    """One of those who ask at the same time, with dice and a record of their own."""

    name: str
    service: Process
    memory: Memory
    dice: Random
    wishes: list[Wish] = field(default_factory=list)

    def want(self, kind: str, scope: str, path: str, **more: Any) -> Told:
        """Asks for something new. Raises Unanswered."""
        mark = more.pop("mark", None) or self.mark()
        body = more.pop("body", None)
        wish = Wish(mark=mark, kind=kind, caller=self.memory.callers[scope], path=path, **more)
        wish.body = body(mark) if callable(body) else body
        self.wishes.append(wish)
        wish.told = self._asked(wish)
        return wish.told

    def acknowledged(self) -> list[Wish]:
        """What it has been told was done."""
        return [wish for wish in self.wishes if wish.told and wish.told.is_acknowledgement]

    def mark(self) -> str:
        """One that nothing else has."""
        return f"{self.name}-{len(self.wishes)}"

    def read(self, scope: str, path: str) -> Told:
        """Looks something up. Raises Unanswered."""
        return self.service.get(self.memory.callers[scope], path)

    def _asked(self, wish: Wish) -> Told:
        """The answer, now and then to two who send the same at once: where both are done, both are told the same."""
        if not wish.is_named or self.dice.random() > TWINS:
            return self.service.ask_until_free(wish)
        with ThreadPoolExecutor(2) as pool:
            twins = [pool.submit(self.service.ask_until_free, wish) for _ in range(2)]
        answered = [twin.result() for twin in twins if not isinstance(twin.exception(), Unanswered)]
        if not answered:
            raise Unanswered
        done = [told for told in answered if told.is_acknowledgement]
        assert len({(told.status, told.body) for told in done}) <= 1, f"{wish.mark}: two answers to one name"
        assert len(done) in (0, len(answered)), f"{wish.mark}: done for one and refused to the other"
        return answered[0]


def issues(client: Client) -> None:
    """A quote."""
    job = client.dice.choice(JOBS)
    named = client.dice.random() < 0.8
    told = client.want("issue", "desk", "/v1/quotes", body=lambda mark: job | _contact(mark), is_named=named)
    if told.is_acknowledgement:
        client.memory.quotes.append(told.document["id"])


def revises(client: Client) -> None:
    """Another revision of a quote, which somebody else may be revising too."""
    quote = _chosen(client, client.memory.quotes)
    if quote is None:
        return
    tag = client.read("desk", f"/v1/quotes/{quote}").headers["ETag"]
    findings = client.dice.choice(([], ["swollen-cell"], ["liquid"]))
    client.want(
        "revise",
        "desk",
        f"/v1/quotes/{quote}/revisions",
        body=lambda mark: {"reason": mark, "job": {"findings": findings}, "book": "current"},
        if_match=tag,
        is_named=client.dice.random() < 0.8,
    )


def decides(client: Client) -> None:
    """A decision about a quote, as far as one is left to be taken."""
    quote = _chosen(client, client.memory.quotes)
    if quote is None:
        return
    seen = client.read("desk", f"/v1/quotes/{quote}")
    possible = seen.document["next"] or ["accepted"]
    decided = {"decision": client.dice.choice(possible), "revision": seen.document["revision"], "name": "A. Example"}
    client.want(
        "decide",
        "desk",
        f"/v1/quotes/{quote}/decisions",
        body=lambda mark: decided | {"note": mark, "how": "counter"},
        if_match=seen.headers["ETag"],
        is_named=client.dice.random() < 0.8,
    )


def enquires(client: Client) -> None:
    """What a visitor sends by the form, or the desk takes down; and the quote that is made of it."""
    token = client.memory.ripe_form()
    scope = "form" if token else "desk"
    job = {"device": "kessoway-5", "repairs": [{"procedure": "battery"}]}
    asked = {"job": job, "may_be_contacted": True} | ({"token": token} if token else {})
    told = client.want(
        "enquire",
        scope,
        "/v1/enquiries",
        body=lambda mark: asked | _contact(f"asks-{mark}") | {"noticed": mark},
        is_named=scope == "desk" or client.dice.random() < 0.5,
    )
    if told.is_acknowledgement and "Location" in told.headers and client.dice.random() < 0.5:
        of = f"asks-{client.wishes[-1].mark}"
        client.want("answer", "desk", f"{told.headers['Location']}/quote", mark=of, if_match='"1"', is_named=True)


def publishes(client: Client) -> None:
    """The draft as it is found: opened, given another rate, or published."""
    seen = client.read("owner", DRAFT)
    if seen.status == 404:
        seen = client.want("open", "owner", DRAFT, body={}, is_named=True)
    if not seen.is_acknowledgement:
        return
    value = f"3.{next(client.memory.rates):06d}"
    edits = [{"do": "set", "table": "book.toml", "key": "labour.bench_rate", "value": value}]
    seen = client.want(
        "edit",
        "owner",
        DRAFT,
        method="PATCH",
        mark=value,
        body={"edits": edits},
        if_match=seen.headers["ETag"],
    )
    if seen.is_acknowledgement:
        client.want(
            "publish",
            "owner",
            f"{DRAFT}/publication",
            body=lambda mark: {"reason": f"{mark} {value}"},
            if_match=seen.headers["ETag"],
            is_named=True,
        )


WORK: tuple[Callable[[Client], None], ...] = (issues, issues, revises, decides, revises, decides, enquires, publishes)
"""What each of the clients does all the time."""


def _contact(name: str) -> dict[str, Any]:
    return {"contact": {"name": name, "phone": "+353 1 555 0100"}}


def _chosen(client: Client, known: list[str]) -> str | None:
    """One of the newest, and often the very newest, so that clients meet."""
    if not known:
        issues(client)
        return None
    return known[-1] if client.dice.random() < 0.15 else client.dice.choice(known[-LATEST:])


def begin_forms(client: Client, most: int) -> None:
    """Begins as many forms as are lacking, to be filled in later."""
    while len(client.memory.forms) < most:
        told = client.service.ask_until_free(
            Wish(mark="", kind="begin", caller=client.memory.callers["form"], path="/v1/enquiry-forms", body=None)
        )
        assert told.status == 201, told
        client.memory.forms.append((time.monotonic() + RIPE_SECONDS, told.document["token"]))


def until_the_end(client: Client, work: Callable[[Client], None]) -> None:
    """The same thing again and again, until an answer does not come."""
    try:
        while True:
            work(client)
    except Unanswered:
        return
