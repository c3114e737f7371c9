"""Pricing very many jobs: the same figures as the quote's, without what only a reader of the quote needs."""

import pytest
from builders import a_book, a_job, a_row, a_step
from hypothesis import assume, given

from quoter.engine.compose import price_of, quote_for
from quoter.engine.earnings import earning_of
from quoter.engine.light_memory import MOST_EFFORTS, MOST_REMEMBERED, forget_much, light_copy
from quoter.problems import JobRefused
from quoter.quote import Line, Quote

from .cases import outcome
from .random_books import Priced, priced


@given(priced())
def test_an_earning_has_the_figures_of_the_quote(drawn: Priced):
    """Net, gross, cost, margin and whether that is below the floor; refused where the quote is refused."""
    found = outcome(drawn.job, drawn.book)
    if not isinstance(found, Quote):
        with pytest.raises(JobRefused) as refused:
            earning_of(drawn.job, drawn.book)
        assert refused.value.refusals == found
        return
    earning, economics = earning_of(drawn.job, drawn.book), found.economics
    assert (earning.net, earning.gross) == (found.totals.net, found.totals.gross)
    assert (earning.cost, earning.margin) == (economics.cost, economics.margin)
    assert earning.below_floor is economics.below_floor


def figures(line: Line) -> tuple[object, ...]:
    """All of a line but its words and how it came about."""
    charge = line.charge
    money = (charge.net, charge.cost, charge.quantity, charge.unit, charge.unit_price)
    return line.tax_code, charge.kind, charge.ref, *money


@given(priced())
def test_a_light_copy_of_a_book_prices_alike(drawn: Priced):
    """Every figure of every line, asked once and asked again from memory."""
    light = light_copy(drawn.book)
    try:
        full = price_of(drawn.job, drawn.book)
    except JobRefused:
        assume(False)
    for _ in range(2):
        other = price_of(drawn.job, light)
        assert other.totals == full.totals
        assert [figures(line) for line in other.lines] == [figures(line) for line in full.lines]


def test_a_light_copy_leaves_the_books_own_memory_alone():
    """What was explained in full stays explained."""
    book = a_book()
    full, light = quote_for(a_job(), book), light_copy(book)
    price_of(a_job(), light)
    assert price_of(a_job(), light).lines[0].charge.because.working == ()
    assert quote_for(a_job(), book) == full


def test_a_light_copy_keeps_the_efforts_of_a_few_plans_only():
    """And works them out again where they are needed again."""
    codes = [f"p{number}" for number in range(MOST_EFFORTS + 3)]
    book = a_book(
        steps=[a_step(code, number) for number, code in enumerate(codes)],
        procedures=[a_row(code, goals=code) for code in codes],
        parts=[],
    )
    light = light_copy(book)
    for code in [*codes, *codes]:
        job = a_job(repairs=[code])
        assert price_of(job, light).totals == price_of(job, book).totals


def test_a_memory_that_has_grown_large_is_emptied():
    """Just at the limit it is kept, past it everything goes, and the price stays."""
    book = light_copy(a_book())
    before = price_of(a_job(), book).totals
    shelf = book.memory.shelves.setdefault(len, {})
    shelf.update(dict.fromkeys(range(MOST_REMEMBERED - sum(map(len, book.memory.shelves.values())))))
    forget_much(book)
    assert shelf
    shelf["one more"] = None
    forget_much(book)
    assert not any(book.memory.shelves.values())
    assert price_of(a_job(), book).totals == before


def test_a_price_of_too_many_digits_is_refused():
    """As in a quote."""
    names = [f"g{number}" for number in range(16)]
    book = a_book(
        steps=[a_step("fit", 100000, slot="battery")],
        procedures=[a_row("battery", slot="battery", goals="fit")],
        findings=[a_row(name, time_factor=100) for name in names],
    )
    with pytest.raises(JobRefused) as refused:
        earning_of(a_job(findings=names), book)
    assert refused.value.code == "out-of-range"
