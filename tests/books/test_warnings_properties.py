"""What a warning calls useless is useless: on books and jobs that are drawn at random."""

from collections.abc import Iterator
from itertools import combinations
from typing import Any

from builders import TODAY, a_job
from engine.random_books import FINDINGS, Priced, book_of, priced, tables
from hypothesis import given

from quoter.book import RateBook
from quoter.books.warnings import Versions, warnings
from quoter.engine.compose import price_of
from quoter.job import Job
from quoter.problems import JobRefused


@given(priced())
def test_no_job_comes_to_a_step_beyond_the_reach_of_its_repair(drawn: Priced):
    """Each step of a plan is within reach of the repair that owns it, on that device, whatever else is on the job."""
    reach = Versions(drawn.book, None, TODAY).reach
    try:
        plan = price_of(drawn.job, drawn.book).work.plan
    except JobRefused:
        return
    for step, owner in zip(plan.steps, plan.owners, strict=True):
        assert step.code in reach[drawn.job.device, plan.repairs[owner].procedure]


@given(priced())
def test_what_is_called_unused_is_on_no_job(drawn: Priced):
    """Neither the parts nor the consumables."""
    unused = {each.key for each in warnings(drawn.book, None, TODAY) if each.table in ("parts", "consumables")}
    try:
        lines = price_of(drawn.job, drawn.book).lines
    except JobRefused:
        return
    assert unused.isdisjoint(line.charge.ref for line in lines if line.charge.kind in ("part", "consumable"))


@given(tables())
def test_a_step_that_a_finding_affects_or_replaces_in_vain_can_be_struck(drawn: dict[str, Any]):
    """Without it every job costs what it did. (The last that it affects cannot: a blank would mean every step.)"""
    book = book_of(drawn)
    rows = {row["code"]: dict(row) for row in drawn["findings"]}
    for flaw in warnings(book, None, TODAY, with_prices=False):
        if flaw.column in ("affects", "replaces"):
            words = rows[flaw.key][flaw.column].split()
            left = [word for word in words if word.partition(":")[0] != flaw.value]
            rows[flaw.key][flaw.column] = " ".join(left if left or flaw.column == "replaces" else words)
    other = book_of({**drawn, "findings": list(rows.values())})
    for job in all_jobs(book) if other.digest != book.digest else ():
        assert outcome(book, job) == outcome(other, job)


def all_jobs(book: RateBook) -> Iterator[Job]:
    """On each device each repair alone and all together, with every selection of findings."""
    for device, offered in book.offered.items():
        for repairs in (*([procedure] for procedure in offered), list(offered)):
            for count in range(len(FINDINGS) + 1):
                for findings in combinations(FINDINGS, count):
                    yield a_job(device=device, repairs=repairs, findings=findings)


def outcome(book: RateBook, job: Job) -> Any:
    """The lines' nets, or why the job is refused."""
    try:
        return [(line.charge.kind, line.charge.ref, line.charge.net) for line in price_of(job, book).lines]
    except JobRefused as refused:
        return str(refused)
