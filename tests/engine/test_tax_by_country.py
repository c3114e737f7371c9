"""Tax rounding as laws, courts' and authorities' own examples have it.

Sources are named beside each row. "Own example" marks numbers that were made up here from the rule in the source and
worked by hand.

Not expressible, and therefore not here: Britain's finer steps for lines (0.1 p), Australia's taxable supply rule with
more than two decimals kept, India's rounding of the amount payable to the rupee (its invoices show paise), South
Africa's tax fraction cut to five decimals (0.12280), a Swiss tax forced to 5 centimes, tax on tax (Quebec to 2012).
"""

from decimal import Decimal
from typing import Any, NamedTuple

import pytest
from builders import PORT, a_book, a_part, a_row, a_step, line_of, quoted, tax_rules_of

from quoter.engine.adjustments import closest
from quoter.engine.tax import tax_rows, tax_total


class Sale(NamedTuple):
    """Nets under one code, a profile, and the tax that the source gives (of each row where there are several)."""

    name: str
    source: str
    tax: dict[str, Any]
    nets: str
    expected: str
    digits: int = 2


GB, AU, NZ = {"rates": {"std": "0.20"}}, {"rates": {"std": "0.10"}}, {"rates": {"std": "0.15"}, "mode": "half-down"}
SE, SG, AE = {"rates": {"std": "0.12"}}, {"rates": {"std": "0.07"}}, {"rates": {"std": "0.05"}}
QC = {"rates": {"std": {"GST": "0.05", "QST": "0.09975"}}}
ON = {"rates": {"std": {"federal": "0.05", "provincial": "0.08"}}}
US = {"rates": {"std": {"state": "0.04", "local": "0.01"}}, "combined": True}
JP = {"rates": {"std": "0.10"}, "mode": "down"}
LINE, DOCUMENT = {"stage": "line"}, {"stage": "document"}

SALES = (
    Sale("uk-20-percent", "HMRC, Calculating VAT: 100.00 exclusive", GB, "100.00", "20.00"),
    Sale("uk-5-percent", "HMRC, the same page", {"rates": {"std": "0.05"}}, "100.00", "5.00"),
    # own example: 99.99 × 0.2 = 19.998
    Sale("uk-invoice-down", "VATREC12010: an invoice may be rounded down", GB | {"mode": "down"}, "99.99", "19.99"),
    Sale("au-one-supply", "ATO, taxsuperandyou.gov.au: 1000 exclusive", AU, "1000", "100.00"),
    # own example: 3 × 0.104 = 0.312
    Sale("au-total-invoice", "GST Act 1999 s 9-90(2)(a): added unrounded", AU, "1.04 1.04 1.04", "0.31"),
    Sale("au-taxable-supply", "s 9-90(2)(b): 0.104 counts as 0.10", AU | LINE, "1.04 1.04 1.04", "0.30"),
    Sale("au-two-supplies", "s 9-90(2)(b): 0.104 and 0.105 count as 0.10 and 0.11", AU | LINE, "1.04 1.05", "0.21"),
    Sale("nz-half-cent", "GST Act 1985 s 19O: of 1.245, half a cent may be dropped", NZ, "8.30", "1.24"),
    Sale("nz-half-up", "the same 1.245, were it rounded half up", NZ | {"mode": "half-up"}, "8.30", "1.25"),
    # own example: 8.37 × 0.15 = 1.2555
    Sale("nz-more-than-half", "s 19O: more than half may count as a cent", NZ, "8.37", "1.26"),
    Sale("nz-1500", "Inland Revenue, Calculating GST (2010)", NZ, "1500.00", "225.00"),
    Sale("quebec", "Revenu Québec, Calculating the taxes (2013)", QC, "100.00", "5.00 9.98"),
    Sale("quebec-one-step", "the same page: 14.975 % in one step", QC | {"combined": True}, "100.00", "14.98"),
    # own example: 0.505 and 0.808; 1.313
    Sale("hst-apart", "CRA case 125136 (2011)", ON, "10.10", "0.51 0.81"),
    Sale("hst-together", "CRA case 125136 (2011)", ON | {"combined": True}, "10.10", "1.31"),
    # own example: 1.15 × 0.05 = 0.0575; 3.45 × 0.05 = 0.1725
    Sale("us-by-item", "SSUTA s 324, state and local rate together", US | LINE, "1.15 1.15 1.15", "0.18"),
    Sale("us-by-invoice", "SSUTA s 324, the seller's other choice", US | DOCUMENT, "1.15 1.15 1.15", "0.17"),
    Sale("japan-once-a-rate", "foovar/jp-invoice citing NTA Q&A 57: 105 × 3", JP, "105 105 105", "31", 0),
    Sale("japan-by-line", "the same, as it must not be", JP | LINE, "105 105 105", "30", 0),
    Sale("japan-3333", "the same package: 3,333 × 2", JP, "3333 3333", "666", 0),
    Sale("japan-nearest", "NTA: the direction is free; 31.5", JP | {"mode": "half-up"}, "105 105 105", "32", 0),
    Sale("japan-up", "NTA: the direction is free; 666.6", JP | {"mode": "up"}, "3333 3333", "667", 0),
    Sale("singapore-by-line", "support.financio.co", SG | LINE, "2512.50 656.25", "221.82"),
    Sale("singapore-total", "support.financio.co: on the total", SG, "2512.50 656.25", "221.81"),
    # own example: 47.14 × 0.05 = 2.357 (rate recalled, not read)
    Sale("uae-line", "VATP006 (2018): by line", AE | LINE, "47.14", "2.36"),
    # own examples: 10.12 × 0.12 = 1.2144 and 10.13 × 0.12 = 1.2156
    Sale("sweden-down", "Skatteverket 2021.1: third decimal 0 to 4 down", SE, "10.12", "1.21"),
    Sale("sweden-up", "Skatteverket 2021.1: third decimal 5 to 9 up", SE, "10.13", "1.22"),
)


@pytest.mark.parametrize("sale", SALES, ids=lambda sale: sale.name)
def test_tax_is_what_the_source_says(sale: Sale):
    """Each tax of each component, and their sum."""
    rules = tax_rules_of(digits=sale.digits, **sale.tax)
    amounts = [("std", Decimal(net)) for net in sale.nets.split()]
    expected = [Decimal(tax) for tax in sale.expected.split()]
    assert [row.tax for row in tax_rows(amounts, rules)] == expected, sale.source
    assert tax_total(amounts, rules) == sum(expected)


@pytest.mark.parametrize(
    ("unrounded", "tax", "source"),
    [
        ("0.0849999", "0.08", "Wisconsin Tax 11.32(5)"),
        ("0.085000", "0.09", "Wisconsin Tax 11.32(5)"),
        ("3.2549", "3.25", "Wisconsin Tax 11.32(5)"),
        ("6.455001", "6.46", "Wisconsin Tax 11.32(5)"),
        ("2.357", "2.36", "UAE Executive Regulation art. 61, VATP006 (2018)"),
        ("9.862", "9.86", "UAE Executive Regulation art. 61, VATP006 (2018)"),
        ("156435.885", "156435.89", "EN 16931 example ce-01"),
        ("365.125", "365.13", "EN 16931 example pp-07"),
        ("0.867", "0.87", "VAT Notice 700 s 17.5.1 (recalled, not read): 86.7 p to the penny"),
    ],
)
def test_an_unrounded_tax_goes_to_the_published_cent(unrounded: str, tax: str, source: str):
    """The third decimal decides, and only it."""
    assert tax_rules_of().rounded(Decimal(unrounded)) == Decimal(tax), source


@pytest.mark.parametrize(
    ("mode", "rounded"),
    [
        ("half-up", "0.13 -0.13 0.12 0.13"),
        ("half-down", "0.12 -0.12 0.12 0.13"),
        ("half-even", "0.12 -0.12 0.12 0.13"),
        ("down", "0.12 -0.12 0.12 0.12"),
        ("up", "0.13 -0.13 0.13 0.13"),
    ],
)
def test_each_mode_has_its_own_way_with_ties(mode: str, rounded: str):
    """By the words' definition: half of a minor unit, the same below zero, less than half, more than half."""
    rules = tax_rules_of(mode=mode)
    given = ("0.125", "-0.125", "0.1249", "0.1251")
    assert [rules.rounded(Decimal(each)) for each in given] == [Decimal(each) for each in rounded.split()]


@pytest.mark.parametrize(
    ("gross", "rate", "tax", "source"),
    [
        ("120.00", "0.20", "20.00", "HMRC: 20 % inside is 1/6"),
        ("21.00", "0.05", "1.00", "HMRC: 5 % inside is 1/21"),
        ("47.00", "0.175", "7.00", "HMRC: 17.5 % inside is 7/47"),
        ("23.00", "0.15", "3.00", "HMRC: 15 % inside is 3/23"),
        ("110.00", "0.10", "10.00", "Australia: 1/11"),
        ("77.00", "0.10", "7.00", "posapt.au: 70 and 10 % GST"),
        ("1725.00", "0.15", "225.00", "Inland Revenue NZ (2010): 1,725 × 3 ÷ 23"),
        ("119.00", "0.19", "19.00", "UStAE 15.4: 19/119"),
        ("107.00", "0.07", "7.00", "UStAE 15.4: 7/107"),
        ("1.50", "0.19", "0.24", "EN 16931 example ce-14: a shelf price of 1.50 is 1.2605 net"),
        ("1000.00", "0.08", "74.07", "support.sorba.ch: not 74.05, as without steps of 5 centimes the tax is exact"),
    ],
)
def test_the_price_ending_finds_the_tax_inside_a_gross(gross: str, rate: str, tax: str, source: str):
    """From nothing to a wanted gross: the net that is found leaves the fraction that the source gives."""
    rules = tax_rules_of(rates={"std": rate})
    net, reached = closest(Decimal("0.00"), Decimal(gross), [], "std", rules)
    assert (reached, reached - net) == (Decimal(gross), Decimal(tax)), source


IRELAND = {
    "rates": {"repair": "0.135", "goods": "0.23"},
    "reclass": [
        {
            "when": "part_share",
            "above": "0.6666666667",
            "lines": ["part", "consumable", "labour", "bench", "risk", "disposal"],
            "code": "goods",
        }
    ],
}


@pytest.mark.parametrize(
    ("materials", "labour_minutes", "tax", "source"),
    [
        ("220.00", 80, "69.00", "revenue.ie: a guitar, 220 of materials, 80 of labour, all at 23 %"),
        ("200.00", 100, "40.50", "own example: two thirds are not over two thirds; 300 × 13.5 %"),
        ("200.10", 100, "69.02", "own example: just over; 300.10 × 23 % = 69.023"),
        ("80.00", 220, "40.50", "own example: mostly labour; 300 × 13.5 %"),
    ],
)
def test_ireland_taxes_the_whole_job_as_goods_over_two_thirds(
    materials: str, labour_minutes: int, tax: str, source: str
):
    """VATCA 2010 s 41: the parts' cost to the shop against the price without tax."""
    book = a_book(
        tax=IRELAND,
        steps=[a_step("fit", labour_minutes, slot="battery")],
        procedures=[a_row("battery", goals="fit", slot="battery")],
        parts=[a_part("guitar", cost=materials)],
    )
    assert quoted(book).totals.tax == Decimal(tax), source


FLORIDA = {
    "rates": {"taxed": {"state": "0.06"}, "free": "0"},
    "lines": {"labour": "free"},
    "reclass": [{"when": "any_part", "lines": ["labour"], "code": "taxed"}],
}


@pytest.mark.parametrize(
    ("repair", "code"),
    [("battery", "taxed"), ("clean", "free")],
)
def test_florida_taxes_labour_as_soon_as_a_part_is_fitted(repair: str, code: str):
    """Rule 12A-1.006: a part, however small, makes the labour taxable; labour alone is free (6 % recalled)."""
    book = a_book(tax=FLORIDA, parts=[a_part("screw", cost="0.01"), PORT])
    assert line_of(quoted(book, repairs=[repair]), "labour").tax_code == code


def test_in_iowa_itemised_consumables_are_not_taxed():
    """By kind of line: parts and labour are, consumables are not (car shops, by ineda.com)."""
    book = a_book(
        tax={"rates": {"taxed": "0.06", "free": "0"}, "lines": {"consumable": "free"}},
        consumables=[a_row("wipe", pack_price="2.00")],
        usage=[{"step": "open", "consumable": "wipe"}],
    )
    quote = quoted(book)
    assert {line.charge.kind: line.tax_code for line in quote.lines} == {
        "part": "taxed",
        "consumable": "free",
        "labour": "taxed",
    }
    assert quote.totals.tax == Decimal("2.88")  # (30 + 18) × 6 %; the wipe's 2.00 stays out
