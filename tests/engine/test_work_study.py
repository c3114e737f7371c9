"""Published worked examples of work study, consumables and risk: `tests/data/work-study-cases.json` names the sources.

Not every case is a rule of this program; `NOT_OURS` says which are not, and why.
"""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from builders import a_book, a_job, a_part, a_row, a_step, line_of, nets, quoted, use

from quoter.book import RateBook
from quoter.books.compile import normal_quantile
from quoter.engine.consumables import bases_of
from quoter.engine.economics import warranty_reserve
from quoter.engine.labour import estimate
from quoter.engine.price import price

FILE = Path(__file__).parents[1] / "data" / "work-study-cases.json"
CASES = {case["id"]: case for case in json.loads(FILE.read_text(), parse_float=Decimal, parse_int=Decimal)["cases"]}

NOT_OURS = {
    "WS-04": "predetermined times: a shop writes the minutes into steps.csv, however it came by them",
    "WS-06": "learning curve: minutes are those of a practised hand; learning is the shop's own loss",
    "WS-08": "solvent vapour: a matter of safety at the bench, not of price; cautions say so in words",
    "WS-11": "rule of three: chance and failure_rate are inputs; how they were estimated is the owner's affair",
    "WS-12": "exact interval: the same",
    "WS-13": "repairability index: a label's figure; the owner decides which difficulty a device has",
}
"""Cases for which the engine has no rule. The other ids each have a test below."""


def part_of(case: str, section: str) -> dict[str, Any]:
    """The inputs or what is expected of a case."""
    return CASES[case][section]


def near(value: Decimal, expected: Decimal, case: str) -> bool:
    """Within the case's own tolerance."""
    return abs(value - expected) <= CASES[case]["tolerance"]


def rounded(value: Decimal) -> Decimal:
    """As many decimals as a cell of a table may have."""
    return round(value, 10)


def a_bench(*rated: tuple[Decimal, Any], **settings: Any) -> RateBook:
    """A book with a procedure for each (rating, minutes): the rating is its difficulty's time factor."""
    numbers = range(len(rated))
    return a_book(
        settings={f"labour.{key}": value for key, value in settings.items()},
        difficulty=[a_row(f"d{number}", time_factor=rated[number][0]) for number in numbers],
        steps=[a_step(f"s{number}", rated[number][1]) for number in numbers],
        procedures=[a_row(f"p{number}", goals=f"s{number}", difficulty=f"d{number}") for number in numbers],
        parts=[],
    )


def all_of(book: RateBook) -> dict[str, Any]:
    """A job of everything that a bench offers."""
    return {"repairs": list(book.procedures)}


def test_every_case_is_used_or_has_a_reason_why_not():
    """So that nobody thinks that one was forgotten."""
    text = Path(__file__).read_text()
    assert {case for case in CASES if f'"{case}"' in text} == set(CASES)
    assert set(NOT_OURS) < set(CASES)


def test_standard_time_is_observed_time_by_rating_by_allowance_on_task_time():
    """WS-01: 30 at a rating of 125 % is 37.5, with 20 % on it 45. (In minutes; the case has seconds.)"""
    given, expected = part_of("WS-01", "inputs"), part_of("WS-01", "expected")
    mean = sum(given["observed_s"]) / len(given["observed_s"])
    book = a_bench((given["rating_percent"] / 100, mean), allowance=given["allowance_percent"] / 100)
    time = quoted(book, **all_of(book)).time
    assert near(time.quoted_minutes, expected["standard_time_s"], "WS-01")


def test_standard_times_of_elements_with_their_own_ratings_add_up():
    """WS-02: four elements of one job, each with its rating, 15 % allowance."""
    given, expected = part_of("WS-02", "inputs"), part_of("WS-02", "expected")
    means = [sum(each["observed"]) / len(each["observed"]) for each in given["elements"]]
    ratings = [each["rating_percent"] / 100 for each in given["elements"]]
    book = a_bench(*zip(ratings, map(rounded, means), strict=True), allowance=given["allowance_percent"] / 100)
    quote = quoted(book, **all_of(book))
    assert near(quote.time.quoted_minutes, expected["standard_total"], "WS-02")
    for step, standard in zip(quote.plan, expected["standard"], strict=True):
        assert near(step.quoted_minutes, standard, "WS-02")


def test_the_allowance_is_on_task_time():
    """WS-03: 2.00 and 15 % are 2.30, not the 2.353 of an allowance on the working day, which is not offered."""
    given, expected = part_of("WS-03", "inputs"), part_of("WS-03", "expected")
    assert sum(given["allowance_parts_percent"].values()) == given["allowance_percent"]
    book = a_bench((Decimal(1), given["normal_time_min"]), allowance=given["allowance_percent"] / 100)
    assert near(quoted(book, **all_of(book)).time.quoted_minutes, expected["standard_on_task_time"], "WS-03")


def test_means_and_variances_of_three_point_estimates():
    """WS-05: (a + 4m + b)/6 and ((b - a)/6)²."""
    expected = part_of("WS-05", "expected")
    for activity, mean, variance in zip(
        part_of("WS-05", "inputs")["activities"], expected["means"], expected["variances"], strict=True
    ):
        found = estimate(activity["a"], activity["m"], activity["b"])
        assert near(found[0], mean, "WS-05")
        assert near(found[1], variance, "WS-05")


@pytest.mark.parametrize(
    ("confidence", "minutes"),
    [
        (Decimal("0.9"), part_of("WS-05", "expected")["percentile_90"]),
        (Decimal("0.5"), part_of("WS-05", "expected")["mean_total"]),
        (part_of("WS-05", "expected")["p_at_most_deadline"], part_of("WS-05", "inputs")["deadline"]),
    ],
    ids=["90-percent", "the-mean", "the-deadline"],
)
def test_quoted_minutes_are_the_percentile_of_the_whole_job(confidence: Decimal, minutes: Decimal):
    """WS-05: variances of steps in series add, not deviations; the reserve is shared out and nothing is lost."""
    activities = [(each["a"], each["m"], each["b"]) for each in part_of("WS-05", "inputs")["activities"]]
    book = a_bench(*((Decimal(1), each) for each in activities), confidence=confidence)
    quote = quoted(book, **all_of(book))
    assert near(quote.time.quoted_minutes, minutes, "WS-05")
    assert near(sum(step.quoted_minutes for step in quote.plan), minutes, "WS-05")


@pytest.mark.parametrize(("share", "z"), [("0.50", "0"), ("0.80", "0.8416"), ("0.90", "1.2816"), ("0.95", "1.6449")])
def test_the_normal_quantile_is_that_of_the_tables(share: str, z: str):
    """Standard normal table, to four decimals."""
    assert round(normal_quantile(Decimal(share)), 4) == Decimal(z)


def test_the_perimeter_of_a_rounded_rectangle():
    """WS-07: 146 × 68 mm with corners of 8 mm, along the middle of the tape; without corners the upper bound."""
    given, expected = part_of("WS-07", "expected")["centreline_mm"], part_of("WS-07", "expected")
    sizes = {"width_mm": given["width"], "height_mm": given["height"]}
    for corner, perimeter in ((given["corner_radius"], "perimeter_mm"), (0, "straight_bound_mm")):
        book = a_book(devices=[a_row("slate", corner_mm=corner, **sizes)])
        assert near(bases_of(book.devices["slate"])["perimeter"] * 1000, expected[perimeter], "WS-07")


def test_the_tape_of_a_seal_with_ten_percent_on_top():
    """WS-07: the case adds 10 % (a quantity of 1.1); `waste` would be a share of the pack, ÷ (1 − 0.1), so more."""
    given, expected = part_of("WS-07", "inputs"), part_of("WS-07", "expected")
    line = expected["centreline_mm"]
    book = a_book(
        devices=[
            a_row("slate", width_mm=line["width"], height_mm=line["height"], corner_mm=line["corner_radius"]),
        ],
        consumables=[a_row("tape", unit="m")],
        usage=[use("open", "tape", basis="perimeter", quantity=1 + given["waste_percent"] / 100)],
    )
    assert near(line_of(quoted(book), "consumable").charge.quantity, expected["tape_per_seal_m"], "WS-07")


@pytest.mark.parametrize(
    ("labour", "cost"),
    [
        # a part of 40 and an hour at 110 are the 150 of a repair, an hour at 160 makes it the claim of 200
        (Decimal(110), part_of("WS-09", "inputs")["cost_per_repair"]),
        (part_of("WS-09", "inputs")["one_claim"]["labour"], part_of("WS-09", "expected")["claim"]),
    ],
    ids=["repair", "claim"],
)
def test_the_warranty_reserve_is_rate_by_cost_per_failure(labour: Decimal, cost: Decimal):
    """WS-09: 10 % of those sold come back, at what the part and the work cost."""
    given = part_of("WS-09", "inputs")
    assert reserve_of(given["one_claim"]["parts"], labour, given["failure_rate"]) == given["failure_rate"] * cost


def test_reserves_of_all_jobs_are_the_liability_and_what_was_claimed():
    """WS-09: of 1,000 sold 40 have come back at 150 each; 9,000 are still owed."""
    given, expected = part_of("WS-09", "inputs"), part_of("WS-09", "expected")
    reserves = given["units"] * reserve_of(Decimal(40), Decimal(110), given["failure_rate"])
    claimed = given["already_returned"] * given["cost_per_repair"]
    assert reserves - claimed == expected["liability"]


def reserve_of(part: Decimal, labour: Decimal, failure_rate: Decimal) -> Decimal:
    """The reserve of a job with one part and an hour of work."""
    book = a_book(
        difficulty=[a_row("usual", hourly_cost=labour)],
        steps=[a_step("fit", 60, slot="battery")],
        procedures=[a_row("battery", goals="fit", slot="battery")],
        parts=[a_part("B1", cost=part, failure_rate=failure_rate)],
    )
    return warranty_reserve(price(a_job(), book).work, book)


def test_the_expected_loss_is_chance_by_consequence_and_adds_up():
    """WS-10: six risks with impacts of 118,000 need a reserve of 33,500."""
    given, expected = part_of("WS-10", "inputs"), part_of("WS-10", "expected")
    findings = [a_row(each["id"], chance=each["p"], consequence=each["c"]) for each in given["risks"]]
    quote = quoted(a_book(findings=findings), findings=[each["id"] for each in given["risks"]])
    assert [Decimal(net) for net in nets(quote, "risk")] == expected["expected_each"]
    assert sum(map(Decimal, nets(quote, "risk"))) == expected["expected_total"]
