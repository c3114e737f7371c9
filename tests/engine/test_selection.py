"""Which part fills a slot: the job's choice, then the repair's wish, then the owner's order of preference."""

import pytest
from builders import a_book, a_part, a_row, a_step, kinds, line_of, quoted, refusals

from quoter.book import RateBook
from quoter.job import Repair

PARTS = (
    a_part("other", cost=1, devices="tab"),
    a_part("first", cost=2, grade="compatible"),
    a_part("genuine", cost=3),
    a_part("second", cost=4),
    a_part("P1", slot="port", cost=5),
)


def choosing(**given: object) -> RateBook:
    """Two devices and several cells, of which `first` is preferred and `other` does not fit the slate."""
    return a_book(devices=[a_row("slate"), a_row("tab")], parts=PARTS, **given)


@pytest.mark.parametrize(
    ("repair", "parts", "chosen"),
    [
        (Repair("battery"), {}, "first"),
        (Repair("battery", grade="genuine"), {}, "genuine"),
        (Repair("battery", part="second"), {}, "second"),
        (Repair("battery", grade="genuine", part="second"), {}, "second"),
        (Repair("battery"), {"battery": "second"}, "second"),
        (Repair("battery", grade="compatible"), {"battery": "second"}, "second"),
        (Repair("battery", part="genuine"), {"battery": "second"}, "second"),
        (Repair("battery"), {"port": "P1"}, "first"),
    ],
)
def test_the_jobs_choice_comes_before_the_repairs_wish_before_the_first_that_fits(
    repair: Repair, parts: dict[str, str], chosen: str
):
    """A wish is for a certain part before it is for a grade; the first in the table is of those that fit."""
    assert line_of(quoted(choosing(), repairs=[repair], parts=parts), "part").charge.ref == chosen


def test_a_part_of_another_grade_than_is_wished_for_is_a_contradiction():
    """Neither wish may win in silence; what would be right is the part's own grade."""
    (refusal,) = refusals(choosing(), repairs=[Repair("battery", grade="compatible", part="second")])
    assert (refusal.reason, refusal.pointer, refusal.allowed) == ("contradiction", "/repairs/0/grade", ("genuine",))


def test_another_devices_part_is_preferred_there():
    """The order of the table is one for all devices."""
    assert line_of(quoted(choosing(), device="tab"), "part").charge.ref == "other"


def test_a_grade_that_no_fitting_part_has_is_refused_with_those_that_there_are():
    """The grade exists in the book, but not for this device."""
    (refusal,) = refusals(choosing(), device="tab", repairs=[Repair("battery", grade="compatible")])
    assert (refusal.reason, refusal.pointer) == ("grade-not-available", "/repairs/0/grade")
    assert refusal.allowed == ("genuine",)


def test_a_grade_that_cannot_be_had_does_not_matter_where_the_job_chose_a_part():
    """`parts` stands before the wish, which is then not looked at."""
    quote = quoted(
        choosing(), device="tab", repairs=[Repair("battery", grade="compatible")], parts={"battery": "other"}
    )
    assert line_of(quote, "part").charge.ref == "other"


def test_a_wish_for_a_slot_that_no_step_asks_for_is_not_met_and_not_refused():
    """The step that fits it is saved before it is asked: without the step there is no slot."""
    book = choosing(
        steps=[a_step("open"), a_step("fit", slot="battery"), a_step("fit-port", slot="port"), a_step("look")],
        procedures=[a_row("battery", slot="battery", goals="look"), a_row("port", slot="port", goals="fit-port")],
    )
    quote = quoted(book, repairs=[Repair("battery", grade="genuine")])
    assert kinds(quote) == ["labour"]


TWO_ABOUT_ONE_SLOT = [
    a_row("battery", slot="battery", goals="fit-battery"),
    a_row("service", slot="battery", goals="fit-battery clean"),
]


@pytest.mark.parametrize(
    ("first", "second", "chosen"),
    [
        ({}, {"grade": "genuine"}, "genuine"),
        ({"part": "second"}, {}, "second"),
        ({"grade": "genuine"}, {"part": "genuine"}, "genuine"),
    ],
)
def test_two_repairs_about_one_slot_get_the_one_part_that_either_wishes_for(first: dict, second: dict, chosen: str):
    """One of them has no wish, or they wish for the same."""
    repairs = [Repair("battery", **first), Repair("service", **second)]
    quote = quoted(choosing(procedures=TWO_ABOUT_ONE_SLOT), repairs=repairs)
    assert line_of(quote, "part").charge.ref == chosen


def test_two_repairs_that_wish_for_different_parts_in_one_slot_contradict_each_other():
    """Both wishes are named."""
    repairs = [Repair("battery", part="second"), Repair("service", grade="genuine")]
    (refusal,) = refusals(choosing(procedures=TWO_ABOUT_ONE_SLOT), repairs=repairs)
    assert (refusal.reason, refusal.pointer) == ("contradiction", "/repairs")
    assert refusal.allowed == ("second", "genuine")
    assert refusal.detail == "two repairs wish for different parts in the one battery: second and genuine"


def test_contradicting_wishes_do_not_matter_where_the_job_chose_a_part():
    """The job's own choice settles it."""
    repairs = [Repair("battery", part="second"), Repair("service", grade="genuine")]
    quote = quoted(choosing(procedures=TWO_ABOUT_ONE_SLOT), repairs=repairs, parts={"battery": "first"})
    assert line_of(quote, "part").charge.ref == "first"


def test_of_two_wishes_the_one_that_cannot_be_met_is_refused():
    """On the tab there is no compatible cell, whatever the other repair wants."""
    repairs = [Repair("battery", part="other"), Repair("service", grade="compatible")]
    (refusal,) = refusals(choosing(procedures=TWO_ABOUT_ONE_SLOT), device="tab", repairs=repairs)
    assert (refusal.reason, refusal.pointer) == ("grade-not-available", "/repairs/1/grade")


def test_parts_wait_for_the_slowest():
    """The quote's lead time is the longest of the parts that are fitted; nothing to wait for is 0."""
    parts = [a_part("B1", lead_days=4), a_part("B2", lead_days=9), a_part("P1", slot="port", lead_days=6)]
    book = a_book(parts=parts)
    assert [quoted(book, repairs=repairs).lead_days for repairs in (["battery"], ["battery", "port"], ["clean"])] == [
        4,
        6,
        0,
    ]
