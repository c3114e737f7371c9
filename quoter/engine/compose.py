"""A quote: the price and all that stands beside it. The folder's table of contents."""

import datetime as dt

from quoter.book import RateBook
from quoter.engine.arithmetic import arithmetic
from quoter.engine.bench import dwell_minutes
from quoter.engine.economics import economics
from quoter.engine.labour import efforts_of
from quoter.engine.memory import remembered
from quoter.engine.outlook import alternatives, ceiling, contingencies
from quoter.engine.plan import Plan
from quoter.engine.price import Price, price
from quoter.engine.refusals import check_job
from quoter.engine.schedule import elapsed_minutes
from quoter.engine.warranty import warranties
from quoter.job import Job
from quoter.money import ZERO, settled
from quoter.quote import Quote, StepOnBench, Time


def quote_for(job: Job, book: RateBook) -> Quote:
    """Prices a job. Raises JobRefused, naming each field that is wrong and the values that would be right."""
    with arithmetic():
        check_job(job, book)
        return _beside(price(job, book), book)


def price_of(job: Job, book: RateBook) -> Price:
    """The bare price of a job, without what stands beside it."""
    with arithmetic():
        check_job(job, book)
        return price(job, book)


def _beside(base: Price, book: RateBook) -> Quote:
    job, work = base.job, base.work
    possible = contingencies(base, book)
    customer = book.tax.customers.get(job.customer_kind)
    return Quote(
        job=job,
        book=book.code,
        currency=book.currency.code,
        display=book.tax.display,
        lines=base.lines,
        tax=base.tax,
        tax_reason=customer.reason if customer else None,
        totals=base.totals,
        deposit=book.currency.round(book.policy.deposit_rate * base.totals.gross),
        time=time_of(work.plan, book),
        lead_days=max((part.lead_days for part in work.parts), default=0),
        plan=steps_on_bench(book, work.plan),
        warranty=warranties(work, book),
        cautions=cautions(work.plan),
        contingencies=possible,
        ceiling=ceiling(base, possible, book),
        alternatives=alternatives(base, book),
        economics=economics(base, book),
        valid_until=job.date + dt.timedelta(days=book.policy.validity_days),
    )


def time_of(plan: Plan, book: RateBook) -> Time:
    """(1 + allowance) sum of e; (1 + allowance)(sum of e + z sigma); sum of dwell; elapsed. Minutes, 6 decimals."""
    steps = efforts_of(book, plan).steps
    return Time(
        expected_minutes=settled(sum((effort.expected_minutes for effort in steps), ZERO)),
        quoted_minutes=settled(sum((effort.quoted_minutes for effort in steps), ZERO)),
        dwell_minutes=settled(dwell_minutes(book, plan)),
        elapsed_minutes=settled(elapsed_minutes(book, plan)),
    )


@remembered
def steps_on_bench(book: RateBook, plan: Plan) -> tuple[StepOnBench, ...]:
    """The steps in working order, each with the repair that it belongs to."""
    return tuple(
        StepOnBench(
            step=step.code,
            repair=plan.repairs[owner].procedure,
            expected_minutes=settled(effort.expected_minutes),
            quoted_minutes=settled(effort.quoted_minutes),
            dwell_minutes=step.dwell,
        )
        for step, owner, effort in zip(plan.steps, plan.owners, efforts_of(book, plan).steps, strict=True)
    )


def cautions(plan: Plan) -> tuple[str, ...]:
    """Of the steps in working order, then of the findings, each once."""
    codes = (*(step.caution for step in plan.steps), *(finding.caution for finding in plan.findings))
    return tuple(dict.fromkeys(code for code in codes if code))
