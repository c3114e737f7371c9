"""Every kind of fault in a tax profile: the one flaw that comes of it; and the profiles that come along."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from books.conftest import Change, added, deleted, files_with, replaced, saved, the_one, written
from quoter.books.check import flaws
from quoter.books.compile import compiled
from quoter.books.load import read_folder
from quoter.books.raw import RawBook
from quoter.problems import Flaw

FILE = "tax/plain.toml"
MISSING = "must be given"
UNKNOWN = "there is no such setting"
NO_CODE = "there is no such tax code"


def tax(old: str, new: str) -> Change:
    """Something else in the profile."""
    return replaced(FILE, old, new)


VALUES = [
    (tax('title = "Plain tax"\n', ""), "title", "", MISSING, "what people call it"),
    (tax('source = "invented, 2026"', 'source = ""'), "source", "", MISSING, "who says so"),
    (tax('"inclusive"', '"gross"'), "display", "gross", "not one of the words", "one of inclusive, exclusive"),
    (tax('stage = "rate"', 'stage = "total"'), "stage", "total", "not one of the words", "one of line, rate, document"),
    (tax('mode = "half-up"', 'mode = "half_up"'), "mode", "half_up", "not one of the words", "half-even, down, up"),
    (tax("combined = true\n", ""), "combined", "", MISSING, "added first"),
    (tax("combined = true", 'combined = "true"'), "combined", "true", "neither true nor false", "without quotation"),
    (tax("combined = true", "combined = 1"), "combined", "1", "neither true nor false", "combined = true"),
    (tax('cash_increment = "0.05"', "cash_increment = 0"), "cash_increment", "0", "out of range", "above 0"),
    (tax('cash_increment = "0.05"', 'cash_mode = "nearest"'), "cash_mode", "nearest", "not one of", "half-up"),
    (tax("cash_increment", "cash_incremnt"), "cash_incremnt", "", UNKNOWN, "perhaps cash_increment"),
]

FIRST = '{name = "VAT", rate = "0.20", from = "2010-01-01"}'
AT_FIRST = "codes.standard.components 1"
AT_SECOND = "codes.standard.components 2"

CODES = [
    (tax('rate = "0.20"', 'rate = "20"'), f"{AT_FIRST}.rate", "20", "out of range", "from 0 to 1"),
    (tax('rate = "0.20"', 'rate = "20 %"'), f"{AT_FIRST}.rate", "20 %", "not a number", "such as 0.2"),
    (tax('rate = "0.20", ', ""), f"{AT_FIRST}.rate", "", MISSING, "a fraction"),
    (tax('rate = "0.20"', "rate = true"), f"{AT_FIRST}.rate", "true", "not text", 'rate = "…"'),
    (tax("2010-01-01", "1.1.2010"), f"{AT_FIRST}.from", "1.1.2010", "not a date", "YYYY-MM-DD"),
    (tax("2010-01-01", "2010-02-30"), f"{AT_FIRST}.from", "2010-02-30", "not a date", "YYYY-MM-DD"),
    (tax("2010-01-01", "2010-W01-1"), f"{AT_FIRST}.from", "2010-W01-1", "not a date", "YYYY-MM-DD"),
    (tax("2010-01-01", "20100101"), f"{AT_FIRST}.from", "20100101", "not a date", "YYYY-MM-DD"),
    (tax('"2010-01-01"', "2010-01-01T12:00:00"), f"{AT_FIRST}.from", "2010-01-01T12:00:00", "not a date", "YYYY"),
    (
        tax("2020-01-01", "2010-01-01"),
        f"{AT_SECOND}.from",
        "2010-01-01",
        "component 1 has the same name",
        "another day",
    ),
    (tax('name = "VAT", rate = "0.20"', 'rate = "0.20"'), f"{AT_FIRST}.name", "", MISSING, "on a quote"),
    (tax('from = "2010', 'form = "2010'), f"{AT_FIRST}.form", "", UNKNOWN, "perhaps from"),
    (tax(FIRST, '"0.20"'), AT_FIRST, "0.20", "not a table", "name, rate, from"),
    (tax(FIRST, "[]"), AT_FIRST, "[…]", "not a table", "name, rate, from"),
    (tax("components = []", 'components = ""'), "codes.none.components", "", MISSING, "[{name, rate, from}, …]"),
    (
        tax("components = []", "components = {}"),
        "codes.none.components",
        "{…}",
        "not a list",
        "[{name, rate, from}, …]",
    ),
    (tax("components = []", "componets = []"), "codes.none.componets", "", UNKNOWN, "perhaps components"),
    (tax("components = []", "components = []\nnote = 1"), "codes.none.note", "", UNKNOWN, ""),
    (tax("[codes.none]\ncomponents = []", "[codes]\nnone = 0"), "codes.none", "0", "not a table", "components"),
    (tax("[codes.none]\ncomponents = []", "[[codes.none]]"), "codes.none", "[…]", "not a table", "components"),
]

LINES = [
    (tax('bench = "standard"\n', ""), "lines.bench", "", MISSING, "one of standard, none"),
    (tax('bench = "standard"', 'bench = ""'), "lines.bench", "", MISSING, "the tax code"),
    (tax('bench = "standard"', 'bench = "standart"'), "lines.bench", "standart", NO_CODE, "perhaps standard"),
    (tax('bench = "standard"', 'bench = "zero"'), "lines.bench", "zero", NO_CODE, "one of standard, none"),
    (tax('bench = "standard"', 'bench = ["standard"]'), "lines.bench", "[…]", "not text", 'bench = "…"'),
    (tax('bench = "standard"', "bench = {code = 1}"), "lines.bench", "{…}", "not text", 'bench = "…"'),
    (tax('bench = "standard"', 'bensh = "standard"'), "lines.bensh", "", "no such kind of line", "perhaps bench"),
    (tax("[lines]", '[lines]\nexpress = "none"'), "lines.express", "", "no such kind of line", "one of part, cons"),
    (tax("[lines]", '[lines]\nexpress = "zero"'), "lines.express", "", "no such kind of line", "one of part, cons"),
    (tax("[lines]", "[[lines]]"), "lines", "[…]", "not a table", "[lines] with KIND = CODE"),
    (tax("[lines]", "[line]"), "line", "", UNKNOWN, "perhaps lines"),
]

EXEMPT = '[customers.exempt]\ncode = "none"\nreason = "Exempt"'

CUSTOMERS = [
    (tax("[customers.exempt]", "[customers.exemt]"), "customers.exemt", "", "no such kind of customer", "exempt"),
    (
        tax("[customers.exempt]", "[customers.club]"),
        "customers.club",
        "",
        "no such kind of customer",
        "consumer, business",
    ),
    (tax('code = "none"\nreason', "reason"), "customers.exempt.code", "", MISSING, "the tax code"),
    (tax('code = "none"\nreason', 'code = "non"\nreason'), "customers.exempt.code", "non", NO_CODE, "perhaps none"),
    (tax('code = "none"\nreason', "code = []\nreason"), "customers.exempt.code", "[…]", "not text", 'code = "…"'),
    (tax('reason = "Exempt"', "reason = true"), "customers.exempt.reason", "true", "not text", 'reason = "…"'),
    (tax('reason = "Exempt"', 'reason = ["a"]'), "customers.exempt.reason", "[…]", "not text", 'reason = "…"'),
    (tax('reason = "Exempt"', 'reasn = "Exempt"'), "customers.exempt.reasn", "", UNKNOWN, "perhaps reason"),
    (
        tax('[customers.exempt]\ncode = "none"\nreason = "Exempt"', "[customers]\nexempt = 1"),
        "customers.exempt",
        "1",
        "not a table",
        "code, reason",
    ),
    (
        tax('[customers.exempt]\ncode = "none"\nreason = "Exempt"', "[[customers]]"),
        "customers",
        "[…]",
        "not a table",
        "[customers.KIND]",
    ),
]

RULE = '["labour", "bench"]\ncode = "standard"'

RECLASS = [
    (tax('when = "any_part"\n', ""), "reclass 2.when", "", MISSING, "what the whole job must be like"),
    (tax('"any_part"', '"any"'), "reclass 2.when", "any", "not one of", "one of any_part, part_share"),
    (tax('above = "0.5"\n', ""), "reclass 1.above", "", "must be given where when is part_share", "from 0 to 1"),
    (tax('above = "0.5"', 'above = "50"'), "reclass 1.above", "50", "out of range", "from 0 to 1"),
    (tax('when = "any_part"', 'when = "any_part"\nabove = "x"'), "reclass 2.above", "x", "not a number", "digits"),
    (tax('["disposal"]', "[]"), "reclass 2.lines", "[…]", "not a list of the words", "some of part"),
    (tax('["disposal"]', '["express"]'), "reclass 2.lines", "[…]", "not a list of the words", "some of part"),
    (tax('["disposal"]', '[["disposal"]]'), "reclass 2.lines", "[…]", "not a list of the words", "some of part"),
    (tax('["disposal"]', "[{}]"), "reclass 2.lines", "[…]", "not a list of the words", "some of part"),
    (tax('["disposal"]', '"disposal"'), "reclass 2.lines", "disposal", "not a list", "the kinds of line that change"),
    (tax(RULE, '["labour"]\ncode = "std"'), "reclass 1.code", "std", NO_CODE, ""),
    (tax(RULE, '["labour"]'), "reclass 1.code", "", MISSING, "the tax code"),
    (tax(RULE, '["labour"]\ncode = []'), "reclass 1.code", "[…]", "not text", ""),
]


@pytest.mark.parametrize(
    ("change", "column", "value", "message", "suggestion"), [*VALUES, *CODES, *LINES, *CUSTOMERS, *RECLASS]
)
def test_a_fault_in_a_tax_profile_is_one_flaw_at_its_key(
    flaws_with: Callable[..., list[Flaw]], change: Change, column: str, value: str, message: str, suggestion: str
):
    """Lists are counted from 1."""
    flaw = the_one(flaws_with(change))
    assert (flaw.table, flaw.row, flaw.column, flaw.value) == (FILE, None, column, value)
    assert message in flaw.message
    assert suggestion in flaw.suggestion


CODE_TABLES = """\
[codes.standard]
components = [
    {name = "VAT", rate = "0.20", from = "2010-01-01"},
    {name = "VAT", rate = "0.21", from = "2020-01-01"},
]

[codes.none]
components = []
"""


@pytest.mark.parametrize(
    ("codes", "message"),
    [
        ("", MISSING),
        ("[codes]\n", "must not be empty"),
        ("[[codes]]\n", "not a table"),
        ("[code]\n", "not text"),
    ],
)
def test_a_profile_without_codes_is_one_flaw(flaws_with: Callable[..., list[Flaw]], codes: str, message: str):
    """Not one for each line that names a code."""
    found = flaws_with(tax(CODE_TABLES, codes) if codes != "[code]\n" else tax('code = "plain"', "code = []"))
    assert the_one(found).message == message


@pytest.mark.parametrize(
    "reclass", ["reclass = 1", 'reclass = "x"', "reclass = {}", "reclass = [1]", "reclass = [[]]", "reclass = [{}]"]
)
def test_rules_that_are_no_tables_are_flaws(flaws_with: Callable[..., list[Flaw]], reclass: str):
    """A rule that is not there would silently not be applied."""
    text = files_with()[FILE]
    assert isinstance(text, str)
    found = flaws_with(saved(FILE, f"{reclass}\n{text[: text.index('[[reclass]]')]}"))
    assert found
    assert all(flaw.column.startswith("reclass") for flaw in found)


@pytest.mark.parametrize(
    "change",
    [
        tax("combined = true", "combined = false"),
        tax('cash_increment = "0.05"\n', ""),
        tax('cash_increment = "0.05"', 'cash_increment = ""'),
        tax('from = "2010-01-01"', "from = 2010-01-01"),
        tax('rate = "0.20"', "rate = 1"),
        tax('name = "VAT", rate = "0.21", from = "2020-01-01"', 'name = "Levy", rate = "0.01", from = "2010-01-01"'),
        tax('reason = "Exempt"\n', ""),
        tax('when = "any_part"', 'when = "any_part"\nabove = "0"'),
        added(FILE, '[customers.business]\ncode = "standard"\n'),
    ],
)
def test_what_a_profile_may_say_is_no_flaw(flaws_with: Callable[..., list[Flaw]], change: Change):
    """What may be absent, and the other side of boundaries."""
    assert flaws_with(change) == []


def test_a_profile_that_is_not_there_is_a_flaw_of_the_setting_that_names_it(flaws_with: Callable[..., list[Flaw]]):
    """The profiles that are there would be right."""
    flaw = the_one(flaws_with(deleted(FILE), saved("tax/other.toml", "")))
    assert (flaw.table, flaw.column) == ("book.toml", "tax_profile")
    assert "has other" in flaw.suggestion


RATES = Path(__file__).parents[2] / "rates"
DEMO_BOOKS = sorted(path.parent for path in RATES.glob("*/book.toml"))
PROFILES = sorted((RATES / "tax").glob("*.toml"))


def test_there_are_demo_books_and_profiles():
    """The two tests below are about something."""
    assert len(DEMO_BOOKS) >= 2
    assert len(PROFILES) >= 2


@pytest.mark.parametrize("folder", DEMO_BOOKS, ids=lambda path: path.name)
def test_a_demo_book_has_no_flaws(folder: Path):
    """And is called what its folder is."""
    raw = read_folder(folder)
    assert flaws(raw) == []
    assert compiled(raw).code == folder.name


@pytest.mark.parametrize("profile", PROFILES, ids=lambda path: path.stem)
def test_every_profile_that_comes_along_is_valid_in_a_demo_book(profile: Path, tmp_path: Path):
    """With its own name, and a source that says when."""
    beside = tmp_path / "tax"
    beside.mkdir()
    (beside / profile.name).write_bytes(profile.read_bytes())
    raw = _with_profile(read_folder(DEMO_BOOKS[0]), profile.stem, tmp_path)
    assert flaws(raw) == []
    tax = compiled(raw).tax
    assert tax.code == profile.stem
    assert re.search(r"\b(19|20)\d\d\b", tax.source), tax.source


def _with_profile(raw: RawBook, name: str, beside: Path) -> RawBook:
    """The demo book's tables and settings with another profile, and with no law profile, which might contradict it."""
    small = files_with(replaced("book.toml", 'tax_profile = "plain"', f'tax_profile = "{name}"'), deleted(FILE))
    read = read_folder(written(small, beside))
    settings = {key: value for key, value in raw.settings.items() if key != "law_profile"} | {"tax_profile": name}
    return RawBook(settings, raw.tables, read.tax, raw.flaws + read.flaws)
