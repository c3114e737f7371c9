"""A job that does not speak the book's language is refused field by field, with the values that would be right."""

import datetime as dt
from dataclasses import replace
from decimal import getcontext, localcontext

import pytest
from builders import PORT, a_book, a_job, a_part, a_row, a_step, quoted, refusals

from quoter.engine.compose import price_of, quote_for
from quoter.engine.refusals import MOST_SUGGESTIONS, pointer, suggestions, unknown
from quoter.job import Repair
from quoter.problems import REASONS, JobRefused

BOOK = a_book(
    devices=[a_row("slate"), a_row("tab")],
    parts=[a_part("B1"), a_part("T1", devices="tab"), PORT],
    findings=[a_row("bent"), a_row("swollen")],
    offers=[
        {"device": device, "procedure": procedure}
        for device, procedure in (("slate", "battery"), ("slate", "clean"), ("tab", "port"))
    ],
)


@pytest.mark.parametrize(
    ("job", "reason", "at", "allowed"),
    [
        ({"device": "brick"}, "unknown-code", "/device", ("slate", "tab")),
        ({"repairs": ["paint"]}, "unknown-code", "/repairs/0/procedure", ("battery", "clean")),
        ({"repairs": ["clean", "port"]}, "not-offered", "/repairs/1/procedure", ("battery", "clean")),
        ({"repairs": ["clean", "clean"]}, "given-twice", "/repairs/1/procedure", ()),
        ({"repairs": []}, "invalid-value", "/repairs", ("battery", "clean")),
        ({"repairs": [Repair("battery", part="B9")]}, "unknown-code", "/repairs/0/part", ("B1",)),
        ({"repairs": [Repair("battery", part="T1")]}, "part-does-not-fit", "/repairs/0/part", ("B1",)),
        ({"repairs": [Repair("battery", part="P1")]}, "part-does-not-fit", "/repairs/0/part", ("B1",)),
        ({"repairs": [Repair("clean", part="B1")]}, "part-does-not-fit", "/repairs/0/part", ()),
        ({"repairs": [Repair("battery", grade="gold")]}, "unknown-code", "/repairs/0/grade", ("genuine",)),
        ({"parts": {"engine": "B1"}}, "unknown-code", "/parts/engine", ("battery", "port")),
        ({"parts": {"engine": None}}, "unknown-code", "/parts/engine", ("battery", "port")),
        ({"parts": {"battery": "B9"}}, "unknown-code", "/parts/battery", ("B1",)),
        ({"parts": {"battery": "T1"}}, "part-does-not-fit", "/parts/battery", ("B1",)),
        ({"findings": ["bent", "wet"]}, "unknown-code", "/findings/1", ("bent", "swollen")),
        ({"findings": ["bent", "bent"]}, "given-twice", "/findings/1", ()),
        ({"customer_kind": "friend"}, "invalid-value", "/customer/kind", ("consumer", "business", "exempt")),
        ({"urgency": "now"}, "invalid-value", "/urgency", ("standard", "express")),
        ({"payment": "shells"}, "invalid-value", "/payment", ("cash", "other")),
        ({"discount": "1.01"}, "out-of-range", "/discount/rate", ()),
        ({"discount": "-0.01"}, "out-of-range", "/discount/rate", ()),
        ({"date": dt.date(1969, 12, 31)}, "out-of-range", "/date", ()),
        ({"date": dt.date(2200, 1, 1)}, "out-of-range", "/date", ()),
    ],
)
def test_a_wrong_field_is_refused_where_it_stands(job: dict, reason: str, at: str, allowed: tuple[str, ...]):
    """The reason, a JSON pointer to the field, and what would be right."""
    (refusal,) = refusals(BOOK, **job)
    assert (refusal.reason, refusal.pointer, refusal.allowed) == (reason, at, allowed)
    assert refusal.reason in REASONS


@pytest.mark.parametrize(
    ("job", "said"),
    [
        ({"device": "brick"}, "there is no device 'brick'"),
        ({"repairs": ["paint"]}, "there is no procedure 'paint'"),
        ({"repairs": ["clean", "port"]}, "'port' is not offered for 'slate'"),
        ({"repairs": ["clean", "clean"]}, "the procedure 'clean' is named twice"),
        ({"repairs": []}, "a job needs at least one repair"),
        ({"repairs": [Repair("battery", part="B9")]}, "there is no part 'B9'"),
        ({"repairs": [Repair("battery", part="T1")]}, "the part 'T1' does not fit the battery of 'slate'"),
        (
            {"repairs": [Repair("clean", part="B1")]},
            "the part 'B1' does not fit a procedure that is not about a part",
        ),
        ({"repairs": [Repair("battery", grade="gold")]}, "there is no grade 'gold'"),
        (
            {"repairs": [Repair("battery", part="B1", grade="compatible")]},
            "the part 'B1' is of grade 'genuine', not 'compatible'",
        ),
        ({"parts": {"engine": "B1"}}, "there is no slot 'engine'"),
        ({"findings": ["wet"]}, "there is no finding 'wet'"),
        ({"findings": ["bent", "bent"]}, "the finding 'bent' is named twice"),
        ({"customer_kind": "friend"}, "'friend' is not one of consumer, business, exempt"),
        ({"urgency": "now"}, "'now' is not one of standard, express"),
        ({"discount": "1.01"}, "a discount is a share between 0 and 1 (0.10 is 10 %), not 1.01"),
        ({"date": dt.date(2200, 1, 1)}, "2200-01-01 is not a day between 1970-01-01 and 2199-12-31"),
    ],
)
def test_a_refusal_says_what_is_wrong(job: dict, said: str):
    """In one sentence, with what was given, and with the edge that it went over."""
    book = replace(BOOK, grades=(*BOOK.grades, "compatible"))
    (refusal,) = refusals(book, **job)
    assert refusal.detail == said


@pytest.mark.parametrize(
    "job",
    [
        {"discount": "0"},
        {"discount": "1"},
        {"date": dt.date(2199, 12, 31)},
        {"parts": {"port": None}},
        {"parts": {"port": None, "battery": "B1"}, "findings": ["swollen", "bent"]},
    ],
)
def test_a_field_at_the_edge_of_what_is_right_is_accepted(job: dict):
    """Nothing or everything off, the last day, a slot that no step asks for."""
    assert quoted(BOOK, **job).totals.gross >= 0


def test_the_first_day_there_is_can_be_quoted():
    """1 January 1970, if the tax profile goes back that far."""
    book = a_book(tax={"rates": {"std": [("VAT", "0.10", "1970-01-01")]}})
    assert quoted(book, date=dt.date(1970, 1, 1)).valid_until == dt.date(1970, 1, 31)


def test_every_wrong_field_is_named_at_once():
    """Not the first alone: a form can mark all of them."""
    wrong = {"findings": ["wet"], "urgency": "now", "discount": "2", "parts": {"engine": "B1"}}
    found = refusals(BOOK, repairs=["battery", "port", Repair("paint")], **wrong)
    assert {each.pointer for each in found} == {
        "/findings/0",
        "/urgency",
        "/discount/rate",
        "/parts/engine",
        "/repairs/1/procedure",
        "/repairs/2/procedure",
    }


def test_without_a_device_its_repairs_and_parts_are_not_looked_at():
    """Nothing can be said about what fits a device that is not there."""
    found = refusals(BOOK, device="brick", repairs=["paint"], parts={"engine": "B1"}, findings=["wet"])
    assert [each.pointer for each in found] == ["/findings/0", "/device"]


def test_a_refusal_has_one_code_or_says_that_there_are_several():
    """A program can react to the code, a person reads the details."""
    with pytest.raises(JobRefused) as one:
        quote_for(a_job(device="brick"), BOOK)
    assert (one.value.code, str(one.value)) == ("unknown-code", "there is no device 'brick'")
    with pytest.raises(JobRefused) as two:
        price_of(a_job(device="brick", urgency="now"), BOOK)
    assert two.value.code == "job-refused"
    assert str(two.value).count("; ") == 1


def test_a_slash_or_a_tilde_in_a_code_is_escaped():
    """RFC 6901 section 3: ~ is ~0 and / is ~1."""
    assert pointer("parts", "a/b~c", 0) == "/parts/a~1b~0c/0"


def test_of_many_codes_those_that_begin_alike_are_suggested():
    """A short list is given whole; of a long one the same two letters, or else its beginning."""
    short = [f"slate-{number}" for number in range(1, MOST_SUGGESTIONS)] + ["tab-1"]
    assert suggestions("tab-2", short) == tuple(short)
    long = [*short, "Pebble-1", "pebble-2"]
    assert suggestions("PEBLE", long) == ("Pebble-1", "pebble-2")
    assert suggestions("zz", long) == tuple(short)
    assert unknown("device", "/device", "PEBLE", long).allowed == ("Pebble-1", "pebble-2")


def test_a_price_of_too_many_digits_is_refused_not_cut_off():
    """Fifteen findings of a hundred times the minutes: 1e5 × 1e30 minutes to 6 decimals are more than 28 digits."""
    names = [f"f{number}" for number in range(15)]
    book = a_book(
        steps=[a_step("fit", 100000, slot="battery")],
        procedures=[a_row("battery", slot="battery", goals="fit")],
        findings=[a_row(name, time_factor=100) for name in names],
    )
    (refusal,) = refusals(book, findings=names)
    said = "with these rates the price has more digits than a price can have"
    assert (refusal.reason, refusal.pointer, refusal.detail) == ("out-of-range", "/repairs", said)


def test_the_callers_precision_changes_nothing():
    """A caller who reckons with three digits gets the same quote, and keeps his three digits."""
    book, job = a_book(tax={"rates": {"std": "0.0825"}}), a_job(repairs=["battery", "port"])
    plain = quote_for(job, book)
    with localcontext(prec=3):
        assert quote_for(job, a_book(tax={"rates": {"std": "0.0825"}})) == plain
        assert getcontext().prec == 3


def test_a_job_is_not_changed_by_being_priced():
    """What was asked stands in the quote as it was asked."""
    asked = {"parts": {"battery": "B1"}, "findings": ["bent"], "discount": "0.1"}
    job = a_job(**asked)
    assert quote_for(job, BOOK).job is job
    assert job == a_job(**asked)
