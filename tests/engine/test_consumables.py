"""Consumable lines: geometry of the seal, waste, increments (rule 4, Consumable)."""

from decimal import Decimal

import pytest
from builders import a_book, a_row, line_of, nets, quoted, use

from quoter.engine.consumables import BASES, PI, bases_of, consumption
from quoter.quote import Charge


def bases(width: str, height: str, corner: str) -> dict[str, Decimal]:
    """The measures of a seal, in millimetres and square millimetres."""
    book = a_book(devices=[a_row("slate", width_mm=width, height_mm=height, corner_mm=corner)])
    found = bases_of(book.devices["slate"])
    return {name: round(value * (10**6 if name == "area" else 1000), 6) for name, value in found.items()}


def consumable(quantity: object = 1, **given: object) -> Charge:
    """The line of a consumable that the first step uses by some basis."""
    usage = given.pop("usage", [use("open", "tape", quantity=quantity, basis=given.pop("basis", "each"))])
    settings = {"consumables.markup": given.pop("markup", 0)}
    book = a_book(consumables=[a_row("tape", **given)], usage=usage, settings=settings)
    return line_of(quoted(book), "consumable").charge


@pytest.mark.parametrize(
    ("width", "height", "corner", "perimeter", "long", "short", "area"),
    [
        # 2 × 220 − 80 + 20π; area 10500 − 400 + 100π
        ("70", "150", "10", "422.831853", "260", "100", "10414.159265"),
        ("150", "70", "10", "422.831853", "260", "100", "10414.159265"),  # the longer side is the longer side
        ("68", "146", "8", "414.265482", "260", "104", "9873.061930"),  # WS-07; 9928 − 256 + 64π
        ("70", "150", "0", "440", "300", "140", "10500"),  # sharp corners
        ("40", "40", "20", "125.663706", "0", "0", "1256.637061"),  # a round watch: 40π and 400π
    ],
)
def test_the_measures_of_a_rounded_rectangle(
    width: str, height: str, corner: str, perimeter: str, long: str, short: str, area: str
):
    """Perimeter 2(w+h) − 8r + 2πr, sides without their corners, area wh − (4 − π)r², worked with π to 9 decimals."""
    found = bases(width, height, corner)
    expected = {"each": "1000", "perimeter": perimeter, "long_sides": long, "short_sides": short, "area": area}
    assert {name: found[name] for name in expected} == {name: Decimal(value) for name, value in expected.items()}
    assert set(found) == set(BASES)


def test_pi_has_the_digits_of_the_arithmetic():
    """OEIS A000796: 3.1415926535 8979323846 26433 83279…"""
    assert str(PI) == "3.141592653589793238462643383"


@pytest.mark.parametrize(
    ("basis", "billed"),
    [
        ("each", "2.000000"),
        ("perimeter", "0.845664"),  # 2 × 0.422831853
        ("long_sides", "0.520000"),
        ("short_sides", "0.200000"),
        ("area", "0.020828"),  # 2 × 0.010414159
    ],
)
def test_a_basis_multiplies_the_quantity(basis: str, billed: str):
    """In metres and square metres, settled to 6 decimals."""
    assert str(consumable(2, basis=basis).quantity) == billed


@pytest.mark.parametrize(
    ("quantity", "waste", "increment", "billed"),
    [
        ("9", "0.1", "", "10"),  # 9 ÷ 0.9: a tenth of what is bought is lost
        ("1", "0.1", "", "1.111111"),
        ("2", "0.5", "1", "4"),
        ("1", "0.1", "0.05", "1.15"),  # 1.111111 in steps of 0.05
        ("0.3", "0", "0.1", "0.3"),
        ("0.3000001", "0", "0.1", "0.3"),  # settles to 0.300000 first
        ("0.3000005", "0", "0.1", "0.4"),  # settles to 0.300001
        ("0", "0", "1", "0"),
    ],
)
def test_waste_is_added_and_the_rest_rounded_up_to_the_increment(
    quantity: str, waste: str, increment: str, billed: str
):
    """needed = used ÷ (1 − waste), to 6 decimals, then up to the next step."""
    assert consumable(quantity, waste=waste, increment=increment).quantity == Decimal(billed)


def test_uses_of_one_consumable_are_added_before_they_are_rounded_up():
    """Two steps of 0.4 with steps of 1: one piece, not two."""
    charge = consumable(usage=[use("open", "tape", quantity="0.4"), use("close", "tape", quantity="0.4")], increment=1)
    assert charge.quantity == 1


def test_only_steps_of_the_plan_use_anything_up():
    """`clean` is not part of a battery job."""
    usage = [use("open", "tape", quantity=1), use("clean", "tape", quantity=100)]
    assert consumable(usage=usage).quantity == 1


def test_a_step_may_use_one_consumable_by_two_bases():
    """0.26 m along the long sides and 2 each."""
    usage = [use("open", "tape", basis="long_sides"), use("open", "tape", basis="each", quantity=2)]
    assert consumable(usage=usage).quantity == Decimal("2.26")


@pytest.mark.parametrize(
    ("quantity", "pack_price", "pack_size", "markup", "net", "cost"),
    [
        ("3", "6.60", "33", "0", "0.60", "0.60"),
        ("3", "6.60", "33", "0.5", "0.90", "0.60"),
        ("1", "0.01", "2", "0", "0.01", "0.005"),  # half a cent is a cent
        ("0", "5", "1", "1", "0.00", "0"),  # listed though it is nothing
    ],
)
def test_the_price_is_the_share_of_a_pack_with_markup(
    quantity: str, pack_price: str, pack_size: str, markup: str, net: str, cost: str
):
    """pack price ÷ pack size × (1 + markup); the shop's own cost has no markup."""
    charge = consumable(quantity, pack_price=pack_price, pack_size=pack_size, markup=markup)
    assert (str(charge.net), charge.cost) == (net, Decimal(cost))


def test_a_line_says_how_much_of_what_at_which_price():
    """3 m of a 33 m roll at 6.60, half as much again: 0.20 × 1.5 a metre."""
    charge = consumable("3", title="Tape 2 mm", unit="m", pack_price="6.60", pack_size="33", markup="0.5")
    words = charge.description.text.format(**charge.description.parameters)
    assert (words, charge.quantity, charge.unit, charge.unit_price) == ("Tape 2 mm", 3, "m", Decimal("0.30"))


def test_consumables_stand_in_the_order_of_their_table():
    """Whichever step uses them first."""
    book = a_book(
        consumables=[a_row("wipe", pack_price=1), a_row("tape", pack_price=2)],
        usage=[use("open", "tape"), use("close", "wipe")],
    )
    assert nets(quoted(book), "consumable") == ["1.00", "2.00"]


@pytest.mark.parametrize(("bases", "has_size"), [("each", False), ("area", True), ("each area", True)])
def test_the_derivation_names_the_devices_size_where_it_counts(bases: str, has_size: bool):
    """A wipe is a wipe whatever the device."""
    charge = consumable(usage=[use("open", "tape", basis=basis) for basis in bases.split()])
    cells = [(cell.table, cell.column) for cell in charge.because.inputs]
    assert (("devices", "corner_mm") in cells) is has_size


@pytest.mark.parametrize(("increment", "columns"), [("", []), ("0.5", ["increment"])])
def test_the_derivation_names_all_that_makes_the_price(increment: str, columns: list[str]):
    """The use, the pack, the waste, the increment if there is one, and the markup."""
    cells = [cell.column for cell in consumable(increment=increment).because.inputs]
    assert cells == ["quantity", "pack_price", "pack_size", "waste", *columns, "markup"]


def test_what_a_job_uses_up_is_what_its_lines_are_billed_by():
    """Needed with its waste, billed in increments: 2 × 1 ÷ (1 − 0.2) = 2.5, in steps of 2 that is 4."""
    rows = {
        "consumables": [a_row("wipe", waste="0.2", increment=2), a_row("sand"), a_row("glue", unit="ml")],
        "usage": [use("close", "glue", quantity="0.5"), use("open", "wipe", quantity=2), use("fit-port", "sand")],
    }
    book = a_book(**rows)
    quote = quoted(book)
    used = consumption(book, "slate", tuple(step.step for step in quote.plan))
    assert [(each.consumable.code, str(each.needed.normalize()), str(each.billed.normalize())) for each in used] == [
        ("wipe", "2.5", "4"),
        ("glue", "0.5", "0.5"),
    ]
    lines = [line.charge for line in quote.lines if line.charge.kind == "consumable"]
    assert [(each.consumable.code, each.billed) for each in used] == [(line.ref, line.quantity) for line in lines]
