"""Every kind of cell in every table, spoilt: the one flaw that comes of it, where, why, and what would be right."""

from collections.abc import Callable

import pytest

from books.conftest import added, cell, replaced, the_one
from quoter.books.tables import TABLE_BY_NAME, TABLES
from quoter.problems import Flaw

BLANK = "must not be blank"
NO_NUMBER = "not a number"
RANGE = "out of range"
NO_CODE = "not a code"
NO_ROW = "has no row"

DIFFICULTY = [
    ("difficulty", 2, "title", "", BLANK, "what people call it"),
    ("difficulty", 2, "time_factor", "0", RANGE, "above 0 to 100"),
    ("difficulty", 2, "time_factor", "101", RANGE, "above 0 to 100"),
    ("difficulty", 3, "hourly_rate", "60,50", NO_NUMBER, "such as 60.50"),
    ("difficulty", 3, "hourly_rate", "1.234,56", NO_NUMBER, "such as 1234.56"),
    ("difficulty", 3, "hourly_rate", "1,234", NO_NUMBER, "such as 1.234 or 1234"),
    ("difficulty", 3, "hourly_rate", "-1", RANGE, "from 0"),
    ("difficulty", 3, "hourly_cost", "", BLANK, "costs the shop"),
    ("difficulty", 3, "hourly_cost", "NaN", NO_NUMBER, "digits"),
    ("difficulty", 3, "hourly_cost", "Infinity", NO_NUMBER, "digits"),
    ("difficulty", 3, "hourly_cost", "1e5", NO_NUMBER, "such as 100000"),
    ("difficulty", 3, "hourly_cost", "٣٠", NO_NUMBER, "such as 30"),
    ("difficulty", 3, "hourly_cost", "٣٠٫٥", NO_NUMBER, "such as 30.5"),
    ("difficulty", 3, "hourly_cost", "€ 30", NO_NUMBER, "such as 30"),
    ("difficulty", 3, "hourly_cost", "30.", NO_NUMBER, "such as 30"),
    ("difficulty", 3, "hourly_cost", "thirty", NO_NUMBER, "digits with '.'"),
    ("difficulty", 3, "hourly_cost", "9" * 40, "too many digits", "at most 12 before"),
    ("difficulty", 3, "hourly_cost", "0." + "1" * 17, "too many digits", "16 after"),
    ("difficulty", 3, "hourly_cost", "1000000000", RANGE, "999999999"),
    ("difficulty", 3, "title", "x" * 2001, "2001 characters", "at most 2000"),
    ("difficulty", 3, "title", "bell\x07", "U+0007", "take it out"),
]

DEVICES = [
    ("devices", 2, "maker", "", BLANK, "who makes it"),
    ("devices", 2, "kind", "smart phone", NO_CODE, "without spaces"),
    ("devices", 2, "width_mm", "0", RANGE, "above 0"),
    ("devices", 2, "height_mm", "10001", RANGE, "10000"),
    ("devices", 2, "corner_mm", "-1", RANGE, "from 0"),
    ("devices", 2, "corner_mm", "35.5", "larger than half the shorter side", "at most 35"),
    ("devices", 3, "corner_mm", "20.01", "larger than half the shorter side", "at most 20"),
]

PROCEDURES = [
    ("procedures", 2, "goals", "", BLANK, "steps"),
    ("procedures", 2, "goals", "fit-battery clos", NO_ROW, "perhaps close"),
    ("procedures", 2, "difficulty", "", BLANK, "offer"),
    ("procedures", 2, "difficulty", "eazy", NO_ROW, "perhaps easy"),
    ("procedures", 2, "warranty", "years", NO_ROW, "perhaps year"),
    ("procedures", 2, "slot", "batery", "no step fits a part into this slot", "perhaps battery"),
]

OFFERS = [
    ("offers", 3, "device", "slat", NO_ROW, "perhaps slate"),
    ("offers", 3, "device", "", BLANK, "the shop works on"),
    ("offers", 3, "procedure", "Screen", NO_ROW, "perhaps screen"),
    ("offers", 3, "difficulty", "harder", NO_ROW, "perhaps hard"),
    ("offers", 3, "extra_steps", "warm heat", NO_ROW, "a code of steps.csv"),
    ("offers", 3, "procedure", "battery", "already in row 2", "another key"),
]

STEPS = [
    ("steps", 3, "low", "", BLANK, "quick"),
    ("steps", 3, "high", "100001", RANGE, "100000"),
    ("steps", 3, "dwell", "ten", NO_NUMBER, "digits"),
    ("steps", 3, "needs", "warm,", NO_ROW, "perhaps warm"),
    ("steps", 3, "needs", "a:b", "'a:b' is not one of codes", "separated by spaces"),
    ("steps", 3, "caution", "ice", NO_ROW, "a code of cautions.csv"),
    ("steps", 8, "without_part", "cut-seel", NO_ROW, "perhaps cut-seal"),
    ("steps", 8, "without_part", "cut seal", NO_CODE, "without spaces"),
    ("steps", 5, "slot", "batery", "no part fills the slot", "perhaps battery"),
    ("steps", 5, "slot", "xyz", "no part fills the slot", "without_part"),
]

USAGE = [
    ("usage", 2, "step", "cut-seel", NO_ROW, "perhaps cut-seal"),
    ("usage", 2, "consumable", "tap", NO_ROW, "perhaps tape"),
    ("usage", 2, "basis", "perimetre", "not one of the words", "each, perimeter, long_sides, short_sides, area"),
    ("usage", 2, "quantity", "-1", RANGE, "from 0"),
    ("usage", 2, "quantity", "", BLANK, "unit"),
]

CONSUMABLES = [
    ("consumables", 2, "unit", "", BLANK, "m, ml"),
    ("consumables", 2, "pack_price", "6 EUR", NO_NUMBER, "digits"),
    ("consumables", 2, "pack_size", "0", RANGE, "above 0"),
    ("consumables", 2, "waste", "1", RANGE, "to below 1"),
    ("consumables", 2, "waste", "10%", NO_NUMBER, "such as 0.1"),
    ("consumables", 2, "increment", "0", RANGE, "above 0"),
    ("consumables", 2, "title", "", BLANK, "what people call it"),
]

PARTS = [
    ("parts", 3, "sku", "B1", "already in row 2", "another key"),
    ("parts", 3, "sku", "S:1", NO_CODE, "colons"),
    ("parts", 3, "sku", "S\u200b1", NO_CODE, "invisible"),
    ("parts", 3, "sku", "S" * 65, NO_CODE, "at most 64"),
    ("parts", 3, "slot", "", BLANK, "what it fills"),
    ("parts", 3, "grade", "", BLANK, "quality"),
    ("parts", 3, "devices", "", BLANK, "fits"),
    ("parts", 3, "devices", "slate watch", NO_ROW, "a code of devices.csv"),
    ("parts", 3, "cost", "", BLANK, "costs the shop"),
    ("parts", 3, "currency", "usd", "not an ISO 4217 currency", "USD"),
    ("parts", 3, "currency", "XYZ", "not an ISO 4217 currency", "such as EUR"),
    ("parts", 3, "currency", "XAU", "not an ISO 4217 currency", "such as EUR"),
    ("parts", 3, "currency", "GBP", "no exchange rate", "[fx] in book.toml"),
    ("parts", 3, "freight", "free", NO_NUMBER, "digits"),
    ("parts", 3, "lead_days", "1.5", "not a whole number", "0 to 3650"),
    ("parts", 3, "lead_days", "3651", "not a whole number", "0 to 3650"),
    ("parts", 3, "lead_days", "٣", "not a whole number", "0 to 3650"),
    ("parts", 3, "saves", "cut-seal glue", NO_ROW, "a code of steps.csv"),
    ("parts", 3, "warranty", "yaer", NO_ROW, "perhaps year"),
    ("parts", 3, "failure_rate", "1.01", RANGE, "from 0 to 1"),
]

MENU = [
    ("menu", 2, "device", "plate", NO_ROW, "perhaps slate"),
    ("menu", 2, "procedure", "screeen", NO_ROW, "perhaps screen"),
    ("menu", 2, "grade", "genuin", "no part has this grade", "perhaps genuine"),
    ("menu", 3, "grade", "gold", "no part has this grade", "blank for any"),
    ("menu", 2, "net", "", BLANK, "before tax"),
    ("menu", 2, "net", "199.-", NO_NUMBER, "digits"),
]

FINDINGS = [
    ("findings", 2, "procedures", "batteries", NO_ROW, "perhaps battery"),
    ("findings", 2, "time_factor", "0", RANGE, "above 0"),
    ("findings", 2, "affects", "open fit-batery", NO_ROW, "perhaps fit-battery"),
    ("findings", 2, "adds", "contain", NO_ROW, "a code of steps.csv"),
    ("findings", 2, "replaces", "warm", "'warm' is not one of old:new", "pairs separated by spaces"),
    ("findings", 2, "replaces", "warm:", "'warm:' is not one of old:new", "pairs separated by spaces"),
    ("findings", 2, "replaces", "warm:cold-open:open", "is not one of old:new", "pairs separated by spaces"),
    ("findings", 2, "replaces", "warn:cold-open", NO_ROW, "perhaps warm"),
    ("findings", 2, "replaces", "warm:cold-opem", NO_ROW, "perhaps cold-open"),
    ("findings", 2, "replaces", "warm:cold-open warm:open", "replaced twice", "one pair warm:new"),
    ("findings", 3, "stops", "no", "neither yes nor blank", "yes, or leave it blank"),
    ("findings", 3, "emerges", "Yes", "neither yes nor blank", "yes, or leave it blank"),
    ("findings", 2, "charge", "-5", RANGE, "from 0"),
    ("findings", 2, "disposal", "x", NO_NUMBER, "digits"),
    ("findings", 2, "chance", "5 %", NO_NUMBER, "such as 0.05"),
    ("findings", 2, "chance", "1.5", RANGE, "from 0 to 1"),
    ("findings", 2, "consequence", "1 000", NO_NUMBER, "such as 1000"),
    ("findings", 2, "warranty", "quater", NO_ROW, "perhaps quarter"),
    ("findings", 2, "caution", "cells", NO_ROW, "perhaps cell"),
    ("findings", 4, "title", "", BLANK, "what people call it"),
]

WARRANTY = [
    ("warranty", 2, "days", "", BLANK, "how long"),
    ("warranty", 2, "days", "-1", "not a whole number", "0 to 36500"),
    ("warranty", 2, "covers", "part: labour", "'part:' is not one of codes", "separated by spaces"),
    ("warranty", 3, "title", "", BLANK, "what people call it"),
]

CAUTIONS = [
    ("cautions", 2, "text", "", BLANK, "the warning in full"),
    ("cautions", 3, "source", "s" * 2001, "2001 characters", "at most 2000"),
]

CASES = [
    *(*DIFFICULTY, *DEVICES, *PROCEDURES, *OFFERS, *STEPS, *USAGE),
    *(*CONSUMABLES, *PARTS, *MENU, *FINDINGS, *WARRANTY, *CAUTIONS),
]


@pytest.mark.parametrize(("table", "row", "column", "value", "message", "suggestion"), CASES)
def test_a_wrong_cell_is_one_flaw_at_the_cell(
    flaws_with: Callable[..., list[Flaw]], table: str, row: int, column: str, value: str, message: str, suggestion: str
):
    """In its table, row and column, with what stands there (of a list the wrong word) and what would be right."""
    flaw = the_one(flaws_with(cell(table, row, column, value)))
    is_key_taken = message.startswith("already")
    assert (flaw.table, flaw.row) == (table, row)
    assert flaw.column == (TABLE_BY_NAME[table].key[0] if is_key_taken else column)
    assert bool(flaw.value) == bool(value)
    assert flaw.value.removesuffix("\ufffd") in value or is_key_taken
    assert message in flaw.message
    assert suggestion in flaw.suggestion


@pytest.mark.parametrize(
    ("column", "value", "at"), [("low", "4.5", "likely"), ("likely", "6.5", "high"), ("high", "3", "high")]
)
def test_an_estimate_out_of_order_is_a_flaw_of_the_number_that_breaks_it(
    flaws_with: Callable[..., list[Flaw]], column: str, value: str, at: str
):
    """3, 4, 6 with one number changed; all three are shown."""
    flaw = the_one(flaws_with(cell("steps", 3, column, value)))
    assert (flaw.column, flaw.message) == (at, "low ≤ likely ≤ high does not hold")
    assert flaw.value.count(",") == 2
    assert value in flaw.value


@pytest.mark.parametrize("table", [table for table in TABLES if not table.may_be_empty], ids=lambda table: table.name)
def test_a_table_that_needs_rows_and_has_none_is_one_flaw(flaws_with: Callable[..., list[Flaw]], table):
    """Not one more for each code that now leads nowhere."""
    flaw = the_one(flaws_with(lambda files: files.update({f"{table.name}.csv": ",".join(table.header) + "\n"})))
    assert (flaw.table, flaw.message) == (table.name, "the table has no rows")


@pytest.mark.parametrize("table", [table for table in TABLES if table.may_be_empty], ids=lambda table: table.name)
def test_a_table_may_be_empty_where_nothing_refers_to_it(flaws_with: Callable[..., list[Flaw]], table):
    """Every flaw is about a code or slot that needs it, none about the table itself."""
    found = flaws_with(lambda files: files.update({f"{table.name}.csv": ",".join(table.header) + "\n"}))
    assert table.name not in {flaw.table for flaw in found}


@pytest.mark.parametrize(
    ("table", "row", "message"),
    [
        ("offers", "slate,battery,hard,\n", "already in row 2"),
        ("usage", "cut-seal,tape,perimeter,3\n", "already in row 2"),
        ("menu", "slate,battery,,60\n", "already in row 3"),
        ("cautions", "hot,again,\n", "already in row 2"),
    ],
)
def test_a_key_stands_once(flaws_with: Callable[..., list[Flaw]], table: str, row: str, message: str):
    """A key of several columns is one key."""
    assert message in the_one(flaws_with(added(f"{table}.csv", row))).message


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("offers", "wrist,battery,,\n"),
        ("usage", "cut-seal,tape,each,3\n"),
        ("menu", "slate,screen,,60\n"),
        ("menu", "slate,screen,compatible,60\n"),
    ],
)
def test_a_key_of_several_columns_may_share_some_of_them(flaws_with: Callable[..., list[Flaw]], table: str, row: str):
    """One device with two procedures, one step with two measures, one price for each grade."""
    assert flaws_with(added(f"{table}.csv", row)) == []


@pytest.mark.parametrize(
    ("table", "row", "column", "value"),
    [
        ("steps", 3, "low", "4"),
        ("steps", 3, "high", "4"),
        ("devices", 2, "corner_mm", "35"),
        ("devices", 2, "corner_mm", ""),
        ("consumables", 2, "waste", "0.9999999999999999"),
        ("parts", 3, "failure_rate", "1"),
        ("parts", 3, "cost", "999999999"),
        ("parts", 3, "cost", "-0"),
        ("parts", 3, "cost", "007.50"),
        ("parts", 3, "currency", "EUR"),
        ("parts", 3, "sku", "S" * 64),
        ("parts", 4, "slot", "something-new"),
        ("findings", 2, "replaces", "warm:cold-open cold-open:warm"),
        ("cautions", 2, "text", "x" * 2000),
        ("cautions", 2, "text", 'two\nlines, "quoted" and «Unicode» €'),
        ("warranty", 2, "days", "0"),
        ("menu", 2, "grade", ""),
    ],
)
def test_what_is_just_right_is_no_flaw(
    flaws_with: Callable[..., list[Flaw]], table: str, row: int, column: str, value: str
):
    """The other side of every boundary."""
    assert flaws_with(cell(table, row, column, value)) == []


def test_the_small_book_has_no_flaws(flaws_with: Callable[..., list[Flaw]]):
    """All that the other tests spoil is right."""
    assert flaws_with() == []


def test_a_flaw_reads_as_a_sentence_with_its_place(flaws_with: Callable[..., list[Flaw]]):
    """What `quoter book check` prints."""
    flaw = the_one(flaws_with(replaced("steps.csv", "open,Open,3,", 'open,Open,"3,5",')))
    assert str(flaw) == ("steps, row 3, low: '3,5': not a number (digits with '.' as the decimal sign, such as 3.5)")
