"""Labour and bench lines: factors, three-point estimates, the reserve of time, increments, dwell (rule 4)."""

from decimal import Decimal

import pytest
from builders import a_book, a_row, a_step, kinds, line_of, nets, quoted

from quoter.book import RateBook


def bench(*steps: object, **given: object) -> RateBook:
    """Repairs a, b … with these steps as the goals of each in turn."""
    settings = {f"labour.{key}": given.pop(key) for key in LABOUR if key in given}
    letters = "abcd"[: len(steps)]
    goals = [" ".join(row["code"] for row in rows) for rows in steps]
    procedures = [a_row(letter, goals=goal) for letter, goal in zip(letters, goals, strict=True)]
    rows = {row["code"]: row for each in steps for row in each}
    return a_book(
        **{"steps": list(rows.values()), "procedures": procedures, "parts": [], **given, "settings": settings}
    )


LABOUR = ("confidence", "allowance", "increment_minutes", "bench_rate")


@pytest.mark.parametrize(
    ("increment", "billed", "net"),
    [
        ("1", "37", "37.00"),
        ("5", "40", "40.00"),
        ("15", "45", "45.00"),
        ("37", "37", "37.00"),
        ("0.5", "36.5", "36.50"),
    ],
)
def test_a_line_is_billed_in_increments_rounded_up(increment: str, billed: str, net: str):
    """36.2 minutes of two steps, rounded as a sum, at 60.00 an hour."""
    book = bench([a_step("s", "20.1"), a_step("t", "16.1")], increment_minutes=increment)
    charge = line_of(quoted(book, repairs=["a"]), "labour").charge
    assert (charge.quantity, str(charge.net)) == (Decimal(billed), net)


def test_each_repair_is_rounded_up_by_itself():
    """Two lines of 16 minutes in quarters of an hour: 30 and 30."""
    book = bench([a_step("s", 16)], [a_step("t", 16)], increment_minutes=15)
    assert nets(quoted(book, repairs=["a", "b"]), "labour") == ["30.00", "30.00"]


def test_labour_is_charged_at_the_hourly_rate_of_the_repairs_difficulty():
    """10 minutes at 45.00 are 7.50, and half up: 7 minutes at 45.30 are 5.285."""
    for rate, minutes, net in (("45", 10, "7.50"), ("45.30", 7, "5.29")):
        book = bench([a_step("s", minutes)], difficulty=[a_row("usual", hourly_rate=rate)])
        assert nets(quoted(book, repairs=["a"])) == [net]


def test_the_time_factor_of_the_owners_difficulty_scales_its_steps():
    """Each repair's own steps by its own factor; the shared step by its owner's, the harder one's."""
    book = bench(
        [a_step("shared", 10), a_step("s", 10)],
        [a_step("shared", 10), a_step("t", 10)],
        difficulty=[a_row("easy", time_factor="0.5"), a_row("hard", time_factor=2)],
        procedures=[
            a_row("a", goals="shared s", difficulty="easy"),
            a_row("b", goals="shared t", difficulty="hard"),
        ],
    )
    assert nets(quoted(book, repairs=["a", "b"]), "labour") == ["5.00", "40.00"]
    assert nets(quoted(book, repairs=["a"]), "labour") == ["10.00"]


@pytest.mark.parametrize(
    ("finding", "minutes"),
    [
        ({"time_factor": "1.5"}, "60.00"),  # blank affects: every step of the repairs that it concerns
        ({"time_factor": "1.5", "affects": "s"}, "50.00"),
        ({"time_factor": "1.5", "affects": "elsewhere"}, "40.00"),
        ({"time_factor": "1.5", "procedures": "a"}, "50.00"),
        ({"time_factor": "1.5", "procedures": "a", "affects": "t"}, "40.00"),  # t belongs to b
        ({"time_factor": "0.5"}, "20.00"),
    ],
)
def test_a_findings_factor_scales_the_steps_that_it_affects_of_the_repairs_that_it_concerns(
    finding: dict, minutes: str
):
    """Step s of repair a and t of b, 20 minutes each."""
    book = bench([a_step("s", 20)], [a_step("t", 20)], [a_step("elsewhere", 1)], findings=[a_row("found", **finding)])
    quote = quoted(book, repairs=["a", "b"], findings=["found"])
    assert f"{quote.time.expected_minutes:.2f}" == minutes


def test_factors_of_difficulty_and_findings_multiply():
    """10 × 2 × 1.5 × 1.2 = 36."""
    findings = [a_row("one", time_factor="1.5"), a_row("two", time_factor="1.2")]
    book = bench([a_step("s", 10)], findings=findings, difficulty=[a_row("usual", time_factor=2)])
    assert quoted(book, repairs=["a"], findings=["one", "two"]).time.expected_minutes == 36


def test_the_derivation_names_the_factors_that_are_not_one():
    """Of the difficulty always, of a finding where it changes the minutes."""
    findings = [a_row("one", time_factor=1), a_row("two", time_factor="1.2")]
    quote = quoted(bench([a_step("s", 10)], findings=findings), repairs=["a"], findings=["one", "two"])
    cells = line_of(quote, "labour").charge.because.inputs
    factors = [(cell.table, cell.row, cell.value) for cell in cells if cell.column == "time_factor"]
    assert factors == [("difficulty", "usual", "1"), ("findings", "two", "1.2")]


def test_the_derivation_names_the_repairs_own_steps():
    """Not those of the other repair of the job, whose minutes its own line bills."""
    lines = quoted(bench([a_step("s", (5, 8, 17))], [a_step("t", 7)]), repairs=["a", "b"]).lines
    cells = [line.charge.because.inputs for line in lines if line.charge.kind == "labour"]
    estimates = [[(cell.row, cell.column, cell.value) for cell in each if cell.table == "steps"] for each in cells]
    assert estimates == [
        [("s", "low", "5"), ("s", "likely", "8"), ("s", "high", "17")],
        [("t", "low", "7"), ("t", "likely", "7"), ("t", "high", "7")],
    ]


def test_the_mean_of_an_estimate_weighs_the_likely_value_four_times():
    """(5 + 4 × 8 + 17) ÷ 6 = 9 (WS-05)."""
    assert quoted(bench([a_step("s", (5, 8, 17))]), repairs=["a"]).time.expected_minutes == 9


# z of 0.9 is 1.2815515655; means are 9 and 7, variances 4 and 1, the root of their sum 2.2360679775
TWO_STEPS = [a_step("s", (5, 8, 17)), a_step("t", (4, 7, 10))]


@pytest.mark.parametrize(
    ("allowance", "quoted_minutes", "of_s", "of_t"),
    [
        # reserve 1.2815515655 × 2.2360679775 = 2.8656364, of which 4/5 and 1/5
        ("0", "18.865636", "11.292509", "7.573127"),
        ("0.1", "20.752200", "12.421760", "8.330440"),  # a tenth more: 20.7522000, 12.4217600, 8.3304400
    ],
)
def test_the_reserve_of_time_is_shared_by_variance(allowance: str, quoted_minutes: str, of_s: str, of_t: str):
    """(1 + allowance)(e + zσ·v ÷ Σv), worked with a table of the normal distribution."""
    quote = quoted(bench(TWO_STEPS, confidence="0.9", allowance=allowance), repairs=["a"])
    found = [quote.time.quoted_minutes, *(step.quoted_minutes for step in quote.plan)]
    assert [str(minutes) for minutes in found] == [quoted_minutes, of_s, of_t]


def test_the_reserve_is_of_the_whole_plan_not_of_each_repair():
    """Two repairs with a step each need less in reserve together than apart: 2.87 against 2.56 + 1.28."""
    book = bench(*([step] for step in TWO_STEPS), confidence="0.9")
    apart = [quoted(book, repairs=[letter]).time.quoted_minutes for letter in "ab"]
    assert [str(each) for each in apart] == ["11.563103", "8.281552"]  # 9 + 2 z and 7 + z
    assert str(quoted(book, repairs=["a", "b"]).time.quoted_minutes) == "18.865636"


def test_a_factor_scales_the_variance_by_its_square():
    """Twice the minutes, twice the deviation: 2 × 18.8656364."""
    book = bench(TWO_STEPS, confidence="0.9", difficulty=[a_row("usual", time_factor=2)])
    assert str(quoted(book, repairs=["a"]).time.quoted_minutes) == "37.731273"


@pytest.mark.parametrize("confidence", ["0.5", "0.99"])
def test_steps_of_fixed_minutes_need_no_reserve(confidence: str):
    """Where Σv is 0 there is nothing to share."""
    assert quoted(bench([a_step("s", 10)], confidence=confidence), repairs=["a"]).time.quoted_minutes == 10


def test_a_step_of_no_minutes_is_billed_nothing_and_still_listed():
    """Labour that rounds to zero is shown, as every line that is no adjustment."""
    assert nets(quoted(bench([a_step("s", 0)]), repairs=["a"])) == ["0.00"]


def test_a_line_of_time_says_how_many_minutes_at_which_price():
    """10 minutes of work at 60.00 an hour are 1.00 a minute; 5 minutes of waiting at 6.00 are 0.10."""
    quote = quoted(bench([a_step("s", 10, dwell=5)], bench_rate=6), repairs=["a"])
    charges = [line.charge for line in quote.lines]
    told = [(each.kind, each.quantity, each.unit, each.unit_price) for each in charges]
    assert told == [("labour", 10, "min", 1), ("bench", 5, "min", Decimal("0.1"))]


# bench


def test_dwell_is_charged_once_for_the_whole_plan_and_never_scaled():
    """5 + 7 minutes at 6.00 an hour are 1.20, whatever the findings and the difficulty."""
    book = bench(
        [a_step("s", 10, dwell=5)], [a_step("t", 10, dwell=7)], bench_rate=6, allowance="0.5",
        findings=[a_row("found", time_factor=3)], difficulty=[a_row("usual", time_factor=2)],
    )  # fmt: skip
    quote = quoted(book, repairs=["a", "b"], findings=["found"])
    assert line_of(quote, "bench").charge.net == Decimal("1.20")
    assert (quote.time.dwell_minutes, quote.time.expected_minutes) == (12, 180)  # 20 × 2 × 3 × 1.5


@pytest.mark.parametrize(("dwell", "rate"), [(0, 6), (5, 0)])
def test_without_dwell_or_without_a_rate_there_is_no_bench_line(dwell: int, rate: int):
    """Nothing to charge is nothing to list."""
    assert kinds(quoted(bench([a_step("s", 10, dwell=dwell)], bench_rate=rate), repairs=["a"])) == ["labour"]


def test_a_bench_line_that_rounds_to_zero_is_listed():
    """A minute at 0.10 an hour is 0.0017."""
    assert nets(quoted(bench([a_step("s", 0, dwell=1)], bench_rate="0.1"), repairs=["a"]), "bench") == ["0.00"]


def test_the_bench_line_is_rounded_half_up():
    """1 minute at 0.30 an hour is 0.005."""
    assert nets(quoted(bench([a_step("s", 0, dwell=1)], bench_rate="0.3"), repairs=["a"]), "bench") == ["0.01"]
