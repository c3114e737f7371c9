"""Warranty terms of each repair (rule 6)."""

import pytest
from builders import PORT, a_book, a_part, a_row, quoted

TERMS = [a_row("w365", days=365), a_row("w90", days=90), a_row("w30", days=30), a_row("w0", days=0)]


def terms(*findings: str, part: str = "", procedure: str = "", rows: object = (), **job: object) -> list[tuple]:
    """Each repair's terms."""
    book = a_book(
        warranty=TERMS,
        procedures=[
            a_row("battery", slot="battery", goals="fit-battery", warranty=procedure),
            a_row("clean", goals="clean", warranty="w30"),
        ],
        parts=[a_part("B1", warranty=part), PORT],
        findings=rows,
    )
    return [(each.procedure, *each.terms) for each in quoted(book, findings=findings, **job).warranty]


@pytest.mark.parametrize(
    ("part", "procedure", "expected"),
    [
        ("w365", "w90", ("w365", "w90")),
        ("w90", "w90", ("w90",)),
        ("", "w90", ("w90",)),
        ("w365", "", ("w365",)),
        ("", "", ()),
    ],
)
def test_a_repair_has_the_terms_of_its_part_and_of_its_procedure(part: str, procedure: str, expected: tuple):
    """The part's first; the same term once; none where there is none."""
    assert terms(part=part, procedure=procedure) == [("battery", *expected)]


def test_a_repair_that_is_about_no_part_has_its_procedures_term():
    """In the job's order, the other repair's part is not its own."""
    found = terms(part="w365", procedure="w90", repairs=["clean", "battery"])
    assert found == [("clean", "w30"), ("battery", "w365", "w90")]


def test_a_findings_term_replaces_all_others_of_the_repairs_that_it_concerns():
    """Opened before: 30 days, whatever the part has; the cleaning keeps its own."""
    rows = [a_row("opened", warranty="w0", procedures="battery"), a_row("bent")]
    found = terms("opened", "bent", part="w365", procedure="w90", rows=rows, repairs=["battery", "clean"])
    assert found == [("battery", "w0"), ("clean", "w30")]


@pytest.mark.parametrize("order", [("opened", "wet"), ("wet", "opened")])
@pytest.mark.parametrize(("longer", "shorter"), [("w30", "w0"), ("w365", "w90")])
def test_of_two_findings_terms_the_shorter_is_kept(longer: str, shorter: str, order: tuple[str, str]):
    """Only the shorter promise can be kept in every case; by days, whatever the codes are."""
    rows = [a_row("opened", warranty=longer), a_row("wet", warranty=shorter)]
    assert terms(*order, part="w365", rows=rows) == [("battery", shorter)]
