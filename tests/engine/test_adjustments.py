"""Menu, express, discount and minimum: what is done to the price after the work is priced (rule 4)."""

from decimal import Decimal

import pytest
from builders import PORT, a_book, a_part, a_row, a_step, kinds, line_of, nets, quoted, use

from quoter.job import Repair
from quoter.quote import Quote

# menu


def menu(*rows: dict, **given: object):
    """The small book (a battery costs 30.00 + 18.00) with menu prices."""
    rows = [{"procedure": "battery", **row} for row in rows]
    return a_book(menu=rows, **given)


def test_a_repair_alone_costs_what_the_menu_says():
    """60.00, whatever part and labour come to: 60 − 48 is added."""
    quote = quoted(menu({"net": 60}))
    assert (kinds(quote)[-1], nets(quote), str(quote.totals.net)) == ("menu", ["30.00", "18.00", "12.00"], "60.00")


def test_a_menu_price_may_be_below_the_work():
    """Then the line takes off."""
    assert nets(quoted(menu({"net": 40}))) == ["30.00", "18.00", "-8.00"]


def test_a_menu_price_that_is_what_the_work_costs_adds_no_line():
    """A menu line of zero is left out."""
    assert kinds(quoted(menu({"net": 48}))) == ["part", "labour"]


def test_with_two_repairs_the_menu_does_not_count():
    """It is for one repair alone."""
    assert "menu" not in kinds(quoted(menu({"net": 60}), repairs=["battery", "port"]))


def test_the_menu_is_by_device_and_procedure():
    """The port has no menu price, nor has a battery on the tab."""
    book = menu({"net": 60}, devices=[a_row("slate"), a_row("tab")], parts=[a_part("B1", devices="slate tab"), PORT])
    assert "menu" not in kinds(quoted(book, repairs=["port"]))
    assert "menu" not in kinds(quoted(book, device="tab"))
    assert "menu" in kinds(quoted(book))


@pytest.mark.parametrize(
    ("grade", "rows", "net"),
    [
        ("genuine", [{"grade": "genuine", "net": 70}, {"net": 60}], "70.00"),
        ("compatible", [{"grade": "genuine", "net": 70}, {"net": 60}], "60.00"),
        ("genuine", [{"net": 60}, {"grade": "genuine", "net": 70}], "60.00"),  # the first that fits is preferred
        ("compatible", [{"grade": "genuine", "net": 70}], "20.00"),  # none: 2 + 18
    ],
)
def test_the_menu_is_by_the_grade_of_the_main_part_and_blank_is_any(grade: str, rows: list[dict], net: str):
    """Whether the grade was wished for or came by preference."""
    book = menu(*rows, parts=[a_part("B1", cost=30), a_part("B2", grade="compatible", cost=2), PORT])
    assert str(quoted(book, repairs=[Repair("battery", grade=grade)]).totals.net) == net
    sku = {"genuine": "B1", "compatible": "B2"}[grade]
    assert str(quoted(book, parts={"battery": sku}).totals.net) == net


def test_a_procedure_without_a_part_has_a_menu_price_without_a_grade():
    """Cleaning costs 25.00, not 12.00."""
    assert str(quoted(menu({"procedure": "clean", "net": 25}), repairs=["clean"]).totals.net) == "25.00"


def test_what_a_finding_adds_to_a_menu_price_is_still_charged():
    """48.00 becomes 60.00; cleaning 7 minutes, a risk of 5 and a disposal of 3 come on top."""
    book = menu({"net": 60}, findings=[a_row("wet", adds="clean", charge=5, disposal=3)])
    quote = quoted(book, findings=["wet"])
    assert nets(quote, "menu") == ["12.00"]
    assert quote.totals.net == 60 + 7 + 5 + 3


def test_the_menu_counts_consumables_and_bench_in():
    """30 + 2 + 18 + 6: the whole work, without risk and disposal."""
    steps = [a_step("open", 5, dwell=6), a_step("fit-battery", 10, slot="battery"), a_step("close", 3)]
    book = menu(
        {"net": 60},
        steps=steps, procedures=[a_row("battery", slot="battery", goals="open fit-battery close")],
        consumables=[a_row("wipe", pack_price=2)], usage=[use("open", "wipe")], settings={"labour.bench_rate": 60},
    )  # fmt: skip
    assert nets(quoted(book)) == ["30.00", "2.00", "18.00", "6.00", "4.00"]


def test_without_what_a_finding_changes_there_may_be_no_job_to_compare_with():
    """The seal cannot be had, and only the finding does without it: no menu line, the work as it is."""
    book = menu(
        {"net": 60},
        steps=[a_step("seal", 5, slot="seal"), a_step("glue", 9)],
        procedures=[a_row("battery", goals="seal")],
        devices=[a_row("slate"), a_row("tab")],
        parts=[a_part("S1", slot="seal", devices="tab")],
        findings=[a_row("bent", replaces="seal:glue")],
    )
    assert nets(quoted(book, findings=["bent"])) == ["9.00"]


def test_a_menu_price_is_rounded_to_the_currency():
    """59.995 is 60.00."""
    assert str(quoted(menu({"net": "59.995"})).totals.net) == "60.00"


# express


def test_express_is_a_share_of_all_labour_and_of_nothing_else():
    """Half of 18 + 20; parts, menu and findings do not count."""
    quote = quoted(a_book(), repairs=["battery", "port"], urgency="express")
    assert (kinds(quote)[-1], nets(quote, "express")) == ("express", ["19.00"])


def test_express_is_on_labour_before_the_menu():
    """Half of 18.00, not of what the menu leaves of it."""
    assert nets(quoted(menu({"net": 40}), urgency="express"), "menu", "express") == ["-8.00", "9.00"]


@pytest.mark.parametrize(("rate", "labour", "net"), [("0.25", "18.02", ["4.51"]), ("0", "18", []), ("0.001", "1", [])])
def test_express_is_rounded_half_up_and_left_out_where_it_is_zero(rate: str, labour: str, net: list[str]):
    """A quarter of 18.02 is 4.505."""
    book = a_book(
        steps=[a_step("fit", labour)], procedures=[a_row("a", goals="fit")], parts=[],
        settings={"policy.express_rate": rate, "labour.increment_minutes": "0.01"},
    )  # fmt: skip
    assert nets(quoted(book, repairs=["a"], urgency="express"), "express") == net


# discount

TWO_CODES = {"rates": {"std": "0.20", "red": "0.05"}, "lines": {"labour": "red"}}


def test_a_discount_is_split_by_tax_code():
    """A tenth of 30.00 at the standard rate and of 18.00 at the reduced one."""
    quote = quoted(a_book(tax=TWO_CODES), discount="0.10")
    lines = [(line.charge.ref, line.tax_code, str(line.charge.net)) for line in quote.lines[2:]]
    assert lines == [("std", "std", "-3.00"), ("red", "red", "-1.80")]
    # (30 − 3) × 20 % + (18 − 1.80) × 5 %
    assert quote.totals.tax == Decimal("6.21")


def test_a_discount_is_on_menu_and_express_too():
    """A tenth of 60 + 9."""
    assert nets(quoted(menu({"net": 60}), urgency="express", discount="0.10"), "discount") == ["-6.90"]


@pytest.mark.parametrize(
    ("rate", "net"),
    [
        ("0", []),
        ("0.0001", []),  # 0.0048 rounds to nothing
        ("0.0005", ["-0.02"]),  # 0.024
        ("0.03125", ["-1.50"]),
        ("1", ["-48.00"]),
    ],
)
def test_a_discount_is_rounded_half_up_and_left_out_where_it_is_zero(rate: str, net: list[str]):
    """Of 48.00."""
    assert nets(quoted(a_book(), discount=rate), "discount") == net


def test_a_tie_of_a_discount_goes_away_from_zero():
    """A tenth of 48.05 is 4.805."""
    book = a_book(parts=[a_part("B1", cost="30.05"), PORT])
    assert nets(quoted(book, discount="0.1"), "discount") == ["-4.81"]


def test_a_negative_sum_under_a_code_is_discounted_too():
    """A menu price below the part: labour's code stands at 18 − 28 = −10, and a tenth of that is given back."""
    assert nets(quoted(menu({"net": 20}, tax=TWO_CODES), discount="0.10"), "discount") == ["-3.00", "1.00"]


# minimum


@pytest.mark.parametrize(
    ("minimum", "net"),
    [("0", []), ("47.99", []), ("48", []), ("48.01", ["0.01"]), ("100", ["52.00"])],
)
def test_the_minimum_is_what_is_missing_from_the_least_price(minimum: str, net: list[str]):
    """The work comes to 48.00."""
    assert nets(quoted(a_book(settings={"policy.minimum_net": minimum})), "minimum") == net


def test_the_minimum_is_after_discount():
    """48 − 24 is below 40."""
    book = a_book(settings={"policy.minimum_net": 40})
    assert nets(quoted(book, discount="0.5"), "discount", "minimum") == ["-24.00", "16.00"]


def with_every_kind_of_line() -> Quote:
    """A job that meets every rule that makes a line."""
    book = menu(
        {"net": 60},
        parts=[a_part("B1", title="Battery for the slate"), PORT],
        steps=[a_step("open", 5, dwell=6), a_step("fit-battery", 10, slot="battery")],
        procedures=[a_row("battery", title="New battery", slot="battery", goals="open fit-battery")],
        consumables=[a_row("wipe", title="Lint-free wipe")], usage=[use("open", "wipe")],
        findings=[a_row("wet", title="Been wet", charge=1, disposal=1)],
        settings={
            "labour.bench_rate": 60, "policy.minimum_net": 500,
            "policy.price_ending.mode": "up", "policy.price_ending.unit": 7,
        },
        tax={"display": "inclusive"},
    )  # fmt: skip
    return quoted(book, findings=["wet"], urgency="express", discount="0.1")


def test_the_kinds_of_lines_stand_in_the_order_of_the_rules():
    """Part, consumable, labour, bench, risk, disposal, menu, express, discount, minimum, ending."""
    quote = with_every_kind_of_line()
    assert kinds(quote) == [
        "part", "consumable", "labour", "bench", "risk", "disposal", "menu", "express", "discount", "minimum", "ending",
    ]  # fmt: skip
    assert line_of(quote, "minimum").charge.net + sum(line.charge.net for line in quote.lines[:-2]) == 500


def test_a_line_says_what_it_is_for():
    """In the words of the book, where it has some."""
    told = [line.charge.description for line in with_every_kind_of_line().lines]
    assert [each.text.format(**each.parameters) for each in told] == [
        "Battery for the slate", "Lint-free wipe", "Labour: New battery", "Bench time", "Risk: Been wet",
        "Disposal: Been wet", "Menu price", "Express", "Discount", "Minimum charge", "Price ending",
    ]  # fmt: skip


@pytest.mark.parametrize(("rate", "deposit"), [("0", "0.00"), ("0.3", "17.28"), ("0.025", "1.44"), ("1", "57.60")])
def test_a_deposit_is_a_share_of_the_gross(rate: str, deposit: str):
    """Of 57.60: no line, as nothing is added to the price."""
    quote = quoted(a_book(settings={"policy.deposit_rate": rate}))
    assert (str(quote.deposit), kinds(quote)) == (deposit, ["part", "labour"])
