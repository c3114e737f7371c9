"""What the price could become: contingencies, the ceiling, other grades (rule 6)."""

from decimal import Decimal

import pytest
from builders import PORT, a_book, a_part, a_row, a_step, quoted

from quoter.job import Repair
from quoter.quote import Outcome, Quote


def emerging(code: str, **cells: object) -> dict:
    """A finding that the bench may come upon."""
    return a_row(code, emerges="yes", **cells)


def differences(quote: Quote) -> dict[str, str]:
    """By finding: the difference in gross, or that it is refused."""
    return {
        each.finding: "refused" if each.outcome.refused else str(each.outcome.difference)
        for each in quote.contingencies
    }


BOOK = a_book(
    findings=[
        emerging("swollen", charge=10),
        emerging("opened", charge=5, procedures="port"),
        a_row("bent", charge=1),
        emerging("wet", adds="clean"),
        emerging("gas", stops="yes", title="Gas"),
    ]
)


def test_every_finding_that_may_emerge_is_priced_as_if_it_had():
    """10 × 1.2, and 7 minutes of cleaning × 1.2; `opened` is about the port, and `bent` does not emerge."""
    assert differences(quoted(BOOK)) == {"swollen": "12.00", "wet": "8.40", "gas": "refused"}


def test_a_finding_concerns_the_jobs_repairs_or_is_no_contingency():
    """With the port there is one more."""
    assert list(differences(quoted(BOOK, repairs=["battery", "port"]))) == ["swollen", "opened", "wet", "gas"]


def test_what_is_on_the_job_already_is_no_contingency():
    """It has been found."""
    assert list(differences(quoted(BOOK, findings=["swollen", "bent"]))) == ["wet", "gas"]


def test_a_contingency_that_stops_the_job_says_why_in_place_of_a_price():
    """No amounts beside a reason."""
    (outcome,) = (each.outcome for each in quoted(BOOK).contingencies if each.finding == "gas")
    assert (outcome.gross, outcome.difference) == (None, None)
    assert outcome.refused
    assert "Gas" in outcome.refused


def test_the_ceiling_is_the_job_with_all_of_them_that_are_not_refused():
    """57.60 and 12.00 and 8.40: 78.00."""
    assert quoted(BOOK).ceiling == Outcome(gross=Decimal("78.00"), difference=Decimal("20.40"))


def test_the_ceiling_prices_the_findings_together():
    """Two factors of 1.5 multiply: 18 × 2.25 is 22.5 more (23 billed), × 1.2; singly they are 9 each."""
    book = a_book(findings=[emerging("one", time_factor="1.5"), emerging("two", time_factor="1.5")])
    quote = quoted(book)
    assert differences(quote) == {"one": "10.80", "two": "10.80"}
    assert quote.ceiling.difference == Decimal("27.60")


def test_without_contingencies_the_ceiling_is_the_price():
    """And the difference is nothing, in the currency's decimals."""
    ceiling = quoted(a_book()).ceiling
    assert (str(ceiling.gross), str(ceiling.difference)) == ("57.60", "0.00")


def test_contingencies_come_after_the_findings_of_the_job():
    """`two` is added at the end: of two replacements for one step, the one seen first stays."""
    rows = [emerging("two", replaces="clean:close"), a_row("one", replaces="clean:open")]
    quote = quoted(a_book(findings=rows), repairs=["clean"], findings=["one"])
    assert differences(quote) == {"two": "0.00"}


def test_a_ceiling_that_cannot_be_planned_is_refused_with_its_reason():
    """Each finding alone can be done, together their steps wait for each other."""
    steps = [
        a_step("goal", needs="x"), a_step("x", needs="y"), a_step("y"), a_step("b", needs="z"), a_step("z"),
    ]  # fmt: skip
    findings = [emerging("one", replaces="y:b"), emerging("two", replaces="z:x")]
    book = a_book(steps=steps, procedures=[a_row("a", goals="goal")], parts=[], findings=findings)
    quote = quoted(book, repairs=["a"])
    assert set(differences(quote).values()) == {"0.00"}
    assert quote.ceiling.gross is None
    assert quote.ceiling.refused
    assert "wait for each other" in quote.ceiling.refused


# alternatives

GRADES = (
    a_part("B1", cost=30),
    a_part("B2", cost=12, grade="compatible"),
    a_part("B3", cost=20, grade="refurbished"),
    a_part("B4", cost=99, grade="compatible"),
    a_part("T1", cost=1, grade="gold", devices="tab"),
    PORT,
)
GRADED = a_book(devices=[a_row("slate"), a_row("tab")], parts=GRADES)


def alternatives(quote: Quote) -> list[tuple[str, str, str]]:
    """Procedure, grade and difference."""
    return [(each.procedure, each.grade, str(each.outcome.difference)) for each in quote.alternatives]


@pytest.mark.parametrize(
    ("job", "expected"),
    [
        ({}, [("compatible", "-21.60"), ("refurbished", "-12.00")]),  # 18 × 1.2, 10 × 1.2
        ({"repairs": [Repair("battery", grade="compatible")]}, [("genuine", "21.60"), ("refurbished", "9.60")]),
        ({"repairs": [Repair("battery", part="B3")]}, [("genuine", "12.00"), ("compatible", "-9.60")]),
        # the job's own choice is set aside too: B4 is of a grade whose first part would be B2
        ({"parts": {"battery": "B4"}}, [("genuine", "-82.80"), ("refurbished", "-94.80")]),
    ],
)
def test_the_job_is_priced_with_every_other_grade_of_the_main_part(job: dict, expected: list[tuple[str, str]]):
    """In the order in which the grades first stand in the table; of a grade, the first part that fits."""
    assert alternatives(quoted(GRADED, **job)) == [("battery", *each) for each in expected]


def test_a_repair_with_one_grade_or_no_part_has_no_alternative():
    """The port is there in one grade, cleaning is about no part."""
    assert alternatives(quoted(GRADED, repairs=["port", "clean"])) == []


def test_of_several_repairs_each_has_its_own_alternatives():
    """In the job's order; other repairs stay as they are."""
    book = a_book(parts=[*GRADES[:2], PORT, a_part("P2", slot="port", cost=28, grade="compatible")])
    assert alternatives(quoted(book, repairs=["port", "battery"])) == [
        ("port", "compatible", "24.00"),
        ("battery", "compatible", "-21.60"),
    ]


def test_an_alternative_keeps_the_jobs_choices_for_other_slots():
    """The seal that the job does without stays away, the discount stays on."""
    steps = [
        a_step("fit-battery", 10, slot="battery"), a_step("fit-port", slot="port"), a_step("clean"),
        a_step("close", 2, slot="seal", without_part="tape"), a_step("tape", 6),
    ]  # fmt: skip
    book = a_book(steps=steps, parts=[*GRADES[:2], PORT, a_part("S1", slot="seal", cost=4)], findings=[])
    quote = quoted(book, parts={"seal": None, "battery": "B1"}, discount="0.5")
    assert str(quote.totals.net) == "23.00"  # (30 + 10 + 6) ÷ 2
    assert alternatives(quote) == [("battery", "compatible", "-10.80")]  # 18 ÷ 2 × 1.2


def test_a_grade_that_saves_work_is_cheaper_by_that_too():
    """The compatible cell comes with its adhesive: no cleaning of 7 minutes. (18 + 7) × 1.2."""
    procedures = [
        a_row("battery", slot="battery", goals="fit-battery clean"),
        a_row("port", slot="port", goals="fit-port"),
    ]
    book = a_book(
        procedures=procedures, parts=[GRADES[0], a_part("B2", cost=12, grade="compatible", saves="clean"), PORT]
    )
    assert alternatives(quoted(book)) == [("battery", "compatible", "-30.00")]
