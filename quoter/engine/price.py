"""The price of a job: its lines and totals, without anything that stands beside them."""

from dataclasses import dataclass

from quoter.book import RateBook
from quoter.engine.adjustments import Pricing, adjusted, amounts_of, net_of
from quoter.engine.plan import PlannedJob, planned
from quoter.engine.tax import cash_total, codes_by_kind, refuse_unbegun, tax_rows, tax_rules
from quoter.engine.work import work_charges
from quoter.job import Job
from quoter.money import ZERO
from quoter.quote import Line, TaxRow, Totals


@dataclass(frozen=True, slots=True)
class Price:
    """A priced job with the work that it stands for."""

    job: Job
    work: PlannedJob
    lines: tuple[Line, ...]
    tax: tuple[TaxRow, ...]
    totals: Totals


def price(job: Job, book: RateBook) -> Price:
    """Plan, lines, adjustments, tax. The job must be one that `check_job` accepts; it may still be refused."""
    work = planned(job, book)
    charges = work_charges(work, book)
    landed = sum([charge.cost for charge in charges if charge.kind == "part"], ZERO)
    work_net = sum([charge.net for charge in charges], ZERO)
    codes = codes_by_kind(book.tax, job.customer_kind, len(work.parts), landed, work_net)
    rules = tax_rules(book, job.date)
    lines = [Line(charge, codes[charge.kind]) for charge in charges]
    refuse_unbegun({codes["labour"], *[line.tax_code for line in lines]}, rules, book.tax, job.date)
    lines = adjusted(lines, Pricing(job, book, work, codes, rules))
    rows = tuple(tax_rows(amounts_of(lines), rules))
    net, tax = net_of(lines), sum([row.tax for row in rows], ZERO)
    gross = net + tax
    totals = Totals(net, tax, gross, cash_total(gross, book.tax, book.currency))
    return Price(job, work, tuple(lines), rows, totals)
