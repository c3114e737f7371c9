"""The bench copy as plain data: steps in working order, cautions where they matter, what to take and what to cut."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import orjson
import pytest

from quoter.documents.bench_sheet import bench_sheet
from quoter.records.quotes import IssuedQuote
from quoter.service.quotes.agreements import agreement_to
from quoter.words.wording import wording_for

from .quotes import CUTS, LAW, a_quote, translated

PARTS = [{"sku": "QK5-CEL-G", "title": "Battery", "slot": "battery", "grade": "genuine", "quantity": "1"}]
CONSUMPTION = [{"consumable": "tape-5", "title": "Tape", "unit": "m", "needed": "0.2844", "billed": "0.35"}]


def sheet(quote: IssuedQuote, tag: str = "en-IE") -> dict[str, Any]:
    """The bench copy."""
    return bench_sheet(quote, wording_for(tag))


def test_steps_stand_in_working_order_with_their_minutes():
    """As the plan has them, to a tenth, so that they add up to the whole; no waiting is not said."""
    quote = a_quote()
    rows, plan = sheet(quote)["steps"]["rows"], quote.result["plan"]
    assert [row["title"] for row in rows] == [step["title"] for step in plan]
    for kind in ("expected", "quoted"):
        tenths = [Decimal(row[kind].removesuffix(" mins").removesuffix(" min")) for row in rows]
        assert all(
            abs(shown - Decimal(step[f"{kind}_minutes"])) <= Decimal("0.05")
            for shown, step in zip(tenths, plan, strict=True)
        )
        assert abs(sum(tenths) - Decimal(quote.result["time"][f"{kind}_minutes"])) < 1
    assert [row["number"] for row in rows] == [str(number) for number in range(1, len(plan) + 1)]
    assert {row["waiting"] for row in rows if row["waiting"]} == {"5 mins", "10 mins"}


def test_a_caution_stands_in_full_where_it_first_matters_in_the_words_of_the_bench():
    """Later steps lead back to it."""
    first, second, third, *_ = a_quote().result["plan"]
    plan = [{**first, "caution": "heat"}, {**second, "caution": None}, {**third, "caution": "heat"}]
    cautions = [{"code": "heat", "text": "The mat is hot", "customer": "We use heat", "source": "x"}]
    rows = sheet(a_quote(plan=plan, cautions=cautions))["steps"]["rows"]
    assert [row["caution"] for row in rows] == ["The mat is hot", "", "The caution at step 1 holds here too."]


def test_what_was_seen_is_warned_of_before_the_first_step_and_a_swollen_cell_before_all_else():
    """Also where a step warns of it again."""
    cautions = [
        {"code": "seen", "text": "It was opened", "customer": "", "source": "x"},
        {"code": "swollen", "text": "It can burn", "customer": "", "source": "x"},
        {"code": "step", "text": "Of a step", "customer": "", "source": "x"},
    ]
    first, second, *_ = a_quote().result["plan"]
    plan = [{**first, "caution": "swollen"}, {**second, "caution": "step"}]
    assert sheet(a_quote(plan=plan, cautions=cautions))["cautions"]["items"] == ["It can burn", "It was opened"]


def test_tools_parts_and_consumables_are_listed():
    """Parts with quantity and SKU, consumables with what is needed and what is billed, in the reader's units."""
    plan = [{**step, "tools": ["tweezers"]} for step in a_quote().result["plan"]]
    shown = sheet(a_quote(plan=plan, parts=PARTS, consumption=CONSUMPTION), "de-DE")
    assert shown["steps"]["rows"][0]["tools"] == ["Pinzette"]
    assert shown["parts"]["rows"] == [["1", "Akku", "QK5-CEL-G"]]
    assert shown["consumables"]["rows"] == [["Tape", "0,284 m", "0,35 m"]]


def test_strips_are_drawn_and_told():
    """412.5 mm do not fit in 170 mm, nor do they at half their size: a fifth."""
    cuts = sheet(a_quote(cuts=CUTS))["cuts"]
    assert cuts["scale"] == "Scale 1 : 5"
    assert "Double-sided tape, 5 mm: 2 × 146 mm · long sides" in cuts["alt"]
    assert "1 × 412.5 mm · corners" in cuts["alt"]
    assert cuts["svg"].startswith("<svg")


def test_a_seal_from_tape_is_cut_from_the_measures_of_the_device():
    """71.5 mm by 148 mm with corners of 9.5 mm, and a twentieth more: by hand 1.05 (148 - 19) = 135.45 along the long
    sides and 1.05 (71.5 - 19) = 55.125 along the short ones, each rounded up to a tenth."""
    alt = sheet(a_quote(repairs=("battery",), findings=(), fitted={"seal": None}))["cuts"]["alt"]
    assert "2 × 135.5 mm · long sides" in alt
    assert "2 × 55.2 mm · short sides" in alt


def test_quotes_of_an_earlier_version_have_neither_tools_nor_lists():
    """And are printed without them."""
    quote = a_quote()
    for member in ("parts", "consumption", "cuts"):
        quote.result.pop(member, None)
    for step in quote.result["plan"]:
        step.pop("tools", None)
    shown = sheet(quote)
    assert (shown["parts"]["rows"], shown["consumables"]["rows"], shown["cuts"]["svg"]) == ([], [], "")
    assert shown["steps"]["rows"][0]["tools"] == []


def test_the_bench_reads_its_own_language():
    """Steps, tools, materials and findings as far as the owner has translated them."""
    quote = a_quote(cuts=CUTS)
    first = quote.result["plan"][0]["title"]
    shown = sheet(translated(quote, "de", {first: "Annehmen", "Cutting cord": "Schneidefaden"}), "de-DE")
    assert shown["steps"]["rows"][0]["title"] == "Annehmen"
    assert "Schneidefaden" in shown["cuts"]["svg"]


@pytest.mark.parametrize(
    ("excess", "limit"),
    [
        ({"share": "0.10", "of": "gross", "from": False}, "€110.00"),
        ({"share": "0", "of": "gross", "from": False}, "€100.00"),
    ],
)
def test_the_bench_knows_up_to_which_price_nobody_need_be_asked(excess: dict[str, Any], limit: str):
    """A tenth more than 100.00 is 110.00, where the law of the quote allows that."""
    totals = {**a_quote().result["totals"], "gross": "100.00"}
    agreed = a_quote(totals=totals, law={**LAW, "excess": excess})
    shown = sheet(replace(agreed, agreement=agreement_to(agreed, "price")))
    assert shown["agreed"] == f"Agreed: revision 1, €100.00. Without asking again, up to {limit}."


def test_the_bench_is_told_that_nothing_is_agreed_yet():
    """In its own language."""
    assert sheet(a_quote())["agreed"] == "Nothing is agreed yet: the customer is asked about this price."
    assert sheet(a_quote(), "de-DE")["agreed"] != sheet(a_quote())["agreed"]


def test_there_is_no_other_price_on_it():
    """Neither of the whole nor of a line."""
    quote = a_quote()
    text = orjson.dumps(sheet(quote)).decode()
    assert "€" not in text
    assert quote.result["totals"]["gross"] not in text
