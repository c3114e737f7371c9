"""What must hold for every book and every job. Books and jobs are drawn at random, the same ones on every run."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from builders import a_book, a_job, a_row, a_step, nets, quoted
from hypothesis import assume, given
from hypothesis import strategies as st

from quoter.books.compile import compiled
from quoter.engine.compose import price_of, quote_for
from quoter.engine.parts import part_charge
from quoter.engine.plan import Plan
from quoter.job import Discount, Job
from quoter.problems import REASONS, JobRefused
from quoter.quote import Quote

from .cases import CASES, FOLDERS, as_document, book_in, outcome, raw_book_in
from .random_books import DEVICES, PROCEDURES, SLOTS, Priced, amounts, book_of, jobs, priced, tables

MILLIONTH = Decimal("0.000001")


def priced_or_rejected(drawn: Priced) -> Quote:
    """The quote; a job that is refused is no example."""
    try:
        return quote_for(drawn.job, drawn.book)
    except JobRefused:
        assume(False)
        raise


@given(priced())
def test_lines_add_up_and_net_and_tax_are_gross(drawn: Priced):
    """Totals are sums of what is shown, in whole minor units."""
    quote = priced_or_rejected(drawn)
    totals, unit = quote.totals, drawn.book.currency.unit
    assert totals.net == sum(line.charge.net for line in quote.lines)
    assert totals.tax == sum(row.tax for row in quote.tax)
    assert totals.net + totals.tax == totals.gross
    for amount in (*(line.charge.net for line in quote.lines), *(row.tax for row in quote.tax), totals.gross):
        assert amount == amount.quantize(unit)


@given(priced())
def test_every_line_is_taxed_by_a_code_of_the_profile(drawn: Priced):
    """And what is taxed under a code is what stands under it, where the stage keeps codes apart."""
    quote = priced_or_rejected(drawn)
    assert {line.tax_code for line in quote.lines} <= set(drawn.book.tax.codes)
    if drawn.book.tax.stage != "document":
        for row in quote.tax:
            assert row.taxable == sum(line.charge.net for line in quote.lines if line.tax_code == row.code)


@given(priced())
def test_what_may_come_is_compared_with_what_is(drawn: Priced):
    """A difference is gross less gross, of contingencies, alternatives and the ceiling."""
    quote = priced_or_rejected(drawn)
    possible = [each.outcome for each in (*quote.contingencies, *quote.alternatives)]
    for each in (*possible, quote.ceiling):
        assert (each.gross is None) is (each.refused is not None)
        if each.gross is not None:
            assert each.difference == each.gross - quote.totals.gross


@given(priced())
def test_a_contingency_is_the_price_of_the_job_with_the_finding(drawn: Priced):
    """Priced by itself it comes to the same; so does every alternative that is priced."""
    quote = priced_or_rejected(drawn)
    for each in quote.contingencies:
        if each.outcome.refused is None:
            worse = replace(drawn.job, findings=(*drawn.job.findings, each.finding))
            assert price_of(worse, drawn.book).totals.gross == each.outcome.gross


@given(priced())
def test_a_job_priced_twice_and_by_a_fresh_book_gives_the_same_quote(drawn: Priced):
    """What the book remembers changes nothing, down to the derivations."""
    quote = priced_or_rejected(drawn)
    assert quote_for(drawn.job, drawn.book) == quote
    assert quote_for(drawn.job, book_of(drawn.given)) == quote


@given(priced(), st.data())
def test_jobs_that_were_priced_before_do_not_change_a_quote(drawn: Priced, data: Any):
    """A book that has priced other jobs is as good as a fresh one."""
    quote, busy = priced_or_rejected(drawn), book_of(drawn.given)
    for job in data.draw(st.lists(jobs(busy), max_size=3)):
        try:
            quote_for(job, busy)
        except JobRefused:
            continue
    assert quote_for(drawn.job, busy) == quote


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_worked_cases_backwards_in_a_fresh_book_give_the_same_quotes(folder: Any):
    """Whatever was asked first."""
    fresh = compiled(raw_book_in(folder))
    for case in reversed([case for case in CASES if case.folder == folder]):
        assert outcome(case.job, fresh) == outcome(case.job, book_in(folder))


@given(priced())
def test_a_discount_of_nothing_changes_nothing(drawn: Priced):
    """No line, no cent."""
    job = replace(drawn.job, discount=None)
    plain = priced_or_rejected(replace(drawn, job=job))
    free = quote_for(replace(job, discount=Discount(Decimal(0), "none")), drawn.book)
    assert replace(free, job=job) == plain


@given(priced())
def test_the_order_of_the_jobs_parts_does_not_matter(drawn: Priced):
    """They are a mapping."""
    quote = priced_or_rejected(drawn)
    job = replace(drawn.job, parts=dict(reversed(drawn.job.parts.items())))
    assert quote_for(job, drawn.book) == quote


UNORDERED = ("devices", "procedures", "offers", "usage", "warranty", "cautions")
"""Tables whose rows have no order of preference."""


@given(priced())
def test_the_order_of_rows_does_not_matter_where_it_means_nothing(drawn: Priced):
    """Every figure, the plan, the terms and the cautions stay; only a derivation may add in another order."""
    quote = priced_or_rejected(drawn)
    reversed_rows = {name: drawn.given[name][::-1] for name in UNORDERED}
    other = quote_for(drawn.job, book_of(drawn.given | reversed_rows))
    assert figures(other) == figures(quote)


def figures(quote: Quote) -> tuple[Any, ...]:
    """All of a quote but its derivations."""
    return (
        as_document(quote), quote.tax, quote.plan, quote.warranty, quote.cautions, quote.economics, quote.lead_days,
    )  # fmt: skip


# plan and time


@given(priced())
def test_the_plan_has_each_step_once_and_after_what_it_needs(drawn: Priced):
    """And each belongs to a repair of the job."""
    plan = plan_for(drawn)
    assert len(set(plan.steps)) == len(plan.steps)
    assert all(need < place for place, needs in enumerate(plan.needs) for need in needs)
    assert set(plan.owners) <= set(range(len(drawn.job.repairs)))


@given(priced())
def test_elapsed_time_is_at_least_each_chain_and_at_most_everything_in_a_row(drawn: Priced):
    """Expected minutes and dwell along what waits for each other; and never less than the hands' own work."""
    quote, plan = priced_or_rejected(drawn), plan_for(drawn)
    time, most = quote.time, MILLIONTH * (len(plan.steps) + 1)
    longest: list[Decimal] = []
    for place, step in enumerate(quote.plan):
        before = max((longest[need] for need in plan.needs[place]), default=Decimal(0))
        longest.append(before + step.expected_minutes + step.dwell_minutes)
    assert time.elapsed_minutes >= max(longest, default=Decimal(0)) - most
    assert time.expected_minutes - most <= time.elapsed_minutes
    assert time.elapsed_minutes <= time.expected_minutes + time.dwell_minutes + most


@given(priced())
def test_the_steps_minutes_are_the_quotes_minutes(drawn: Priced):
    """Nothing is lost between the steps and the whole, and a promise is no shorter than the mean."""
    quote = priced_or_rejected(drawn)
    for name in ("expected_minutes", "quoted_minutes", "dwell_minutes"):
        total = sum((getattr(step, name) for step in quote.plan), Decimal(0))
        assert abs(total - getattr(quote.time, name)) <= MILLIONTH * (len(quote.plan) + 1)
    assert quote.time.quoted_minutes >= quote.time.expected_minutes


def without_replacements(rows: Any) -> Any:
    """Findings that leave the steps as they are."""
    return [{**row, "replaces": ""} for row in rows]


@given(priced(wishes=False, findings=without_replacements))
def test_repairs_together_take_no_longer_than_apart(drawn: Priced):
    """Steps are shared, and so is the reserve of time.

    Guaranteed where no repair wishes for a part (a wish may bring one that saves less) and no finding replaces a step
    (a replacement counts for repairs that the finding alone would not concern).
    """
    together = priced_or_rejected(drawn).time
    apart = [quote_for(replace(drawn.job, repairs=(repair,)), drawn.book).time for repair in drawn.job.repairs]
    assert together.quoted_minutes <= sum(time.quoted_minutes for time in apart) + MILLIONTH * 4
    assert together.expected_minutes <= sum(time.expected_minutes for time in apart) + MILLIONTH * 4


def plan_for(drawn: Priced) -> Plan:
    """The plan of a job that can be priced."""
    priced_or_rejected(drawn)
    return price_of(drawn.job, drawn.book).work.plan


# what more costs more


@given(
    priced(
        wishes=False,
        found=(),
        settings=lambda settings: settings | {"labour.confidence": "0.5", "policy.price_ending.mode": "none"},
        difficulty=lambda rows: rows[:1],
        procedures=lambda rows: [{**row, "difficulty": "d0"} for row in rows],
        offers=lambda rows: [{**row, "difficulty": ""} for row in rows],
        parts=lambda rows: [{**row, "saves": ""} for row in rows],
        menu=lambda rows: [],
    )
)
def test_a_repair_added_never_lowers_the_net(drawn: Priced):
    """Guaranteed under these conditions, and not without them.

    The repair is added last and is no harder than the others, so it takes no step from them; confidence is 0.5, so no
    reserve of time is shared anew; nothing is saved by a part, no finding or wish is on the job, no menu price falls
    away, and no price ending moves the net. Then every line stays or grows.
    """
    assume(len(drawn.job.repairs) > 1)
    more = priced_or_rejected(drawn).totals.net
    fewer = replace(drawn.job, repairs=drawn.job.repairs[:-1])
    assert price_of(fewer, drawn.book).totals.net <= more


def test_a_harder_repair_may_lower_the_net_by_taking_steps_over():
    """Why the property above has conditions: in quarters of an hour, 16 and 16 minutes are 60, 14, 14 and 5 are 45."""
    steps = [a_step("s", 2), a_step("t", 2), a_step("a", 14), a_step("b", 14), a_step("c", 1)]
    procedures = [a_row("a", goals="s a"), a_row("b", goals="t b"), a_row("c", goals="s t c", difficulty="harder")]
    difficulty = [a_row("usual"), a_row("harder")]
    book = a_book(
        steps=steps, procedures=procedures, difficulty=difficulty, parts=[], settings={"labour.increment_minutes": 15}
    )
    assert nets(quoted(book, repairs=["a", "b"])) == ["30.00", "30.00"]
    assert nets(quoted(book, repairs=["a", "b", "c"])) == ["15.00", "15.00", "15.00"]


BANDS = st.lists(st.tuples(amounts(60), st.decimals(0, 2, places=2)), min_size=1, max_size=4)


@given(bands=BANDS, costs=st.lists(amounts(100), min_size=2, max_size=4))
def test_a_part_that_costs_more_is_priced_no_lower(bands: list[tuple[Decimal, Decimal]], costs: list[Decimal]):
    """Across all bands of markup, whatever their rates."""
    edges = sorted({edge for edge, _ in bands if edge})
    markup = [*({"upto": edge, "rate": rate} for edge, (_, rate) in zip(edges, bands, strict=False))]
    skus = [f"battery-{number}" for number in range(len(costs))]
    rows = [{"sku": sku, "cost": cost} for sku, cost in zip(skus, sorted(costs), strict=True)]
    book = a_book(markup=[*markup, {"rate": bands[-1][1]}], parts=[*rows, {"sku": "P1", "slot": "port"}])
    prices = [part_charge(book, sku).net for sku in skus]
    assert prices == sorted(prices)
    assert all(price >= cost for price, cost in zip(prices, sorted(costs), strict=True))


# refusals


@st.composite
def wrong_jobs(draw: Any) -> Priced:
    """A job of a random book with any of its codes exchanged for another, or for one that is not there."""
    given = draw(tables())
    book = book_of(given)
    words = st.sampled_from([*DEVICES, *PROCEDURES, *SLOTS, *book.parts, *book.findings, "nothing", "a/b~c"])
    job = draw(jobs(book))
    changes = {
        "device": words,
        "findings": st.lists(words, max_size=3).map(tuple),
        "parts": st.dictionaries(words, words | st.none(), max_size=2),
        "customer_kind": st.sampled_from(["consumer", "friend"]),
        "urgency": st.sampled_from(["express", "now"]),
        "discount": st.sampled_from([None, Discount(Decimal("1.5"), "too much")]),
        "repairs": st.lists(
            st.sampled_from(job.repairs).flatmap(
                lambda repair: st.builds(replace, st.just(repair), grade=words | st.none(), part=words | st.none())
            ),
            max_size=3,
        ).map(tuple),
    }
    changed = draw(st.lists(st.sampled_from(sorted(changes)), unique=True, max_size=2))
    return Priced(given, book, replace(job, **{field: draw(changes[field]) for field in changed}))


@given(wrong_jobs())
def test_a_job_is_priced_or_refused_at_a_field_for_a_reason(drawn: Priced):
    """Nothing else is ever raised; each refusal has a reason that is documented and points into the job."""
    found = outcome(drawn.job, drawn.book)
    if isinstance(found, Quote):
        return
    assert found
    for refusal in found:
        assert refusal.reason in REASONS
        assert refusal.detail
        assert points_into(document_of(drawn.job), refusal.pointer), refusal


def document_of(job: Job) -> dict[str, Any]:
    """A job as a client writes it, without what is not asked for."""
    return {
        "device": job.device,
        "repairs": [{"procedure": repair.procedure} for repair in job.repairs],
        "parts": dict(job.parts),
        "findings": list(job.findings),
        "customer": {"kind": job.customer_kind},
        "urgency": job.urgency,
        "payment": job.payment,
        "discount": {"rate": job.discount.rate} if job.discount else None,
        "date": job.date,
    }


def points_into(document: Any, pointer: str) -> bool:
    """Whether an RFC 6901 pointer leads to a field that is there, or to one that is missing from an object."""
    *path, last = _words(pointer)
    for word in path:
        document = document[int(word)] if isinstance(document, list) else document[word]
    return isinstance(document, dict) or int(last) < len(document)


def _words(pointer: str) -> Iterator[str]:
    assert pointer.startswith("/")
    return (word.replace("~1", "/").replace("~0", "~") for word in pointer[1:].split("/"))


def test_a_job_without_repairs_points_at_them():
    """The pointer check above can fail: a pointer to nowhere is not in the job."""
    with pytest.raises(JobRefused) as refused:
        quote_for(a_job(repairs=[]), a_book())
    document = document_of(a_job(repairs=[]))
    assert [points_into(document, each.pointer) for each in refused.value.refusals] == [True]
    assert not points_into(document, "/findings/0")
