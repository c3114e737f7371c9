"""Rounds of clients at work, each ended by killing the service at a random moment, and what is found afterwards."""

import shutil
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from random import Random
from typing import Any

from .clients import WORK, Client, Memory, begin_forms, until_the_end
from .found import Found, copied, differences, faults, opened, times
from .processes import BOOK, Process, callers
from .wishes import Told, Wish

MOST_ANSWERS = 16
MOST_SECONDS, MOST_SECONDS_AFTER_WRITING = 0.06, 0.004
"""A round ends when so many answers have come and a little later, at any moment of what is being done then; or, every
other time, just after something has been written, between which and its answer there is not much time."""

COLD, AT_THE_START, FROM_NOTHING = 0.2, 0.2, 0.2
"""How many rounds begin while the service is still working out its first answers, how many kill another start before,
and how many starts import the program too."""

FORMS = 30
NOBODY_LISTENS = "http://127.0.0.1:9/told"
ALL_EVENTS = ["quote.issued", "quote.revised", "quote.decided", "enquiry.received", "book.published"]

Say = Callable[[str], object]


class Broken(AssertionError):
    """What was acknowledged is not there, or something is there twice or in part."""


class Rounds:
    """A file, the services that are killed over it one after the other, and all that clients were told."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.database, self._copies = folder / "quoter.db", folder / "found"
        self._seed, self._dice = seed, Random(seed)
        self._service = Process(self.database, book=BOOK).listening()
        self._memory = Memory(callers(self.database))
        self._fulfilled: list[tuple[Wish, Told]] = []
        self.tally: Counter[str] = Counter()

    def run(self, rounds: int, say: Say = lambda line: None) -> Counter[str]:
        """So many rounds. Raises Broken at the first thing that is wrong."""
        try:
            self._prepare()
            for number in range(1, rounds + 1):
                self._round(number)
                told = ", ".join(f"{what} {count}" for what, count in sorted(self.tally.items()))
                say(f"round {number}/{rounds}: {told}")
            self._end()
        finally:
            self._service.close()
            shutil.rmtree(self._copies, ignore_errors=True)
        return self.tally

    def _prepare(self) -> None:
        """Forms that somebody takes three seconds to fill in, and a webhook, so that every event is announced."""
        hook = {"address": NOBODY_LISTENS, "events": ALL_EVENTS}
        owner = self._memory.callers["owner"]
        told = self._service.ask(Wish(mark="", kind="hook", caller=owner, path="/v1/webhooks", body=hook))
        assert told.status == 201, told
        begin_forms(self._client("forms"), FORMS)
        time.sleep(3.3)

    def _client(self, name: str) -> Client:
        return Client(name, self._service, self._memory, Random(f"{self._seed} {name}"))

    def _round(self, number: int) -> None:
        if self._dice.random() > COLD:
            issue = Wish(mark="", kind="warm", caller=self._memory.callers["desk"], path="/v1/prices", body=WARM)
            assert self._service.ask(issue).status == 200
        wishes = self._until_killed(number)
        with copied(self.database, self._copies) as found:
            self._check_found(found, wishes)
        self._start_again()
        self._repeat([wish for wish in wishes if wish.told is None])
        with opened(self.database) as found:
            self._check_all_told(found, wishes)
        self._check_answers(wishes)
        begin_forms(self._client("forms"), FORMS)

    def _until_killed(self, number: int) -> list[Wish]:
        """What clients asked for until the service was killed under them."""
        clients = [self._client(f"{self._seed}-{number}-{index}") for index in range(len(WORK))]
        with ThreadPoolExecutor(len(clients)) as pool:
            at_work = [pool.submit(until_the_end, each, work) for each, work in zip(clients, WORK, strict=True)]
            self._wait_for(self._dice.randrange(MOST_ANSWERS), clients)
            self._service.kill()
            self.tally["kills"] += 1
            for each in at_work:
                each.result()
        self._refuse_complaints()
        return [wish for client in clients for wish in client.wishes]

    def _wait_for(self, answers: int, clients: list[Client]) -> None:
        """Until they have been told so much, and then for a moment."""
        _wait(lambda: sum(len(client.acknowledged()) for client in clients) >= answers)
        if self._dice.random() < 0.5:
            time.sleep(self._dice.uniform(0, MOST_SECONDS))
            return
        log = self.database.with_name(f"{self.database.name}-wal")
        before = log.stat().st_mtime_ns
        _wait(lambda: log.stat().st_mtime_ns != before)
        time.sleep(self._dice.uniform(0, MOST_SECONDS_AFTER_WRITING))

    def _check_found(self, found: Found, wishes: list[Wish]) -> None:
        """Before anything is mended or repeated."""
        _refuse(faults(found))
        for wish in wishes:
            if wish.told is None:
                kept = times(found, wish)
                _refuse([f"{wish.kind} {wish.mark}: there {kept} times"] if kept > 1 else [])
                self.tally["unanswered, kept" if kept else "unanswered, absent"] += 1
            else:
                self.tally["acknowledged" if wish.told.is_acknowledgement else "refused"] += 1
                _refuse(_wrong(found, wish, wish.told))

    def _start_again(self) -> None:
        """After, at times, another start that is killed in its turn."""
        if self._dice.random() < AT_THE_START:
            dying = Process(self.database, has_imported=True)
            time.sleep(self._dice.uniform(0.0, 1.0))
            dying.close()
            self.tally["kills at the start"] += 1
        self._service.close()
        has_imported = self._dice.random() > FROM_NOTHING
        self._service = Process(self.database, has_imported=has_imported).listening()

    def _repeat(self, unanswered: list[Wish]) -> None:
        """Sends twice what may be sent again. Both are told the same, and that is what is kept."""
        for wish in unanswered:
            if wish.can_be_repeated:
                wish.told, again = (self._service.ask_until_free(wish) for _ in range(2))
                if (wish.told.status, wish.told.body) != (again.status, again.body) and wish.told.is_acknowledgement:
                    raise Broken(f"{wish.kind} {wish.mark}: told {wish.told} and then {again}")
                self.tally["repeated, done" if wish.told.is_acknowledgement else "repeated, refused"] += 1

    def _check_all_told(self, found: Found, wishes: list[Wish]) -> None:
        _refuse(faults(found))
        for wish in wishes:
            if wish.told is not None:
                _refuse(_wrong(found, wish, wish.told))
                if wish.told.is_acknowledgement:
                    self._fulfilled.append((wish, wish.told))

    def _check_answers(self, wishes: list[Wish]) -> None:
        """What the service itself says now of what it issued."""
        for wish in wishes:
            if wish.kind == "issue" and wish.told and wish.told.is_acknowledgement:
                said = wish.told.document
                now = self._service.get(wish.caller, f"/v1/quotes/{said['id']}?revision=1")
                changed = [name for name in FOR_GOOD if now.status != 200 or now.document[name] != said[name]]
                _refuse([f"{wish.mark}: {name} is answered otherwise than it was told" for name in changed])

    def _end(self) -> None:
        """Everything that was ever told is still there, also in the file alone, without its log."""
        if self._service.stop() != 0:
            raise Broken(f"the service ended badly: {self._service.said()[-2000:]}")
        with opened(self.database) as found:
            _refuse(faults(found))
            for wish, told in self._fulfilled:
                _refuse(differences(found, wish, told))
            for table in ("quotes", "revisions", "decisions", "enquiries", "book_versions"):
                (self.tally[f"rows of {table}"],) = found.execute(f"select count(*) from {table}").fetchone()
            _refuse(_unasked(found, self.tally["rows of quotes"]))

    def _refuse_complaints(self) -> None:
        """A killed service has said nothing about faults of its own until then."""
        if "Traceback" in (said := self._service.said()):
            raise Broken(said[-4000:])


FOR_GOOD = ("number", "totals", "lines", "tax", "issued_at", "issued_by", "job", "warranty")
"""Of a revision: what nothing changes that happens afterwards."""

WARM: dict[str, Any] = {"device": "kessoway-5", "repairs": [{"procedure": "battery"}]}


def _wrong(found: Found, wish: Wish, told: Told) -> list[str]:
    """What is wrong with a wish that was answered."""
    if told.is_acknowledgement:
        return differences(found, wish, told)
    if told.status not in (404, 409, 412, 422):
        return [f"{wish.kind} {wish.mark}: {told.status} {told.body!r}"]
    return [f"{wish.kind} {wish.mark}: refused, and kept"] if times(found, wish) else []


def _unasked(found: Found, quotes: int) -> list[str]:
    """No two quotes, revisions, decisions or enquiries are of one wish."""
    marks = {
        "quotes": "select contact_name from quotes",
        "revisions": "select reason from revisions where revision > 1",
        "decisions": "select note from decisions",
        "enquiries": "select noticed from enquiries",
    }
    return [
        f"{table}: {row[0]} is there twice"
        for table, sql in marks.items()
        for row in found.execute(f"select * from ({sql}) group by 1 having count(*) > 1")
    ]


def _wait(condition: Callable[[], bool]) -> None:
    """Until it holds, or for so long that something must be wrong with the machine."""
    until = time.monotonic() + 20
    while not condition() and time.monotonic() < until:
        time.sleep(0.0005)


def _refuse(wrong: list[str]) -> None:
    if wrong:
        raise Broken("\n".join(wrong[:20]))
