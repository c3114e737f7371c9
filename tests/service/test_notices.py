"""What a customer must have been told."""

import pytest

from quoter.service.quotes.notices import notices_of, untold

from .desk import LAW


def result(**notices: bool) -> dict[str, object]:
    """A quote under a law with these notices; true for those that must be told."""
    listed = [{"code": code, "must_be_told": must, "texts": {}} for code, must in notices.items()]
    return {"law": LAW | {"notices": listed}}


@pytest.mark.parametrize(
    ("told", "missing"),
    [([], ["ceiling", "form"]), (["form"], ["ceiling"]), (["form", "ceiling", "other"], [])],
)
def test_what_must_be_told_and_has_not_been(told: list[str], missing: list[str]):
    """In the law's order; what need not be told is not asked for."""
    refusals = untold(notices_of(result(ceiling=True, validity=False, form=True)), told)
    assert [(each.reason, each.pointer, each.allowed) for each in refusals] == [
        ("notice-required", "/told", (code,)) for code in missing
    ]


@pytest.mark.parametrize("bare", [{}, {"law": None}])
def test_without_a_law_nothing_must_be_told(bare: dict[str, object]):
    """Nor on a quote of the version before."""
    assert untold(notices_of(bare), []) == ()
