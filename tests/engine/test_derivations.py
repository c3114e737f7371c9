"""Every line can be redone with a pocket calculator, from cells that really stand in the rate book."""

import re
from decimal import Context, Decimal, localcontext

import pytest
from hypothesis import given

from quoter.books.compile import compiled
from quoter.books.raw import RawBook
from quoter.books.tables import TABLE_BY_NAME
from quoter.job import Job
from quoter.quote import TAXED_KINDS, Cell, Charge, Quote

from .calculator import NotAFormula, worked_out
from .cases import CASES, Case, book_in, outcome, outcome_of, raw_book_in
from .random_books import Priced, priced

PRICED = [case for case in CASES if "refused" not in case.expected]
NUMBER = re.compile(r"\d+(?:\.\d+)?")
MILLIONTH = Decimal("0.000001")
each_priced_case = pytest.mark.parametrize("case", PRICED, ids=lambda case: case.name)


@pytest.fixture
def quote(case: Case) -> Quote:
    """Of a case that has a price."""
    found = outcome_of(case)
    assert isinstance(found, Quote)
    return found


@pytest.mark.parametrize(
    ("formula", "digits", "value"),
    [
        ("2 + 3 × 4", 2, "14"),
        ("(2 + 3) × 4", 2, "20"),
        ("12 ÷ 4 ÷ 3", 2, "1"),
        ("10 − 4 − 3", 2, "3"),
        ("−round(0.5 × 0.01)", 2, "-0.01"),  # 0.005, a tie: away from zero
        ("round(0.5 × -0.01)", 2, "-0.01"),
        ("round(2.5)", 0, "3"),
        ("up(20.0000004 ÷ 5) × 5", 2, "20"),  # 4.00000008 settles to 4.000000
        ("up(20.00001 ÷ 5) × 5", 2, "25"),
        ("1.2816 × root(5.0625)", 2, "2.883600"),  # 2.25²
        ("to 6 decimals(1 ÷ 3)", 2, "0.333333"),
    ],
)
def test_the_calculator_reckons_as_people_do(formula: str, digits: int, value: str):
    """Worked by hand, so that the tests below stand on something."""
    assert worked_out(formula, digits) == Decimal(value)


@pytest.mark.parametrize("formula", ["", "2 +", "(2", "2 2", "2 + two", "round 2", "up()"])
def test_the_calculator_refuses_what_is_no_formula(formula: str):
    """A formula that cannot be redone must not pass for one that can."""
    with pytest.raises(NotAFormula):
        worked_out(formula, 2)


@each_priced_case
def test_every_formula_gives_its_value(case: Case, quote: Quote):
    """Each working of each line redone: within a millionth, as formulas show 9 decimals."""
    digits = book_in(case.folder).currency.digits
    for line in quote.lines:
        for working in line.charge.because.working:
            redone = worked_out(working.formula, digits)
            assert abs(redone - working.value) <= MILLIONTH, (line.charge.kind, line.charge.ref, working)


@each_priced_case
def test_the_working_named_net_gives_the_net_exactly(case: Case, quote: Quote):
    """No cent is lost between the derivation and the line."""
    digits = book_in(case.folder).currency.digits
    for line in quote.lines:
        (net,) = (working for working in line.charge.because.working if working.name == "net")
        assert worked_out(net.formula, digits) == net.value == line.charge.net


@each_priced_case
def test_every_cell_that_a_line_names_stands_in_the_book(case: Case, quote: Quote):
    """Table, row and column lead to that very value."""
    raw = raw_book_in(case.folder)
    for line in quote.lines:
        for cell in line.charge.because.inputs:
            assert cell.value == cell_in(raw, case.job, cell), (line.charge.kind, line.charge.ref, cell)


@given(priced(menu=lambda rows: []))
def test_formulas_of_random_books_give_their_values(drawn: Priced):
    """Whatever the rules, rates and numbers of decimals. Menu lines are among the worked cases."""
    quote = outcome(drawn.job, drawn.book)
    digits = drawn.book.currency.digits
    for charge in (line.charge for line in quote.lines) if isinstance(quote, Quote) else ():
        for working in charge.because.working:
            assert abs(worked_out(working.formula, digits) - working.value) <= MILLIONTH, (charge.kind, working)
        assert {each.value for each in charge.because.working if each.name == "net"} == {charge.net}


@each_priced_case
def test_the_net_is_made_of_figures_that_the_derivation_shows(case: Case, quote: Quote):
    """For what is priced from the plan: each number is a cell, an earlier working, or the 60 minutes of an hour."""
    for charge in (line.charge for line in quote.lines if line.charge.kind in TAXED_KINDS):
        *earlier, net = charge.because.working
        shown = {cell.value for cell in charge.because.inputs} | {f"{each.value:.9f}" for each in earlier} | {"60"}
        known = {Decimal(figure) for figure in shown if NUMBER.fullmatch(figure)}
        assert {Decimal(number) for number in NUMBER.findall(net.formula)} <= known, (charge.kind, charge.ref)


@each_priced_case
def test_every_line_says_by_which_rule_and_from_what(case: Case, quote: Quote):
    """The rule is the line's kind; a line without inputs or working would be a claim, not a derivation."""
    for line in quote.lines:
        because = line.charge.because
        assert (because.rule, bool(because.inputs), bool(because.working)) == (line.charge.kind, True, True)


NAMES = {
    "part": "landed cost unit price net",
    "bench": "dwell net",
    "labour": (
        r"(variance of STEP )*(variance of the plan standard normal quantile time reserve of the plan )?"
        r"(minutes of STEP )+minutes billed minutes net"
    ),
    "consumable": r"((perimeter|long sides|short sides|area) )*needed billed unit price net",
}
"""What the sums of a line are called, in their order; STEP is the code of one of the book's steps."""


@each_priced_case
def test_every_sum_has_the_name_of_what_it_is(case: Case, quote: Quote):
    """A column of formulas without names would explain nothing; a step's name leads to its row."""
    steps = book_in(case.folder).steps
    for charge in (line.charge for line in quote.lines if line.charge.kind in NAMES):
        named = [working.name.rpartition(" of ") for working in charge.because.working]
        told = " ".join(f"{of[0]} of STEP" if of[2] in steps else "".join(of) for of in named)
        assert re.fullmatch(NAMES[charge.kind], told)


@each_priced_case
def test_the_minutes_of_a_repair_are_those_of_its_steps(case: Case, quote: Quote):
    """Each step that the line bills stands in it."""
    for charge in (line.charge for line in quote.lines if line.charge.kind == "labour"):
        sums = {working.name: working.value for working in charge.because.working}
        assert sum(value for name, value in sums.items() if name.startswith("minutes of ")) == sums["minutes"]


@each_priced_case
def test_quantity_times_unit_price_is_the_net(case: Case, quote: Quote):
    """What a customer can check on the quote itself: to half a minor unit, as the unit price may not come out even."""
    half = book_in(case.folder).currency.unit / 2
    for charge in (line.charge for line in quote.lines):
        if charge.unit_price is not None:
            assert abs(charge.quantity * charge.unit_price - charge.net) <= half + MILLIONTH, charge.ref


@each_priced_case
def test_who_reads_late_and_at_another_precision_reads_the_same(case: Case, quote: Quote):
    """Derivations are written out when they are first read, here at 4 digits, by which every sum would be wrong."""
    again = outcome(case.job, compiled(raw_book_in(case.folder)))
    with localcontext(Context(prec=4)):
        late = [line.charge.because.working for line in again.lines]
    assert late == [line.charge.because.working for line in quote.lines]


def cell_in(raw: RawBook, job: Job, cell: Cell) -> str:
    """What stands where a cell says that its value stands; the column's default where that is blank."""
    if cell.table == "job":
        return str(getattr(getattr(job, cell.row), cell.column))
    if cell.table == "book":
        return setting_in(raw, cell)
    table = TABLE_BY_NAME[cell.table]
    (row,) = (row for row in raw.tables[cell.table] if row_key(row.cells, table.key) == cell.row)
    default = next(column.blank for column in table.columns if column.name == cell.column)
    return row.cells[cell.column] or str(default)


def row_key(cells: dict[str, str], key: tuple[str, ...]) -> str:
    """The words that name a row."""
    return " ".join(cells[column] for column in key if cells[column])


def setting_in(raw: RawBook, cell: Cell) -> str:
    """A setting of book.toml; of the bands of markup, the first is number 1."""
    section, _, number = cell.row.partition(" ")
    found = raw.settings
    for word in section.split("."):
        found = found[word]
    return str((found[int(number) - 1] if number else found)[cell.column])


def test_a_line_that_is_worked_out_wrongly_would_be_noticed():
    """The check above can fail: a charge that claims a cent too much."""
    quote = outcome_of(PRICED[0])
    assert isinstance(quote, Quote)
    charge: Charge = quote.lines[0].charge
    formula = charge.because.working[-1].formula
    assert worked_out(formula, 2) != charge.net + Decimal("0.01")
