"""Which warranty terms each repair comes with."""

from quoter.book import RateBook
from quoter.engine.plan import PlannedJob, PlannedRepair
from quoter.quote import RepairWarranty


def warranties(work: PlannedJob, book: RateBook) -> tuple[RepairWarranty, ...]:
    """For each repair the terms of its part and its procedure; a finding's term replaces them."""
    return tuple(RepairWarranty(repair.procedure, _terms(repair, work, book)) for repair in work.plan.repairs)


def _terms(repair: PlannedRepair, work: PlannedJob, book: RateBook) -> tuple[str, ...]:
    limiting = [finding.warranty for finding in repair.findings if finding.warranty]
    if limiting:
        # Two findings may each bring a term: only the shorter promise can be kept in every case.
        return (min(limiting, key=lambda code: book.warranties[code].days),)
    part = work.main_part(repair)
    codes = (part.warranty if part else None, book.procedures[repair.procedure].warranty)
    return tuple(dict.fromkeys(code for code in codes if code))
