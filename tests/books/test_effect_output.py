"""An effect for a spreadsheet and as plain data."""

import csv
import io
import json

import pytest
from builders import PORT, TODAY, a_book, a_job, a_part, a_row

from quoter.books.effect import IssuedJob, JobsEffect, ListEffect, jobs_effect, list_effect
from quoter.books.effect_output import ENTRY_COLUMNS, JOB_COLUMNS, as_rows, csv_text, effect_data, harmless
from quoter.engine.earnings import earning_of

DEARER = [a_row("easy"), a_row("usual", hourly_rate=66), a_row("hard")]


@pytest.fixture(scope="module")
def lists() -> ListEffect:
    """Labour at 10 % more, one grade less, cleaning not offered before."""
    offers = [{"device": "slate", "procedure": code} for code in ("battery", "clean")]
    parts = [a_part("B1", cost=30), a_part("B2", cost=20, grade="compatible"), PORT]
    old = a_book(parts=parts, offers=offers[:1], settings={"policy.minimum_margin": "0.25"})
    return list_effect(old, a_book(offers=offers, difficulty=DEARER), TODAY)


@pytest.fixture(scope="module")
def jobs() -> JobsEffect:
    """A battery under the same change."""
    book = a_book()
    issued = IssuedJob("id", "=2026-1", "EUR", a_job(), earning_of(a_job(), book))
    return jobs_effect([issued], 1, a_book(difficulty=DEARER))


def test_the_list_as_rows_by_hand(lists: ListEffect):
    """The figures are those of test_effect; blank is what is not there."""
    header, battery, clean, compatible = as_rows(lists)
    assert header == ENTRY_COLUMNS
    assert header[4:11] == (
        *("old_net", "new_net", "net_difference", "old_gross", "new_gross", "difference", "relative_difference"),
    )
    assert battery == (
        *("slate", "battery", "genuine", "up", "48.00", "49.80", "1.80", "57.60", "59.76", "2.16", "0.037500"),
        *("37.200000", "37.200000", "0.225000", "0.253012", "yes", "no", "", ""),
    )
    assert clean == (
        *("slate", "clean", "", "new", "", "13.20", "", "", "15.84", "", ""),
        *("", "4.800000", "", "0.636364", "", "no", "", ""),
    )
    assert compatible[:4] == ("slate", "battery", "compatible", "newly-refused")
    assert compatible[-1].startswith("there is no grade 'compatible'")


def test_jobs_as_rows(jobs: JobsEffect):
    """With id and number in place of the entry, the number made harmless."""
    header, row = as_rows(jobs)
    assert header == JOB_COLUMNS
    assert row[:5] == ("id", "'=2026-1", "up", "48.00", "49.80")
    assert len(row) == len(header)


def test_csv_reads_back_as_the_rows(lists: ListEffect):
    """A line each, as RFC 4180 ends them."""
    text = csv_text(lists)
    assert list(map(tuple, csv.reader(io.StringIO(text, newline="")))) == list(as_rows(lists))
    assert text.count("\r\n") == 4


@pytest.mark.parametrize("sign", [*"=+-@＝＋－＠", "\t", "\r", "\n", " =", "\t@"])
def test_what_a_spreadsheet_would_work_out_is_neutralised(sign: str):
    """An apostrophe in front makes it text."""
    assert harmless(f"{sign}1+1") == f"'{sign}1+1"


@pytest.mark.parametrize("text", ["", "slate", "a=b", "'=1", "1-2", " slate"])
def test_harmless_text_stays_as_it_is(text: str):
    """A sign inside does nothing."""
    assert harmless(text) == text


def test_numbers_are_no_formulas():
    """A price that falls keeps its minus sign and stays a number."""
    effect = list_effect(a_book(difficulty=DEARER), a_book(), TODAY)
    _, row, *_ = as_rows(effect)
    assert row[ENTRY_COLUMNS.index("difference")] == "-2.16"


def test_the_list_as_plain_data(lists: ListEffect):
    """Amounts with the currency's digits, rates and costs with 6 decimals, and JSON can say all of it."""
    data = json.loads(json.dumps(effect_data(lists)))
    assert (data["currency"], data["digits"], data["date"]) == ("EUR", 2, "2026-03-02")
    counts = data["summary"]["counts"]
    assert counts == {**dict.fromkeys(counts, 0), "up": 1, "new": 1, "newly_refused": 1, "total": 3}
    assert data["summary"]["difference"] == {"smallest": "2.16", "median": "2.16", "largest": "2.16"}
    # of the other battery net 38.00, cost 27.20, margin 10.8 ÷ 38; in the middle (0.225 + 0.284211) ÷ 2, half up
    margins = {"smallest": "0.225000", "median": "0.254606", "largest": "0.284211"}
    assert data["summary"]["before"] == {"priced": 2, "below_floor": 1, "floor": "0.250000", "margin": margins}
    assert data["entries"][0]["old"]["below_floor"] is True
    assert data["entries"][1]["old"] is None
    assert data["entries"][2]["new"] == {"refused": "there is no grade 'compatible'"}
    assert data["entries"][2]["difference"] is None


def test_jobs_as_plain_data(jobs: JobsEffect):
    """With what they earn before and after."""
    data = json.loads(json.dumps(effect_data(jobs)))
    earned = {"jobs": 1, "net": "48.00", "gross": "57.60", "cost": "37.200000", "margin": "0.225000"}
    assert data["earned"]["issued"] == data["earned"]["before"] == earned
    assert data["earned"]["after"] == {**earned, "net": "49.80", "gross": "59.76", "margin": "0.253012"}
    assert (data["left_out"], data["jobs"][0]["number"]) == (0, "=2026-1")
    assert data["summary"]["before"]["floor"] is None


def test_a_page_of_the_rows(lists: ListEffect):
    """With the summary of all."""
    data = effect_data(lists, slice(1, 2))
    assert [each["procedure"] for each in data["entries"]] == ["clean"]
    assert data["summary"]["counts"]["total"] == 3


def test_a_currency_without_decimals_has_none():
    """Yen, and rates as ever."""
    yen = {"currency": "JPY"}
    data = effect_data(list_effect(a_book(settings=yen), a_book(settings=yen, difficulty=DEARER), TODAY))
    battery = data["entries"][0]
    assert (battery["old"]["gross"], battery["new"]["gross"], battery["difference"]) == ("58", "60", "2")
    assert battery["relative_difference"] == "0.034483"
