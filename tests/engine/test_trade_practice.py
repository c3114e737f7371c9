"""What is common practice of the trade, as a book: the rows say so, and no figure of them has a source.

Common practice, no source: about 5 minutes on a mat at 85 °C to soften a glued cover; about 5 minutes for a solvent
round a glued cell; where no cut seal can be had, a perimeter seal from 5 mm and 10 mm tape (here 5 mm along the long
sides, 10 mm along the short ones); a swollen cell, or a device that was opened before, takes longer; a swollen cell
is not warmed.
"""

from decimal import Decimal

import pytest
from builders import a_book, a_part, a_row, a_step, line_of, quoted, steps, use

from quoter.book import RateBook
from quoter.quote import Quote

SOURCE = "common practice, no source"

STEPS = (
    a_step("warm", 1, dwell=5, caution="hot-mat"),
    a_step("open", 6, needs="warm"),
    a_step("open-cold", 18, caution="no-heat"),
    a_step("soak", 2, dwell=5, needs="open", caution="flammable"),
    a_step("lift", 4, needs="soak"),
    a_step("fit-battery", 3, needs="lift", slot="battery"),
    a_step("fit-seal", 2, needs="fit-battery", slot="seal", without_part="cut-seal"),
    a_step("cut-seal", 8, needs="fit-battery"),
    a_step("close", 2, needs="fit-seal"),
)


def bench(*parts: str) -> RateBook:
    """A glued slate of 150 × 70 mm with corners of 10 mm; a factory seal only where a part is given for it."""
    return a_book(
        settings={"labour.bench_rate": 6, "labour.increment_minutes": 5},
        devices=[a_row("slate", height_mm=150, width_mm=70, corner_mm=10)],
        procedures=[a_row("battery", slot="battery", goals="close")],
        steps=STEPS,
        parts=[a_part("B1", cost=20), *(a_part(sku, slot="seal", cost=4) for sku in parts)],
        consumables=[
            a_row("tape5", unit="m", pack_price="6.60", pack_size=33),
            a_row("tape10", unit="m", pack_price="9.90", pack_size=33),
            a_row("solvent", unit="ml", pack_price=10, pack_size=1000, increment=1),
        ],
        usage=[
            use("cut-seal", "tape5", basis="long_sides"),
            use("cut-seal", "tape10", basis="short_sides"),
            use("soak", "solvent", quantity=3),
        ],
        findings=[
            a_row("swollen", time_factor="1.5", affects="lift", replaces="warm:open-cold open:open-cold"),
            a_row("opened", time_factor="1.2", affects="open lift"),
        ],
        cautions=[a_row(code, source=SOURCE) for code in ("hot-mat", "no-heat", "flammable")],
    )


def quantities(quote: Quote) -> dict[str, Decimal]:
    """How much of each consumable is billed."""
    return {each.charge.ref: each.charge.quantity for each in quote.lines if each.charge.kind == "consumable"}


def test_five_minutes_on_the_mat_and_five_of_solvent_are_waited_for_not_worked():
    """Common practice: 10 minutes of dwell are bench time at 6.00 an hour, and part of the elapsed time."""
    quote = quoted(bench("S1"))
    # hands: 1 + 6 + 2 + 4 + 3 + 2 + 2 = 20 minutes
    assert (quote.time.expected_minutes, quote.time.dwell_minutes, quote.time.elapsed_minutes) == (20, 10, 30)
    assert line_of(quote, "labour").charge.net == Decimal("20.00")
    assert line_of(quote, "bench").charge.net == Decimal("1.00")


def test_without_a_factory_seal_the_perimeter_is_cut_from_two_tapes():
    """Common practice: long sides 2 × (150 − 20) mm in 5 mm tape, short sides 2 × (70 − 20) mm in 10 mm tape."""
    quote = quoted(bench())
    assert "cut-seal" in steps(quote)
    assert quantities(quote) == {"tape5": Decimal("0.26"), "tape10": Decimal("0.10"), "solvent": 3}
    assert line_of(quote, "consumable", "tape5").charge.net == Decimal("0.05")  # 0.26 × 0.20 = 0.052
    assert line_of(quote, "consumable", "tape10").charge.net == Decimal("0.03")  # 0.10 × 0.30


def test_with_a_factory_seal_no_tape_is_cut():
    """The seal is a part of its own, and the six minutes of cutting are saved."""
    with_seal, without = quoted(bench("S1")), quoted(bench())
    assert quantities(with_seal) == {"solvent": 3}
    assert line_of(with_seal, "part", "S1").charge.net == Decimal("4.00")
    assert without.time.expected_minutes - with_seal.time.expected_minutes == 6


def test_doing_without_a_seal_that_could_be_had_is_the_jobs_choice():
    """`parts: {"seal": null}` cuts tape although a seal fits."""
    assert "cut-seal" in steps(quoted(bench("S1"), parts={"seal": None}))


def test_a_swollen_cell_is_not_warmed_and_takes_longer():
    """Common practice and the safety sources: no heat near the cell, so the slower way in; its cautions are shown."""
    sound, swollen = quoted(bench("S1")), quoted(bench("S1"), findings=["swollen"])
    assert "warm" not in steps(swollen)
    assert steps(swollen)[0] == "open-cold"
    # 18 + 2 + 4 × 1.5 + 3 + 2 + 2 = 33
    assert (swollen.time.expected_minutes, swollen.time.dwell_minutes) == (33, 5)
    assert (sound.cautions, swollen.cautions) == (("hot-mat", "flammable"), ("no-heat", "flammable"))


@pytest.mark.parametrize(("finding", "minutes"), [("opened", "22"), ("swollen", "33")])
def test_what_was_opened_before_takes_longer(finding: str, minutes: str):
    """Common practice: 1 + 6 × 1.2 + 2 + 4 × 1.2 + 3 + 2 + 2 = 22 minutes against 20."""
    assert quoted(bench("S1"), findings=[finding]).time.expected_minutes == Decimal(minutes)
