"""The worked cases of `shared/`: language-neutral books, jobs and what they cost (its README explains the format)."""

import datetime as dt
import json
from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from quoter.book import RateBook
from quoter.books.compile import compiled
from quoter.books.load import read_folder
from quoter.books.raw import RawBook
from quoter.engine.compose import quote_for
from quoter.job import Discount, Job, Repair
from quoter.problems import JobRefused, Refusal
from quoter.quote import Outcome, Quote

Refused = tuple[Refusal, ...]

SHARED = Path(__file__).parents[2] / "shared"
FOLDERS = sorted(path.parent for path in SHARED.glob("*/jobs.json"))


class Case(NamedTuple):
    """A job of a folder with what is expected of it; `name` is for the test's report."""

    name: str
    folder: Path
    job: Job
    expected: Mapping[str, Any]


def cases() -> Iterator[Case]:
    """Every worked case."""
    for folder in FOLDERS:
        jobs, expected = (json.loads((folder / name).read_text()) for name in ("jobs.json", "expected.json"))
        for number, (job, result) in enumerate(zip(jobs, expected, strict=True)):
            yield Case(f"{folder.name}-job-{number}", folder, job_from(job), result)


@cache
def raw_book_in(folder: Path) -> RawBook:
    """The text of a folder's book."""
    return read_folder(folder / "books" / "b")


@cache
def book_in(folder: Path) -> RateBook:
    """A folder's book, compiled once."""
    return compiled(raw_book_in(folder))


_outcomes: dict[str, Quote | Refused] = {}


def outcome_of(case: Case) -> Quote | Refused:
    """A case's quote or why it has none, worked out once for all tests."""
    if case.name not in _outcomes:
        _outcomes[case.name] = outcome(case.job, book_in(case.folder))
    return _outcomes[case.name]


def forget_outcomes() -> None:
    """So that they are worked out again."""
    _outcomes.clear()


def outcome(job: Job, book: RateBook) -> Quote | Refused:
    """A job's quote, or why it has none."""
    try:
        return quote_for(job, book)
    except JobRefused as refused:
        return refused.refusals


def job_from(document: Mapping[str, Any]) -> Job:
    """A job as the cases write it."""
    discount = document.get("discount")
    return Job(
        device=document["device"],
        repairs=tuple(Repair(**repair) for repair in document["repairs"]),
        date=dt.date.fromisoformat(document["date"]),
        parts=document.get("parts", {}),
        findings=tuple(document["findings"]),
        customer_kind=document["customer"]["kind"],
        urgency=document.get("urgency", "standard"),
        discount=Discount(Decimal(discount["rate"]), discount["reason"]) if discount else None,
        payment=document.get("payment", "other"),
        locale=document.get("locale", "en-IE"),
    )


def as_document(quote: Quote) -> dict[str, Any]:
    """A quote as the cases write it."""
    totals, time = quote.totals, quote.time
    return {
        "lines": [
            {"kind": line.charge.kind, "ref": line.charge.ref, "net": str(line.charge.net), "tax_code": line.tax_code}
            for line in quote.lines
        ],
        "totals": {name: str(getattr(totals, name)) for name in ("net", "tax", "gross", "cash")},
        "time": {f"{name}_minutes": str(getattr(time, f"{name}_minutes")) for name in TIMES},
        "cost": str(quote.economics.cost),
        "contingencies": [{"finding": each.finding, **_amounts(each.outcome)} for each in quote.contingencies],
        "alternatives": [
            {"procedure": each.procedure, "grade": each.grade, **_amounts(each.outcome)} for each in quote.alternatives
        ],
        "ceiling": _amounts(quote.ceiling),
    }


TIMES = ("expected", "quoted", "dwell", "elapsed")


def _amounts(outcome: Outcome) -> dict[str, str]:
    if outcome.refused is not None:
        return {"refused": outcome.refused}
    return {"gross": str(outcome.gross), "difference": str(outcome.difference)}


CASES = tuple(cases())
