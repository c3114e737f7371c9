"""What else the price could become: contingencies, the ceiling, other grades. Each is a changed job, priced again."""

from collections.abc import Iterator
from dataclasses import replace

from quoter.book import RateBook
from quoter.engine.arithmetic import arithmetic
from quoter.engine.plan import concerns
from quoter.engine.price import Price, price
from quoter.engine.selection import chosen_part
from quoter.job import Job
from quoter.problems import JobRefused
from quoter.quote import Alternative, Contingency, Outcome


def contingencies(base: Price, book: RateBook) -> tuple[Contingency, ...]:
    """Every finding that may emerge, concerns a repair and is not on the job, added at the end of its findings."""
    job = base.job
    return tuple(
        Contingency(code, outcome(replace(job, findings=(*job.findings, code)), base, book))
        for code in emerging(job, book)
    )


def emerging(job: Job, book: RateBook) -> Iterator[str]:
    """The findings that the bench may come upon, in the order of the table."""
    offered = book.offered[job.device]
    repairs = [offered[repair.procedure] for repair in job.repairs]
    for finding in book.findings.values():
        if finding.emerges and finding.code not in job.findings and concerns(finding, repairs):
            yield finding.code


def ceiling(base: Price, possible: tuple[Contingency, ...], book: RateBook) -> Outcome:
    """The job with all contingencies that are not refused."""
    found = [each.finding for each in possible if each.outcome.refused is None]
    if not found:
        return Outcome(base.totals.gross, base.totals.gross - base.totals.gross)
    return outcome(replace(base.job, findings=(*base.job.findings, *found)), base, book)


def alternatives(base: Price, book: RateBook) -> tuple[Alternative, ...]:
    """For every repair whose main slot has parts of other grades that fit: the job with that grade instead."""
    return tuple(
        Alternative(repair.procedure, grade, outcome(_with_grade(base.job, repair.slot, grade, book), base, book))
        for repair in base.work.plan.repairs
        if repair.slot
        for grade in _other_grades(base, repair.slot, book)
    )


def _other_grades(base: Price, slot: str, book: RateBook) -> list[str]:
    chosen = chosen_part(slot, base.job, book).part
    fitting = book.parts_for(base.job.device, slot)
    return [grade for grade in dict.fromkeys(part.grade for part in fitting) if not chosen or grade != chosen.grade]


def _with_grade(job: Job, slot: str, grade: str, book: RateBook) -> Job:
    """The grade replaces what any repair about this slot wished for, and the job's own choice for the slot."""
    return replace(
        job,
        repairs=tuple(
            replace(repair, grade=grade, part=None) if book.procedures[repair.procedure].slot == slot else repair
            for repair in job.repairs
        ),
        parts={other: sku for other, sku in job.parts.items() if other != slot},
    )


def outcome(job: Job, base: Price, book: RateBook) -> Outcome:
    """Gross of a changed job and its difference to the job as it is, or why it is refused."""
    try:
        with arithmetic():
            gross = price(job, book).totals.gross
    except JobRefused as refused:
        return Outcome(refused=str(refused))
    return Outcome(gross, gross - base.totals.gross)
