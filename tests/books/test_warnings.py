"""Warnings about books that have no flaws: each is seen where it is, and not where it only looks like it."""

from collections.abc import Mapping
from typing import Any

import pytest
from builders import TODAY, a_book, a_part, a_row, a_step, quoted, use

from quoter.book import RateBook
from quoter.books.warnings import MOST_OF_A_SORT, WORST, warnings
from quoter.problems import Flaw

Places = list[tuple[str, str, str]]

OFFERS = tuple({"device": "slate", "procedure": procedure} for procedure in ("battery", "port", "clean"))


def warned(previous: RateBook | None = None, *, with_prices: bool = False, **given: Any) -> list[Flaw]:
    """The warnings about the small book with what a test says about it; `a_raw_book` explains."""
    return warnings(a_book(**given), previous, TODAY, with_prices=with_prices)


def places(found: list[Flaw]) -> Places:
    """Table, key and column of each."""
    return [(each.table, each.key, each.column) for each in found]


def the_one(found: list[Flaw]) -> Flaw:
    """The only warning, which says enough to act on."""
    (flaw,) = found
    assert flaw.message
    assert flaw.suggestion
    return flaw


def test_a_book_that_is_as_it_was_is_not_warned_of():
    """Neither alone nor beside itself."""
    assert warned(with_prices=True) == []
    assert warned(a_book(), with_prices=True) == []


BATTERY_ONLY: Mapping[str, Any] = {
    "procedures": [a_row("battery", slot="battery", goals="fit-battery")],
    "steps": [a_step("fit-battery", 18, slot="battery")],
    "parts": [a_part("B1", cost=30)],
}
"""18 minutes at 60.00 and a part of 30.00: 48.00 without markup."""


# what leads nowhere


def test_a_procedure_that_nobody_offers_is_warned_of():
    """It can be asked for on no device."""
    flaw = the_one(warned(offers=OFFERS[:2]))
    assert (flaw.table, flaw.key, flaw.column) == ("procedures", "clean", "code")


def test_a_device_for_which_nothing_is_offered_is_warned_of():
    """It is in the book and cannot be quoted."""
    flaw = the_one(warned(devices=[a_row("slate"), a_row("wrist")], offers=OFFERS))
    assert (flaw.table, flaw.key, flaw.column) == ("devices", "wrist", "code")


def test_a_device_without_a_part_for_what_is_offered_is_warned_of():
    """A battery is offered for the wrist and none fits it; the port is not, so it needs none."""
    offers = [*OFFERS, {"device": "wrist", "procedure": "battery"}]
    flaw = the_one(warned(devices=[a_row("slate"), a_row("wrist")], offers=offers))
    assert (flaw.table, flaw.key, flaw.column) == ("devices", "wrist", "code")
    assert "no part fits its slot battery" in flaw.message


def test_a_slot_without_parts_is_told_once_a_device():
    """Two procedures about one slot lack the same part."""
    procedures = [a_row(code, slot="battery", goals="fit-battery") for code in ("swap", "upgrade")]
    devices = [a_row("slate"), a_row("wrist")]
    flaw = the_one(warned(**{**BATTERY_ONLY, "procedures": procedures, "devices": devices}))
    assert "swap and upgrade" in flaw.message


ADDED = ("glue", "shield", "frame", "lamp", "horn", "tray")


@pytest.mark.parametrize(
    ("parts", "unused"),
    [
        ([a_part("X1", slot="port", devices="wrist")], ["X1"]),  # nobody offers the wrist a port
        ([a_part("X1", slot="port", devices="slate wrist")], []),
        ([a_part("X1", slot="camera")], ["X1"]),  # no step asks for a camera
        ([a_part("X1", slot="seal", devices="wrist")], []),  # closing asks for a seal, or cuts one
        ([a_part("X1", slot="glue", devices="wrist")], []),  # which takes glue
        ([a_part("X1", slot="shield", devices="wrist")], []),  # the finding adds it to a battery job
        ([a_part("X1", slot="frame", devices="wrist")], []),  # or has another frame fitted
        ([a_part("X1", slot="lamp", devices="wrist")], []),  # and adds a lamp to any job
        ([a_part("X1", slot="horn", devices="wrist")], ["X1"]),  # that finding stops the job
        ([a_part("X1", slot="tray", devices="wrist")], ["X1"]),  # that finding is about ports
        ([a_part("X1", slot="strap", devices="wrist")], []),  # the wrist's own extra step
        ([a_part("X1", slot="strap", devices="slate")], ["X1"]),
        ([a_part("X1", slot="plug", devices="wrist")], ["X1"]),  # a stand-in of a step that asks for no part
    ],
)
def test_a_part_that_nothing_can_ask_for_is_warned_of(parts: list[Any], unused: list[str]):
    """Asked for by a goal, a need, a stand-in, an extra step or what a finding brings: then it is of use."""
    steps = [
        a_step("open", without_part="fit-plug"),
        a_step("fit-battery", needs="open", slot="battery"),
        a_step("fit-port", needs="open", slot="port"),
        a_step("seal", slot="seal", without_part="cut"),
        a_step("cut", needs="glue"),
        a_step("close", needs="seal"),
        *(a_step(code, slot=code, without_part="close") for code in ADDED),
        *(a_step(f"fit-{code}", slot=code, without_part="close") for code in ("strap", "plug", "camera")),
    ]
    findings = [
        a_row("bare", procedures="battery", adds="shield"),
        a_row("bent", replaces="close:frame", adds="lamp"),
        a_row("hissing", stops="yes", adds="horn", replaces="close:horn"),
        a_row("loose", procedures="port", adds="tray"),
    ]
    found = warned(
        devices=[a_row("slate"), a_row("wrist")],
        procedures=[
            a_row("battery", slot="battery", goals="fit-battery close"),
            a_row("port", slot="port", goals="fit-port close"),
        ],
        offers=[
            *({"device": "slate", "procedure": procedure} for procedure in ("battery", "port")),
            {"device": "wrist", "procedure": "battery", "extra_steps": "fit-strap"},
        ],
        steps=steps,
        findings=findings,
        parts=[a_part("B1", devices="slate wrist"), a_part("P1", slot="port"), *parts],
    )
    assert places(found) == [("parts", sku, "slot") for sku in unused]


@pytest.mark.parametrize(
    ("usage", "words"),
    [
        ([], "no step uses it"),
        ([use("polish", "tape")], "no offer comes to polish"),
        ([use("polish", "tape"), use("close", "tape")], None),
    ],
)
def test_a_consumable_that_nothing_uses_is_warned_of(usage: list[Any], words: str | None):
    """No step, or only steps that are never done."""
    steps = [a_step("open"), a_step("polish"), a_step("close", needs="open")]
    procedures = [a_row("clean", goals="close")]
    found = warned(steps=steps, procedures=procedures, parts=[], consumables=[a_row("tape")], usage=usage)
    assert places(found) == ([("consumables", "tape", "code")] if words else [])
    assert all(words and words in each.message for each in found)


GRADES = ("genuine", "compatible")


@pytest.mark.parametrize(
    ("rows", "hidden"),
    [
        (["", "genuine"], ["slate battery genuine"]),
        (["genuine", ""], []),
        (["compatible", "", "genuine"], ["slate battery genuine"]),
        (["", "genuine", "compatible"], ["slate battery genuine", "slate battery compatible"]),
    ],
)
def test_a_menu_price_behind_the_one_for_any_grade_is_warned_of(rows: list[str], hidden: list[str]):
    """The first that matches wins; a blank grade matches always, though only its own device and procedure."""
    menu = [
        {"procedure": "clean", "net": 1},
        {"procedure": "port", "net": 2},
        *({"procedure": "battery", "grade": grade, "net": 90 + number} for number, grade in enumerate(rows)),
    ]
    parts = [a_part(f"B-{grade}", cost=30, grade=grade) for grade in GRADES] + [a_part("P1", slot="port")]
    book = a_book(menu=menu, parts=parts)
    found = warnings(book, None, TODAY, with_prices=False)
    assert places(found) == [("menu", key, "grade") for key in hidden]
    assert [each.value for each in found] == [key.split()[-1] for key in hidden]
    winning = {str(quoted(book, parts={"battery": f"B-{grade}"}).totals.net) for grade in GRADES}
    assert {f"{90 + n}.00" for n, grade in enumerate(rows) if f"slate battery {grade}" in hidden}.isdisjoint(winning)


@pytest.mark.parametrize(
    ("finding", "column", "value"),
    [
        ({"procedures": "camera"}, "procedures", "camera"),
        ({"procedures": "camera lens", "affects": "polish", "adds": "polish"}, "procedures", "camera lens"),
        ({"procedures": "camera", "stops": "yes"}, "procedures", "camera"),
        ({"affects": "open polish polish"}, "affects", "polish"),
        ({"procedures": "battery", "affects": "fit-port"}, "affects", "fit-port"),  # a port's step is never a battery's
        ({"procedures": "battery camera", "affects": "fit-port"}, "affects", "fit-port"),
        ({"replaces": "polish:clean"}, "replaces", "polish"),
        ({"procedures": "clean", "replaces": "polish:clean close:fit-port"}, "replaces", "polish"),
        ({"affects": "open", "adds": "polish", "procedures": "battery"}, None, ""),
        ({"affects": "polish", "adds": "polish", "procedures": "battery"}, None, ""),  # it adds what it affects
        ({"affects": "polish", "replaces": "close:polish"}, None, ""),
        ({"procedures": "battery", "affects": "brush"}, "affects", "brush"),  # which dust adds to ports alone
        ({"procedures": "battery port", "affects": "brush"}, None, ""),
        ({"procedures": "battery", "replaces": "fit-port:clean"}, None, ""),  # where a port is repaired beside
        ({"procedures": "battery camera", "affects": "fit-battery"}, None, ""),
        ({"stops": "yes", "affects": "polish", "replaces": "polish:clean"}, None, ""),  # it does nothing else
        ({}, None, ""),
    ],
)
def test_a_finding_that_acts_on_what_is_never_done_is_warned_of(
    finding: Mapping[str, str], column: str | None, value: str
):
    """It concerns what nobody offers, or it affects or replaces a step to which no offer comes."""
    found = warned(
        procedures=[
            a_row("battery", slot="battery", goals="fit-battery close"),
            a_row("port", slot="port", goals="fit-port close"),
            a_row("clean", goals="clean"),
            a_row("camera", goals="polish"),
            a_row("lens", goals="polish"),
        ],
        offers=OFFERS,
        steps=[
            a_step("open"),
            *(a_step(f"fit-{slot}", needs="open", slot=slot) for slot in ("battery", "port")),
            *(a_step(code, needs="open") for code in ("clean", "polish", "brush", "close")),
        ],
        findings=[a_row("dust", procedures="port", adds="brush"), a_row("odd", **finding)],
    )
    others = [("procedures", "camera", "code"), ("procedures", "lens", "code")]
    assert places(found) == others + ([("findings", "odd", column)] if column else [])
    assert not column or found[-1].value == value


# prices


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        # 30 × 1.5 + 18 = 63.00; 32 × 1.2 + 18 = 56.40
        ({"markup": "0.5"}, {"cost": 32, "markup": "0.2"}, ("63.00 to 56.40", "32 instead of 30")),
        ({"markup": "0.5"}, {"cost": 32, "markup": "0.5"}, None),
        ({"markup": "0.5"}, {"cost": 30, "markup": "0.2"}, None),
        ({"markup": "0.5"}, {"cost": 28, "markup": "0.2"}, None),
        # 30 × 0.9 + 18 = 45; 30 × 1.0 + 18 = 48, and the menu has the last word
        ({"fx": "0.9"}, {"fx": "1", "menu": 40}, ("45.00 to 40.00", "30 instead of 27.0")),
        ({"menu": 40}, {"freight": 1, "menu": 39}, ("40.00 to 39.00", "31 instead of 30")),
        ({"menu": 40}, {"freight": 1, "menu": 40}, None),
        # a seal of 10 that is now 5 is why the price falls
        ({"seal": 10}, {"cost": 32, "seal": 5}, None),
        ({"seal": 10}, {"cost": 32, "seal": 8, "menu": 50}, None),  # together, the parts cost what they did
        ({"seal": 10}, {"cost": 32, "seal": 9, "menu": 50}, ("58.00 to 50.00", "41 instead of 40")),
        ({"seal": 10}, {"cost": 32, "seal": 11, "menu": 55}, ("58.00 to 55.00", "43 instead of 40")),
    ],
)
def test_a_price_that_falls_while_its_parts_cost_more_is_warned_of(
    old: Mapping[str, Any], new: Mapping[str, Any], words: tuple[str, str] | None
):
    """At the part whose cost has risen, with both prices and what the parts cost (all by hand)."""
    found = warnings(a_battery_book(**new), a_battery_book(**old), TODAY)
    assert places(found) == ([("parts", "B1", "cost")] if words else [])
    assert all(word in found[0].message for word in words or ())
    assert not any("so do" in each.message for each in found)


def test_the_part_that_has_risen_most_is_the_one_that_is_named():
    """The battery by 1, its seal by 5."""
    dearer = a_battery_book(cost=31, seal=15, menu=57)
    flaw = the_one(warnings(dearer, a_battery_book(seal=10), TODAY))
    assert (flaw.key, flaw.value) == ("S1", "15")


def a_battery_book(
    *, cost: int = 30, freight: int = 0, markup: str = "0", fx: str = "", menu: int = 0, seal: int = 0
) -> RateBook:
    """One battery repair; the part is bought in dollars where there is a rate, a seal is fitted where it has a cost."""
    return a_book(
        procedures=[a_row("battery", slot="battery", goals="fit-battery fit-seal close")],
        steps=[
            a_step("fit-battery", 15, slot="battery"),
            a_step("fit-seal", slot="seal", without_part="close"),
            a_step("close", 3),
        ],
        markup=[{"rate": markup}],
        fx={"USD": fx} if fx else {},
        menu=[{"procedure": "battery", "net": menu}] if menu else [],
        parts=[
            a_part("B1", cost=cost, freight=freight, currency="USD" if fx else ""),
            *([a_part("S1", slot="seal", cost=seal)] if seal else []),
        ],
    )


def test_prices_that_fall_together_are_one_warning_for_their_part():
    """With the entry that falls most: the wrist's menu price was 80 and is 45, the slate's 90 and is 70."""
    devices, parts = [a_row("slate"), a_row("wrist")], [a_part("B1", cost=30, devices="slate wrist")]
    menus = [{"device": device, "procedure": "battery", "net": net} for device, net in (("slate", 90), ("wrist", 80))]
    book = {**BATTERY_ONLY, "devices": devices, "parts": parts, "menu": menus}
    now = [menu | {"net": net} for menu, net in zip(menus, (70, 45), strict=True)]
    cheaper = {"menu": now, "parts": [parts[0] | {"cost": 31}]}
    flaw = the_one(warned(a_book(**book), with_prices=True, **{**book, **cheaper}))
    assert "wrist battery genuine falls from 80.00 to 45.00" in flaw.message
    assert "so do 1 more" in flaw.message


def test_an_entry_that_is_new_or_has_no_price_is_compared_with_nothing():
    """A part that the book did not have, and one that no step could be done without."""
    menus = [[{"procedure": "battery", "net": net}] for net in (70, 60)]
    dearer = {**BATTERY_ONLY, "parts": [a_part("B2", cost=40)], "menu": menus[1]}
    assert warned(a_book(**BATTERY_ONLY, menu=menus[0]), with_prices=True, **dearer) == []
    lacking = {**BATTERY_ONLY, "parts": [a_part("B1", devices="wrist")], "devices": [a_row("slate"), a_row("wrist")]}
    found = warned(a_book(**BATTERY_ONLY), with_prices=True, **lacking)
    assert places(found) == [("devices", "slate", "code")]


def test_entries_below_the_floor_are_counted_and_the_worst_are_listed():
    """At a margin of a half: battery 48.00 on a cost of 37.20, port 36.00 on 19.20; cleaning 12.00 on 4.80 is fine."""
    found = warned(settings={"policy.minimum_margin": "0.5"}, with_prices=True)
    assert places(found) == [
        ("book.toml", "", "policy.minimum_margin"),
        ("offers", "slate battery", "procedure"),
        ("offers", "slate port", "procedure"),
    ]
    assert found[0].message.startswith("2 of 3 entries")
    assert "48.00, is below the floor 74.40 (cost 37.20, margin 0.225)" in found[1].message
    assert "36.00, is below the floor 38.40 (cost 19.20, margin 0.467)" in found[2].message


def test_an_entry_on_the_floor_is_not_below_it():
    """Battery 48.00 on 37.20 is a margin of exactly 0.225; port and cleaning have more."""
    assert warned(settings={"policy.minimum_margin": "0.225"}, with_prices=True) == []


def test_only_the_worst_entries_below_the_floor_are_listed():
    """Of thirty batteries, the dearer the part the lower the margin: the dearest twenty, and what is free is worse."""
    devices = [a_row(f"d{number}") for number in range(30)]
    parts = [a_part(f"B{number}", cost=number + 1, devices=f"d{number}") for number in range(30)]
    menu = [{"device": "d0", "procedure": "battery", "net": 0}]
    book = {**BATTERY_ONLY, "devices": devices, "parts": parts, "menu": menu}
    total, *listed = warned(settings={"policy.minimum_margin": "0.9"}, with_prices=True, **book)
    assert total.message.startswith("30 of 30 entries")
    assert [each.key for each in listed] == ["d0 battery", *(f"d{number} battery" for number in range(29, 10, -1))]
    assert len(listed) == WORST
    assert "margin none" in listed[0].message


def test_prices_may_be_left_out():
    """What needs a price list takes a while."""
    assert warned(settings={"policy.minimum_margin": "0.5"}, with_prices=False) == []


def test_a_thousand_of_a_sort_are_listed_and_the_rest_are_counted():
    """Whoever has more has one reason for them."""
    *listed, last = warned(consumables=[a_row(f"c{number}") for number in range(MOST_OF_A_SORT + 7)])
    assert len(listed) == MOST_OF_A_SORT
    assert (last.table, last.message) == ("consumables", "7 more like these")
