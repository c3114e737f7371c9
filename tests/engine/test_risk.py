"""Risk and disposal lines: what a finding costs beyond its extra work (rule 4)."""

import pytest
from builders import a_book, a_row, line_of, nets, quoted


def risk(loading: str = "1", **finding: object) -> list[str]:
    """The nets of a job with one such finding, from risk to disposal."""
    book = a_book(findings=[a_row("found", **finding)], settings={"risk.loading": loading})
    return nets(quoted(book, findings=["found"]), "risk", "disposal")


@pytest.mark.parametrize(
    ("loading", "finding", "net"),
    [
        ("1", {"charge": "10.70", "chance": "0.06", "consequence": "129.42"}, ["18.47"]),  # 10.70 + 7.7652
        ("1.25", {"charge": "10", "chance": "0.06", "consequence": "100"}, ["17.50"]),  # the charge is not loaded
        ("0", {"charge": "10", "chance": "0.06", "consequence": "100"}, ["10.00"]),
        ("1", {"chance": "0.5", "consequence": "0.01"}, ["0.01"]),  # a tie
        ("1", {"chance": "0.1", "consequence": "0.01"}, ["0.00"]),  # above zero, so it is listed
        ("0", {"chance": "0.1", "consequence": "100"}, []),
        ("1", {"chance": "1", "consequence": "0"}, []),
        ("1", {}, []),
    ],
)
def test_a_finding_is_charged_its_charge_and_its_loaded_expected_loss(loading: str, finding: dict, net: list[str]):
    """charge + loading × chance × consequence, where that is above zero."""
    assert risk(loading, **finding) == net


@pytest.mark.parametrize(("disposal", "net"), [("2.69", ["2.69"]), ("0.005", ["0.01"]), ("0.004", ["0.00"]), ("0", [])])
def test_disposal_is_charged_where_it_is_above_zero(disposal: str, net: list[str]):
    """Rounded half up; what rounds to zero is still listed."""
    assert risk(disposal=disposal) == net


def test_risks_stand_before_disposals_in_the_order_of_the_jobs_findings():
    """As they were seen, not as they stand in the table."""
    findings = [a_row("one", charge=1, disposal=3), a_row("two", charge=2, disposal=4)]
    quote = quoted(a_book(findings=findings), findings=["two", "one"])
    assert nets(quote, "risk", "disposal") == ["2.00", "1.00", "4.00", "3.00"]


def test_a_finding_that_concerns_two_repairs_is_charged_once():
    """The risk is the device's, not the repair's."""
    quote = quoted(a_book(findings=[a_row("found", charge=5)]), repairs=["battery", "port"], findings=["found"])
    assert line_of(quote, "risk").charge.ref == "found"
