"""The plan: which steps a job has, each once, for which repair, in which order (rule 3 of the law)."""

import pytest
from builders import TABLES_OF_SMALL_BOOK, a_book, a_part, a_row, a_step, kinds, line_of, quoted, refusals, steps

from quoter.book import RateBook
from quoter.quote import Quote


def planned(*rows: object, repairs: str = "a", **given: object) -> RateBook:
    """A book with these steps; of each repair (a letter) the goal is the step `goal-LETTER`, unless given."""
    procedures = [a_row(letter, goals=f"goal-{letter}") for letter in repairs.split()]
    return a_book(**{"steps": rows, "procedures": procedures, "parts": [], **given})


def owners(quote: Quote) -> dict[str, str]:
    """Which repair each step of the plan belongs to."""
    return {each.step: each.repair for each in quote.plan}


# closure and sharing


def test_a_goal_brings_every_step_it_needs_and_theirs():
    """Needs of needs, and nothing else of the table."""
    book = planned(a_step("open"), a_step("lift", needs="open"), a_step("other"), a_step("goal-a", needs="lift"))
    assert steps(quoted(book, repairs=["a"])) == ["open", "lift", "goal-a"]


def test_a_shared_step_is_done_and_billed_once():
    """Opening 5, batteries 10, port 20, closing 3: 38 minutes, not 46."""
    quote = quoted(a_book(), repairs=["battery", "port"])
    assert steps(quote) == ["open", "fit-battery", "fit-port", "close"]
    assert quote.time.expected_minutes == 38


def test_goals_are_those_of_the_procedure_then_of_the_offer():
    """What is special about a device is an extra step of its offer."""
    offers = [{"device": "slate", "procedure": "clean", "extra_steps": "close"}]
    assert steps(quoted(a_book(offers=offers), repairs=["clean"])) == ["open", "clean", "close"]


def test_a_step_waits_for_what_it_needs_and_free_steps_keep_the_order_of_the_table():
    """By hand: goal-a is first in the table but needs the last; of the free, b stands before c."""
    book = planned(
        a_step("goal-a", needs="c d"), a_step("b"), a_step("c", needs="e"), a_step("d", needs="b"), a_step("e")
    )
    assert steps(quoted(book, repairs=["a"])) == ["b", "d", "e", "c", "goal-a"]


# ownership

LADDER = [a_row("easy", hourly_rate=30), a_row("usual"), a_row("hard", hourly_rate=90)]


def shared(**difficulties: str) -> RateBook:
    """A step `open` that repairs a, b and c all need, each repair of some difficulty."""
    return planned(
        a_step("open", 5),
        *(a_step(f"goal-{letter}", 1, needs="open") for letter in difficulties),
        difficulty=LADDER,
        procedures=[a_row(letter, goals=f"goal-{letter}", difficulty=which) for letter, which in difficulties.items()],
    )


@pytest.mark.parametrize(
    ("repairs", "owner"),
    [("a b c", "b"), ("c b a", "b"), ("a c", "a"), ("c a", "c"), ("a", "a")],
)
def test_a_shared_step_belongs_to_the_hardest_repair_and_on_a_tie_to_the_first(repairs: str, owner: str):
    """B is harder than a and c, which are alike; the order is the job's, not the table's."""
    quote = quoted(shared(a="usual", b="hard", c="usual"), repairs=repairs.split())
    assert owners(quote)["open"] == owner


def test_only_those_that_need_a_step_can_own_it():
    """The hardest repair of the job does not need to be opened."""
    book = planned(
        a_step("open", 5), a_step("goal-a", 1, needs="open"), a_step("goal-b", 1), difficulty=LADDER,
        procedures=[a_row("a", goals="goal-a", difficulty="easy"), a_row("b", goals="goal-b", difficulty="hard")],
    )  # fmt: skip
    assert owners(quoted(book, repairs=["a", "b"])) == {"open": "a", "goal-a": "a", "goal-b": "b"}


def test_an_offer_may_make_a_repair_harder_on_a_device():
    """Its difficulty replaces the procedure's, in ownership and in the rate."""
    offers = [
        {"device": "slate", "procedure": "battery"},
        {"device": "slate", "procedure": "port", "difficulty": "hard"},
    ]
    quote = quoted(a_book(offers=offers), repairs=["battery", "port"])
    assert owners(quote)["open"] == "port"
    assert str(line_of(quote, "labour", "port").charge.net) == "42.00"  # (5 + 20 + 3) × 1.50


def test_a_repair_that_owns_no_step_has_no_labour_line():
    """Two procedures with the same goal: the second has nothing left to do."""
    book = planned(a_step("goal", 5), procedures=[a_row("a", goals="goal"), a_row("b", goals="goal")])
    assert kinds(quoted(book, repairs=["a", "b"])) == ["labour"]


# substitutes

SEAL = (
    a_step("open", 5),
    a_step("goal-a", 2, needs="open", slot="seal", without_part="cut"),
    a_step("cut", 6, needs="open clean-edges"),
    a_step("clean-edges", 1),
    a_step("close", 1, needs="goal-a"),
)


def test_a_step_whose_slot_has_no_part_is_replaced_by_its_substitute_with_all_it_needs():
    """The substitute's own needs come with it, and what needs the step waits for the substitute."""
    book = planned(*SEAL, procedures=[a_row("a", goals="close")])
    assert steps(quoted(book, repairs=["a"])) == ["open", "clean-edges", "cut", "close"]


def test_with_a_part_there_is_no_substitute():
    """The part is fitted, and has its line."""
    book = planned(*SEAL, procedures=[a_row("a", goals="close")], parts=[a_part("S1", slot="seal")])
    quote = quoted(book, repairs=["a"])
    assert steps(quote) == ["open", "goal-a", "close"]
    assert line_of(quote, "part").charge.ref == "S1"


def test_a_substitute_may_have_a_slot_and_a_substitute_of_its_own():
    """A genuine seal, else a compatible frame, else tape."""
    rows = (
        a_step("goal-a", slot="seal", without_part="frame"), a_step("frame", slot="frame", without_part="tape"),
        a_step("tape"),
    )  # fmt: skip
    frames = [a_part("F1", slot="frame", devices="slate")]
    assert steps(quoted(planned(*rows), repairs=["a"])) == ["tape"]
    assert steps(quoted(planned(*rows, parts=frames), repairs=["a"])) == ["frame"]
    assert steps(quoted(planned(*rows, parts=frames), repairs=["a"], parts={"frame": None})) == ["tape"]


def test_without_part_and_substitute_the_job_is_refused_at_the_slot():
    """A battery cannot be done without."""
    (refusal,) = refusals(a_book(), parts={"battery": None})
    assert (refusal.reason, refusal.pointer) == ("part-required", "/parts/battery")


# savings

SAVING = (
    a_step("open"), a_step("scrape", needs="open"), a_step("glue", needs="scrape"),
    a_step("goal-a", needs="open glue", slot="battery"),
)  # fmt: skip


def test_a_step_that_a_part_saves_is_left_out_and_brings_nothing():
    """With its adhesive on, a cell needs no glue, and so no scraping."""
    plain, saving = (planned(*SAVING, parts=[a_part("B1", saves=saves)]) for saves in ("", "glue"))
    assert steps(quoted(plain, repairs=["a"])) == ["open", "scrape", "glue", "goal-a"]
    assert steps(quoted(saving, repairs=["a"])) == ["open", "goal-a"]


def test_what_a_saved_step_would_bring_stays_if_something_else_needs_it():
    """Only the path through the saved step is cut."""
    rows = (*SAVING[:3], a_step("goal-a", needs="scrape glue", slot="battery"))
    book = planned(*rows, parts=[a_part("B1", saves="glue")])
    assert steps(quoted(book, repairs=["a"])) == ["open", "scrape", "goal-a"]


def test_a_goal_can_be_saved_too():
    """A finding adds glue, the part makes it needless."""
    book = planned(*SAVING, parts=[a_part("B1", saves="glue")], findings=[a_row("loose", adds="glue")])
    assert steps(quoted(book, repairs=["a"], findings=["loose"])) == ["open", "goal-a"]


def test_parts_are_selected_before_anything_is_saved():
    """The frame saves the step of the seal: the seal, selected, still saves the cleaning, but has no line."""
    book = planned(
        a_step("clean-edges"), a_step("fit-seal", slot="seal"), a_step("fit-frame", slot="frame"),
        a_step("goal-a", needs="clean-edges fit-seal fit-frame"),
        parts=[a_part("S1", slot="seal", saves="clean-edges"), a_part("F1", slot="frame", saves="fit-seal")],
    )  # fmt: skip
    quote = quoted(book, repairs=["a"])
    assert steps(quote) == ["fit-frame", "goal-a"]
    assert line_of(quote, "part").charge.ref == "F1"


def test_a_part_that_no_step_asks_for_saves_nothing():
    """It is not fitted, so it is not selected."""
    book = planned(*SAVING, parts=[a_part("B1"), a_part("S1", slot="seal", saves="glue")])
    assert "glue" in steps(quoted(book, repairs=["a"], parts={"seal": "S1"}))


# replacements

HEAT = (
    a_step("warm"), a_step("open", needs="warm"), a_step("cold-open"),
    a_step("goal-a", needs="open"), a_step("goal-b", needs="open warm"),
)  # fmt: skip
HEATLESS = [a_row("swollen", procedures="a", replaces="warm:cold-open")]


def test_a_replacement_counts_everywhere_even_for_repairs_that_the_finding_does_not_concern():
    """A swollen cell is not opened with heat: the finding is about repair a, the warming also of b."""
    book = planned(*HEAT, repairs="a b", findings=HEATLESS)
    assert steps(quoted(book, repairs=["b", "a"], findings=["swollen"])) == ["cold-open", "open", "goal-a", "goal-b"]


def test_a_replacement_counts_for_goals_too():
    """The goal itself is done otherwise."""
    book = planned(*HEAT, findings=[a_row("swollen", replaces="goal-a:cold-open")])
    assert steps(quoted(book, repairs=["a"], findings=["swollen"])) == ["cold-open"]


def test_a_replacement_may_itself_be_replaced():
    """By another finding; of two for one step, the finding that was named first has the first word."""
    rows = [a_row("wet", replaces="cold-open:dry"), a_row("hot", replaces="warm:dry"), *HEATLESS]
    book = planned(*HEAT, a_step("dry"), findings=rows)
    assert steps(quoted(book, repairs=["a"], findings=["swollen", "wet"])) == ["dry", "open", "goal-a"]
    assert "cold-open" in steps(quoted(book, repairs=["a"], findings=["swollen", "hot"]))
    assert "dry" in steps(quoted(book, repairs=["a"], findings=["hot", "swollen"]))


def test_findings_that_replace_each_other_s_steps_come_to_an_end():
    """By wet for dry, by hot dry for warm, by cold warm for dry again: at the step from which it would begin anew."""
    rows = [a_row("wet", replaces="goal-a:dry"), a_row("hot", replaces="dry:warm"), a_row("cold", replaces="warm:dry")]
    book = planned(a_step("goal-a"), a_step("dry"), a_step("warm"), findings=rows)
    assert steps(quoted(book, repairs=["a"], findings=["wet", "hot", "cold"])) == ["warm"]


def test_a_substitute_that_a_finding_replaces_by_what_it_stands_in_for_is_refused():
    """No seal, so tape; no tape on a wet edge, so the seal again, which is not there."""
    rows = (a_step("goal-a", slot="seal", without_part="tape"), a_step("tape"))
    book = planned(*rows, findings=[a_row("wet", replaces="tape:goal-a")])
    (refusal,) = refusals(book, repairs=["a"], findings=["wet"])
    assert (refusal.reason, refusal.pointer) == ("part-required", "/parts/seal")


def test_the_substitute_of_a_missing_part_may_be_replaced():
    """No seal, so tape; no tape on a wet edge, so paste."""
    book = planned(*SEAL, a_step("paste"), findings=[a_row("wet", replaces="cut:paste")])
    assert steps(quoted(book, repairs=["a"], findings=["wet"])) == ["paste"]


def test_two_findings_may_make_steps_wait_for_each_other_and_are_refused_together():
    """Each alone is fine: x needs b instead of y, and b, once z is x, needs x."""
    rows = (a_step("goal-a", needs="x"), a_step("x", needs="y"), a_step("y"), a_step("b", needs="z"), a_step("z"))
    findings = [a_row("one", replaces="y:b"), a_row("two", replaces="z:x")]
    book = planned(*rows, findings=findings)
    assert steps(quoted(book, repairs=["a"], findings=["one"])) == ["z", "b", "x", "goal-a"]
    assert steps(quoted(book, repairs=["a"], findings=["two"])) == ["y", "x", "goal-a"]
    (refusal,) = refusals(book, repairs=["a"], findings=["one", "two"])
    assert (refusal.reason, refusal.pointer) == ("steps-in-a-circle", "/findings")
    assert "b, goal-a, x wait" in refusal.detail


# findings


def test_what_a_finding_adds_joins_the_first_repair_that_it_concerns():
    """In the job's order, not the table's; it is billed at that repair's rate."""
    book = shared_finding(procedures="")
    assert owners(quoted(book, repairs=["b", "a"], findings=["dirty"]))["wipe"] == "b"
    assert owners(quoted(book, repairs=["a", "b"], findings=["dirty"]))["wipe"] == "a"


def test_a_finding_about_a_procedure_joins_that_repair():
    """Though another stands before it."""
    book = shared_finding(procedures="b")
    assert owners(quoted(book, repairs=["a", "b"], findings=["dirty"]))["wipe"] == "b"


def test_a_finding_that_concerns_no_repair_is_ignored():
    """Its steps, its factor, its charge, its caution: nothing of it counts."""
    book = shared_finding(procedures="b", time_factor=3, charge=50, disposal=50, stops="yes", caution="care")
    assert quoted(book, repairs=["a"], findings=["dirty"]).totals == quoted(book, repairs=["a"]).totals
    assert quoted(book, repairs=["a"], findings=["dirty"]).cautions == ()


def shared_finding(**finding: object) -> RateBook:
    """Repairs a and b, and a finding `dirty` that adds a step `wipe`."""
    return planned(
        a_step("goal-a", 4), a_step("goal-b", 4), a_step("wipe", 2), repairs="a b",
        findings=[a_row("dirty", adds="wipe", **finding)], cautions=[a_row("care", text="Take care")],
    )  # fmt: skip


def test_a_finding_that_stops_the_job_refuses_it_with_its_caution():
    """At the finding, in the words of the caution."""
    findings = [a_row("bent"), a_row("leaking", title="Leaking cell", stops="yes", caution="gas")]
    book = a_book(findings=findings, cautions=[a_row("gas", text="Outdoors, away from people")])
    (refusal,) = refusals(book, findings=["bent", "leaking"])
    assert (refusal.reason, refusal.pointer) == ("stopped-by-finding", "/findings/1")
    assert refusal.caution == "Outdoors, away from people"
    assert "Leaking cell" in refusal.detail


def test_every_finding_that_stops_is_named():
    """Two reasons to stop are two refusals; a finding without a caution has none to show."""
    book = a_book(findings=[a_row("hot", stops="yes"), a_row("leaking", stops="yes")])
    found = refusals(book, findings=["hot", "leaking"])
    assert [(each.pointer, each.caution) for each in found] == [("/findings/0", None), ("/findings/1", None)]


def test_cautions_are_those_of_the_steps_then_of_the_findings_each_once():
    """In working order; a step that is not done warns of nothing."""
    rows = [
        dict(row) | {"caution": {"open": "heat", "fit-battery": "cell", "clean": "fumes"}.get(str(row["code"]), "")}
        for row in TABLES_OF_SMALL_BOOK["steps"]
    ]
    findings = [a_row("swollen", caution="cell"), a_row("bent", caution="edges")]
    cautions = [a_row(code) for code in ("heat", "cell", "edges", "fumes")]
    quote = quoted(a_book(steps=rows, findings=findings, cautions=cautions), findings=["swollen", "bent"])
    assert quote.cautions == ("heat", "cell", "edges")
