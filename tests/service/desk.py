"""A front desk for a test: real rates, a real database file, and a clock that is set."""

import datetime as dt
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from quoter.job import Job, job_from
from quoter.records.access import StoredKey
from quoter.records.quotes import Decision, IssuedQuote
from quoter.service.quotes.quoting import Quoting
from quoter.service.rates.shelf import Shelf
from quoter.store.books import Books
from quoter.store.database import Store
from quoter.store.quotes import Quotes

RATES = Path(__file__).parents[2] / "rates"
NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)

BATTERY: dict[str, Any] = {
    "device": "kessoway-5",
    "repairs": [{"procedure": "battery", "grade": "genuine"}],
    "parts": {},
    "findings": [],
    "customer": {"kind": "consumer"},
    "urgency": "standard",
    "discount": None,
    "payment": "other",
    "locale": "en-IE",
}
SCREEN_TOO = [*BATTERY["repairs"], {"procedure": "screen"}]

DESK = StoredKey(
    id="0", name="front desk", scope="desk", sees_economics=False, secret_sha256="0" * 64, created_at="2026-01-01"
)
OWNER = replace(DESK, name="the owner", scope="owner")

LAW: dict[str, Any] = {
    "code": "invented",
    "title": "An invented rule",
    "reviewed": "",
    "label": "estimate",
    "tax_in_price": True,
    "excess": {"share": "0.10", "of": "gross", "from": False},
    "validity_days": 30,
    "consent": {"how": ["phone", "message"], "number": True},
    "notices": [],
}


class Desk:
    """Somebody at the front desk, in a line each."""

    def __init__(self, store: Store) -> None:
        self.store, self.time = store, NOW
        shelf = Shelf(Books(store), self.now)
        shelf.seed([RATES / "ballyquarn"])
        self.quotes = Quotes(store)
        self.quoting = Quoting(shelf, self.quotes, self.now)

    def now(self) -> dt.datetime:
        """The moment."""
        return self.time

    def forward(self, **difference: float) -> None:
        """Later by so many days, hours, …"""
        self.time += dt.timedelta(**difference)

    def job(self, **members: Any) -> Job:
        """A battery with what is said otherwise."""
        return job_from(BATTERY | {"date": self.time.date().isoformat()} | members)

    def issue(self, **members: Any) -> IssuedQuote:
        """A new quote."""
        job, published = self.job(**members), self.quoting.shelf.named(None)
        issued = self.quoting.issue(job, published, DESK, told=["diagnosis-fee"])
        return self.quoting.get(issued.id)

    def under(self, law: dict[str, Any], **members: Any) -> IssuedQuote:
        """A new quote under a law."""
        quote = self.issue(**members)
        as_by_law = replace(quote, id=f"{quote.id[:-4]}1a30", link=f"{quote.link}x", result=quote.result | {"law": law})
        return self.quotes.add(as_by_law, "kessoway")

    def revise(
        self, seen: IssuedQuote, reason: str = "the bench found more", by: StoredKey = DESK, **changes: Any
    ) -> IssuedQuote:
        """The next revision of what was seen, with some members of the job changed."""
        job = job_from({**seen.job, **changes, "date": self.time.date().isoformat()})
        published = self.quoting.rates_of(seen, "pinned")
        self.quoting.revise(seen, job, published, by, reason=reason, told=("diagnosis-fee",))
        return self.quoting.get(seen.id)

    def decide(self, seen: IssuedQuote, decision: str, **said: Any) -> IssuedQuote:
        """Somebody decides about the revision that was seen."""
        made = {"decision": decision, "revision": seen.revision, "name": "Aoife Example", **said}
        return self.quoting.decide(seen, Decision(**made), DESK.name)


def gross(quote: IssuedQuote) -> Decimal:
    """What the customer pays."""
    return Decimal(quote.result["totals"]["gross"])


@contextmanager
def a_desk(folder: Path) -> Iterator[Desk]:
    """A desk with an empty database."""
    with closing(Store(folder / "quoter.db")) as store:
        yield Desk(store)
