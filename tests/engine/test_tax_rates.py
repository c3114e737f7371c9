"""Which rate counts on which day, and what the three stages of rounding do with several codes and components."""

import datetime as dt
from decimal import Decimal

import pytest
from builders import a_book, a_job, a_profile, a_row, line_of, nets, quoted, refusals, tax_rules_of

from quoter.engine.price import price
from quoter.engine.tax import rates_on, tax_rows, tax_total
from quoter.quote import TaxRow

UK = [
    ("VAT", "0.175", "1991-04-01"),
    ("VAT", "0.15", "2008-12-01"),
    ("VAT", "0.175", "2010-01-01"),
    ("VAT", "0.20", "2011-01-04"),
]
SWEDISH_BICYCLES = [
    ("moms", "0.25", "1990-07-01"),
    ("moms", "0.12", "2017-01-01"),
    ("moms", "0.06", "2022-07-01"),
    ("moms", "0.12", "2023-04-01"),
]


def rate_on(day: str, components: list[tuple[str, str, str]]) -> Decimal:
    """The one rate of a code on a day."""
    profile = a_profile(rates={"std": components})
    ((_, rate),) = rates_on(dt.date.fromisoformat(day), profile.codes["std"])
    return rate


@pytest.mark.parametrize(
    ("day", "rate", "source"),
    [
        ("2008-11-30", "0.175", "SI 2008/3020: until the day before 1 December 2008 (act recalled, not read)"),
        ("2008-12-01", "0.15", "SI 2008/3020"),
        ("2009-12-31", "0.15", "Finance Act 2009 s 9: until 1 January 2010 (act recalled, not read)"),
        ("2010-01-01", "0.175", "Finance Act 2009 s 9"),
        ("2011-01-03", "0.175", "Finance (No. 2) Act 2010 s 3: from 4 January 2011 (act recalled, not read)"),
        ("2011-01-04", "0.20", "Finance (No. 2) Act 2010 s 3"),
    ],
)
def test_the_newest_british_rate_that_has_begun_applies(day: str, rate: str, source: str):
    """Both sides of each day on which the rate changed; twice it rose and once it fell back."""
    assert rate_on(day, UK) == Decimal(rate), source


@pytest.mark.parametrize(
    ("day", "rate"),
    [
        ("2016-12-31", "0.25"),
        ("2017-01-01", "0.12"),
        ("2022-06-30", "0.12"),
        ("2022-07-01", "0.06"),
        ("2023-03-31", "0.06"),
        ("2023-04-01", "0.12"),
    ],
)
def test_the_newest_swedish_rate_for_bicycle_repairs_applies(day: str, rate: str):
    """Skatteverket: 25 % to 2016, 12 % from 2017, 6 % from 1 July 2022, 12 % from 1 April 2023."""
    assert rate_on(day, SWEDISH_BICYCLES) == Decimal(rate)


def test_the_order_of_the_rates_in_the_file_does_not_matter():
    """The newest first day counts, wherever it stands."""
    assert rate_on("2009-06-01", UK[::-1]) == Decimal("0.15")


def test_a_quote_is_taxed_by_its_own_date():
    """48.00 net on the last day of 15 % and on the first of 17.5 %: 7.20 and 8.40."""
    book = a_book(tax={"rates": {"std": UK}})
    taxes = [quoted(book, date=dt.date(*day)).totals.tax for day in ((2009, 12, 31), (2010, 1, 1))]
    assert taxes == [Decimal("7.20"), Decimal("8.40")]


def test_a_component_that_has_not_begun_is_left_out():
    """A second tax that starts next year is not charged this year."""
    rates = {"std": [("A", "0.05", "2000-01-01"), ("B", "0.10", "2027-01-01")]}
    assert tax_rules_of(rates=rates).rates["std"] == (("A", Decimal("0.05")),)
    assert len(tax_rules_of(rates=rates, date=dt.date(2027, 1, 1)).rates["std"]) == 2


def test_a_date_before_every_rate_is_refused():
    """Silence would sell without tax; the refusal points at the date and says from when on there is a rate."""
    book = a_book(tax={"rates": {"std": [("VAT", "0.25", "2027-01-01"), ("VAT", "0.20", "2026-03-03")]}})
    (refusal,) = refusals(book, date=dt.date(2026, 3, 2))
    assert (refusal.reason, refusal.pointer) == ("no-tax-rate", "/date")
    assert refusal.detail == "the tax code 'std' has no rate on 2026-03-02; its first begins on 2026-03-03"
    assert quoted(book, date=dt.date(2026, 3, 3)).totals.tax == Decimal("9.60")


TWO_CODES = {"rates": {"a": {"X": "0.05", "Y": "0.03"}, "b": {"X": "0.10"}}}
AMOUNTS = [("a", Decimal("1.10")), ("b", Decimal("0.33")), ("a", Decimal("1.10"))]
"""Unrounded: X on a 0.055 twice, Y on a 0.033 twice, X on b 0.033; combined on a 0.088 twice."""


def row_text(row: TaxRow) -> str:
    """Code, name, rate, taxable and tax; "-" where several are summed."""
    return " ".join(str(each or "-") for each in (row.code, row.name, row.rate, row.taxable, row.tax))


@pytest.mark.parametrize(
    ("stage", "combined", "expected"),
    [
        # each component of each line rounded: 0.06 + 0.06, 0.03 + 0.03, 0.03
        ("line", False, ["a X 0.05 2.20 0.12", "a Y 0.03 2.20 0.06", "b X 0.10 0.33 0.03"]),
        # 2.20 × 0.05 = 0.11, 2.20 × 0.03 = 0.066
        ("rate", False, ["a X 0.05 2.20 0.11", "a Y 0.03 2.20 0.07", "b X 0.10 0.33 0.03"]),
        # X: 0.11 + 0.033 = 0.143, Y: 0.066
        ("document", False, ["- X - 2.53 0.14", "a Y 0.03 2.20 0.07"]),
        # 0.088 twice is 0.09 twice
        ("line", True, ["a X + Y 0.08 2.20 0.18", "b X 0.10 0.33 0.03"]),
        # 2.20 × 0.08 = 0.176
        ("rate", True, ["a X + Y 0.08 2.20 0.18", "b X 0.10 0.33 0.03"]),
        # 0.176 + 0.033 = 0.209
        ("document", True, ["- X + Y / X - 2.53 0.21"]),
    ],
)
def test_the_stage_says_what_is_rounded(stage: str, combined: bool, expected: list[str]):
    """Each line, each code's sum or each component's sum; combined components are rounded as one."""
    rules = tax_rules_of(stage=stage, combined=combined, **TWO_CODES)
    assert [row_text(row) for row in tax_rows(AMOUNTS, rules)] == expected


def test_a_code_without_components_is_not_taxed():
    """Outside the scope: no rate at all, so no row."""
    rules = tax_rules_of(rates={"std": "0.20", "out": []}, combined=True)
    assert tax_rows([("out", Decimal(100))], rules) == []
    assert tax_total([("out", Decimal(100)), ("std", Decimal(10))], rules) == Decimal("2.00")


EXEMPT = {
    "rates": {"std": "0.20", "red": "0.05", "nil": "0"},
    "lines": {"labour": "red"},
    "reclass": [{"when": "any_part", "lines": ["labour"], "code": "std"}],
    "customers": {"exempt": {"code": "nil", "reason": "Exempt buyer"}},
}


def test_an_exempt_customer_pays_no_tax_and_is_told_why():
    """The customer's code replaces every code, reclassified ones too, and brings its reason."""
    quote = quoted(a_book(tax=EXEMPT), customer_kind="exempt", urgency="express")
    assert {line.tax_code for line in quote.lines} == {"nil"}
    assert quote.tax == (TaxRow("nil", "VAT", Decimal(0), Decimal("57.00"), Decimal("0.00")),)
    assert quote.tax_reason == "Exempt buyer"


def test_other_customers_have_the_codes_of_their_lines():
    """A business is not exempt, and nothing is printed."""
    quote = quoted(a_book(tax=EXEMPT), customer_kind="business")
    assert {line.tax_code for line in quote.lines} == {"std"}
    assert quote.tax_reason is None


def test_reclassifications_are_applied_in_their_order():
    """The later rule has the last word."""
    rules = [{"when": "any_part", "lines": ["labour"], "code": code} for code in ("red", "nil")]
    book = a_book(tax={**EXEMPT, "reclass": rules})
    assert line_of(quoted(book), "labour").tax_code == "nil"


@pytest.mark.parametrize(("above", "code"), [("0.2499", "nil"), ("0.25", "red"), ("0.2501", "red")])
def test_a_part_share_looks_at_landed_cost_and_must_be_above(above: str, code: str):
    """Landed 30.00 of 120.00 (the part at 90.00, half an hour billed at 30.00) is a quarter: not above a quarter."""
    rule = {"when": "part_share", "above": above, "lines": ["labour"], "code": "nil"}
    book = a_book(tax={**EXEMPT, "reclass": [rule]}, markup=[{"rate": 2}], settings={"labour.increment_minutes": 30})
    quote = quoted(book)
    assert nets(quote) == ["90.00", "30.00"]
    assert line_of(quote, "labour").tax_code == code


def test_express_and_minimum_carry_labours_code_and_a_discount_what_it_reduces():
    """Whatever labour's code has become by the whole job."""
    book = a_book(tax={**EXEMPT, "lines": {"labour": "red"}, "reclass": []}, settings={"policy.minimum_net": 100})
    quote = quoted(book, urgency="express", discount="0.10")
    # part 30 std; labour 18 + express 9 = 27 red; discounts 3.00 and 2.70; minimum 100 − 51.30
    assert [(line.charge.kind, line.tax_code, str(line.charge.net)) for line in quote.lines[2:]] == [
        ("express", "red", "9.00"),
        ("discount", "std", "-3.00"),
        ("discount", "red", "-2.70"),
        ("minimum", "red", "48.70"),
    ]


def test_each_kind_of_line_has_its_own_code():
    """The profile's table says which, from part to disposal."""
    codes = {kind: f"code-{kind}" for kind in ("part", "consumable", "labour", "bench", "risk", "disposal")}
    book = a_book(
        tax={"rates": dict.fromkeys(codes.values(), "0.20"), "lines": codes},
        settings={"labour.bench_rate": 60},
        consumables=[a_row("wipe")],
        usage=[{"step": "open", "consumable": "wipe"}],
        steps=[{"code": "open", "low": 1, "likely": 1, "high": 1, "dwell": 2}, *_fit_steps()],
        findings=[a_row("swollen", charge=5, disposal=3)],
    )
    lines = price(a_job(findings=["swollen"]), book).lines
    assert {line.charge.kind: line.tax_code for line in lines} == codes


def _fit_steps() -> list[dict[str, object]]:
    fits = [{"code": f"fit-{slot}", "slot": slot, "needs": "open"} for slot in ("battery", "port")]
    return [{**row, "low": 1, "likely": 1, "high": 1} for row in (*fits, {"code": "clean"}, {"code": "close"})]
