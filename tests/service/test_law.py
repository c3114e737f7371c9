"""What a customer must be told about a job, and what a quote carries of the law."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from builders import PORT, a_part, a_raw_book, quoted

from quoter.book import RateBook
from quoter.books.compile import compiled
from quoter.problems import REASONS
from quoter.service.quotes.law import notices_for
from quoter.service.quotes.notices import notices_of, untold
from quoter.service.quotes.snapshot import snapshot


def a_law(**notices: tuple[str, bool]) -> Mapping[str, Any]:
    """A profile's text with notices by code (with _ for -): about which jobs, and whether they must be told."""
    return {
        "code": "plain",
        "title": "Plain law",
        "source": "invented, 2026",
        "label": "estimate",
        "tax_in_price": False,
        "minimum_validity_days": "30",
        "excess": {"share": "0.10", "of": "net", "from": True},
        "consent": {"how": ["phone", "counter"], "number": True},
        "notices": {
            code.replace("_", "-"): {"when": when, "must_be_told": must, "texts": {"en": f"About {code}.", "de": "…"}}
            for code, (when, must) in notices.items()
        },
    }


def a_lawful_book(**notices: tuple[str, bool]) -> RateBook:
    """The small book under such a law; cleaning is its diagnosis."""
    raw = a_raw_book(settings={"law_profile": "plain", "policy.diagnosis_procedures": "clean"})
    return compiled(replace(raw, law=a_law(**notices)))


BOOK = a_lawful_book(
    data_loss=("always", True),
    diagnosis_fee=("diagnosis", True),
    parts_condition=("parts", False),
    ceiling=("always", False),
)


@pytest.mark.parametrize(
    ("repairs", "parts", "codes"),
    [
        (["battery"], {}, ["data-loss", "parts-condition", "ceiling"]),
        (["clean"], {}, ["data-loss", "diagnosis-fee", "ceiling"]),
        (["clean", "port"], {}, ["data-loss", "diagnosis-fee", "parts-condition", "ceiling"]),
    ],
)
def test_a_notice_is_about_the_jobs_that_it_names(repairs: list[str], parts: dict[str, Any], codes: list[str]):
    """In the order of the profile."""
    found = notices_for(quoted(BOOK, repairs=repairs, parts=parts), BOOK)
    assert [notice.code for notice in found] == codes


@pytest.mark.parametrize(
    ("condition", "is_about"), [("", False), ("new", False), ("refurbished", True), ("used", True)]
)
def test_a_notice_about_used_parts_is_about_jobs_that_fit_one(condition: str, is_about: bool):
    """Refurbished parts too; of a part that does not say what it is nothing is said."""
    law = a_law(parts_condition=("used_parts", True))
    parts = (a_part("B1", cost=30, condition=condition), PORT | {"condition": "used"})
    book = compiled(replace(a_raw_book(settings={"law_profile": "plain"}, parts=parts), law=law))
    assert [notice.code for notice in notices_for(quoted(book), book)] == ["parts-condition"] * is_about
    without = quoted(book, repairs=["clean"])
    assert notices_for(without, book) == ()


def test_without_a_law_profile_there_is_nothing_to_tell():
    """And nothing of it in the quote but that there is none."""
    book = compiled(a_raw_book())
    quote = quoted(book)
    assert notices_for(quote, book) == ()
    assert snapshot(quote, book)["law"] is None


@pytest.mark.parametrize(
    ("told", "missing"),
    [
        ([], ["data-loss", "diagnosis-fee"]),
        (["data-loss"], ["diagnosis-fee"]),
        (["diagnosis-fee", "ceiling", "data-loss"], []),
        (["data-los", "weather"], ["data-loss", "diagnosis-fee"]),
    ],
)
def test_what_must_be_told_and_was_not_is_refused_a_code_each(told: list[str], missing: list[str]):
    """Where it would be told; what need not be told holds nothing back."""
    found = untold(notices_of(snapshot(quoted(BOOK, repairs=["clean"]), BOOK)), told)
    assert [refusal.allowed for refusal in found] == [(code,) for code in missing]
    assert {(refusal.reason, refusal.pointer) for refusal in found} <= {("notice-required", "/told")}
    assert all(code in refusal.detail for code, refusal in zip(missing, found, strict=True))
    assert "notice-required" in REASONS


def test_a_quote_carries_what_the_law_says_of_it():
    """Plain data with the notices of this job in every language; when a notice counts is no longer of interest."""
    assert snapshot(quoted(BOOK, repairs=["clean"]), BOOK)["law"] == {
        "code": "plain",
        "title": "Plain law",
        "reviewed": "",
        "label": "estimate",
        "tax_in_price": False,
        "excess": {"share": "0.10", "of": "net", "from": True},
        "validity_days": 30,
        "consent": {"how": ["phone", "counter"], "number": True},
        "notices": [
            {"code": "data-loss", "must_be_told": True, "texts": {"en": "About data_loss.", "de": "…"}},
            {"code": "diagnosis-fee", "must_be_told": True, "texts": {"en": "About diagnosis_fee.", "de": "…"}},
            {"code": "ceiling", "must_be_told": False, "texts": {"en": "About ceiling.", "de": "…"}},
        ],
    }
