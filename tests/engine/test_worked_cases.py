"""Every worked case of `shared/`: what a second, independently written program makes of the same rules."""

import pytest

from quoter.quote import Quote

from .cases import CASES, FOLDERS, Case, as_document, outcome_of

REASONS = {
    "grade": {"grade-not-available", "part-required"},  # one job lacks both a grade and a part: any reason is right
    "part required": {"part-required"},
    "offer": {"not-offered"},
    "stopped by finding": {"stopped-by-finding"},
}
"""The cases' words and the reasons that the engine gives for them."""


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_worked_case_comes_out_to_the_last_cent(case: Case):
    """Lines, totals, time, cost, contingencies, ceiling and alternatives, or the refusal."""
    found = outcome_of(case)
    if isinstance(found, Quote):
        assert as_document(found) == case.expected
    else:
        assert {refusal.reason for refusal in found} <= REASONS[case.expected["refused"]]


def test_all_worked_cases_are_there():
    """Four books of forty jobs: a folder that is not found must not pass unnoticed."""
    assert (len(FOLDERS), len(CASES)) == (4, 160)
