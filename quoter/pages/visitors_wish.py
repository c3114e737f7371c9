"""What a visitor without scripts has chosen so far, as it stands in an address or a form."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from werkzeug.datastructures import MultiDict

from quoter.book import RateBook
from quoter.job import Job, Repair
from quoter.service.rates.devices import findings_for


@dataclass(frozen=True, slots=True)
class Wish:
    """A device, the grade by repair ("" where there is nothing to choose), and what was noticed.

    `unknown` is what a link named and the book does not offer: it may have been a warning.
    """

    device: str | None
    repairs: Mapping[str, str]
    findings: tuple[str, ...]
    unknown: tuple[str, ...] = ()

    def job(self, today: dt.date, tag: str) -> Job:
        """What is priced: a consumer's job of today."""
        return Job(
            device=self.device or "",
            repairs=tuple(Repair(procedure, grade or None) for procedure, grade in self.repairs.items()),
            date=today,
            parts={},
            findings=self.findings,
            customer_kind="consumer",
            urgency="standard",
            discount=None,
            payment="other",
            locale=tag,
        )

    def query(self, given: Mapping[str, str]) -> dict[str, Any]:
        """The same as parameters of an address, with the book and the language that were `given`."""
        kept = {name: given[name] for name in ("book", "language") if given.get(name)}
        if self.device is None:
            return kept
        grades = {f"grade-{procedure}": grade for procedure, grade in self.repairs.items() if grade}
        return kept | {"device": self.device, "repair": list(self.repairs), "finding": list(self.findings)} | grades


def wish_in(given: MultiDict[str, str], book: RateBook) -> Wish:
    """What of it the book offers; the rest is unknown."""
    device = given.get("device", "")
    if device not in book.devices:
        return Wish(None, {}, (), unknown=(device,) if device else ())
    ticked, seen = given.getlist("repair"), given.getlist("finding")
    repairs = {each: _grade(given, device, each, book) for each in book.offered[device] if each in ticked}
    findings = tuple(each.code for each in findings_for(device, book) if each.code in seen)
    lost = [code for code in (*ticked, *seen) if code and code not in repairs and code not in findings]
    grades = [_lost_grade(given, procedure, grade) for procedure, grade in repairs.items()]
    return Wish(device, repairs, findings, unknown=tuple(dict.fromkeys([*lost, *filter(None, grades)])))


def _lost_grade(given: MultiDict[str, str], procedure: str, grade: str) -> str:
    """The grade that was named where another one stands in its place; "" where none was lost."""
    named = given.get(f"grade-{procedure}", "")
    return named if named != grade else ""


def _grade(given: MultiDict[str, str], device: str, procedure: str, book: RateBook) -> str:
    """The one that was chosen where there is a part of it, else the preferred one."""
    slot = book.procedures[procedure].slot
    grades = [part.grade for part in book.parts_for(device, slot)] if slot else []
    chosen = given.get(f"grade-{procedure}", "")
    return chosen if chosen in grades else next(iter(grades), "")
