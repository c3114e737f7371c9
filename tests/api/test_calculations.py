"""The owner's helpers over the API: the published examples of tests/books/test_calculations.py, and what cannot be."""

from typing import Any

import pytest

from .owning import errors
from .running import Caller, Reply, Service

NOTHING = dict.fromkeys(("on_costs", "yearly_overheads", "holiday_hours", "sick_hours", "not_chargeable"), "0")
BICYCLE_SHOP = {"yearly_wage": "70000", "paid_hours": "2500", "profit": "5"}
CHARGEABLE_HOURS = {
    "yearly_wage": "80000",
    "paid_hours": "2080",
    "holiday_hours": "240",
    "sick_hours": "40",
    "not_chargeable": "0.25",
}
BREAK_EVEN = {"fixed_costs": "20000", "average_net": "400", "average_variable_cost": "250"}


@pytest.fixture
def owner(shared: Service) -> Caller:
    """Leaves nothing behind."""
    return shared.caller("owner")


def asked(owner: Caller, which: str, **inputs: Any) -> Reply:
    """The answer of a helper; what an hour's calculation is not told is nothing."""
    given = {**NOTHING, **inputs} if which == "hourly-rate" else inputs
    return owner.post(f"/v1/calculations/{which}", given)


@pytest.mark.parametrize(
    ("which", "inputs", "name", "value", "source"),
    [
        ("hourly-rate", BICYCLE_SHOP, "rate", "33.00", "accountingdetails.com, bicycle shop"),
        ("hourly-rate", CHARGEABLE_HOURS, "rate", "59.26", "ANZ Bank NZ, chargeable hours"),
        ("hourly-rate", CHARGEABLE_HOURS, "chargeable_hours", "1350", "ANZ Bank NZ, chargeable hours"),
        ("price-for-margin", {"cost": "5", "margin": "0.5"}, "price", "10.00", "skillmaker.edu.au"),
        ("price-for-margin", {"cost": "27.40", "margin": "0.2"}, "price", "34.25", "connollysbs.com.au, corrected"),
        ("break-even", BREAK_EVEN, "jobs", "134", "psu.pb.unizin.org ACCTG 211, 7.2"),
        ("break-even", BREAK_EVEN, "revenue", "53600.00", "psu.pb.unizin.org ACCTG 211, 7.2"),
    ],
)
def test_the_published_examples_come_out(
    owner: Caller, which: str, inputs: dict[str, str], name: str, value: str, source: str
):
    """In the currency of the first book; the working ends with formulas and values."""
    found = asked(owner, which, **inputs)
    assert (found.status, found.body["result"][name]) == (200, value), source
    assert all(step["formula"] and step["value"] for step in found.body["working"])


def test_the_currency_can_be_named(owner: Caller):
    """It decides the decimals."""
    assert asked(owner, "price-for-margin", cost="101", margin="0.2", currency="JPY").body["result"]["price"] == "126"


@pytest.mark.parametrize(
    ("which", "inputs", "pointer"),
    [
        ("hourly-rate", {"yearly_wage": "1", "paid_hours": "0"}, "/paid_hours"),
        ("hourly-rate", {"yearly_wage": "1", "paid_hours": "1", "not_chargeable": "25"}, "/not_chargeable"),
        ("hourly-rate", {"yearly_wage": "1", "paid_hours": "1", "margin": "0.1", "profit": "1"}, "/profit"),
        ("hourly-rate", {"yearly_wage": 1, "paid_hours": "1"}, "/yearly_wage"),
        ("hourly-rate", {"yearly_wage": "NaN", "paid_hours": "1"}, "/yearly_wage"),
        ("hourly-rate", {"yearly_wage": "9" * 400, "paid_hours": "1"}, "/yearly_wage"),
        ("hourly-rate", {"paid_hours": "1"}, "/yearly_wage"),
        ("hourly-rate", {"yearly_wage": "1", "paid_hours": "1", "colour": "red"}, "/colour"),
        ("price-for-margin", {"cost": "10", "margin": "1"}, "/margin"),
        ("price-for-margin", {"cost": "-1", "margin": "0.1"}, "/cost"),
        ("price-for-margin", {"cost": "1", "margin": "0.1", "currency": "€"}, "/currency"),
        ("break-even", BREAK_EVEN | {"average_variable_cost": "400"}, "/average_variable_cost"),
        ("break-even", BREAK_EVEN | {"fixed_costs": None}, "/fixed_costs"),
    ],
)
def test_what_cannot_be_is_named_at_its_field(owner: Caller, which: str, inputs: dict[str, Any], pointer: str):
    """And never worked with."""
    refused = asked(owner, which, **inputs)
    assert refused.status == 422
    assert pointer in [place for place, _ in errors(refused)]


def test_helpers_are_for_the_owner(shared: Service):
    """They are about wages."""
    assert asked(shared.caller("desk"), "break-even", **BREAK_EVEN).status == 403
