"""Law profiles: every kind of fault, the life of the file, and what those that come along say, line by source line."""

import io
import json
import re
import tomllib
import zipfile
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from builders import TODAY

from books.conftest import SMALL_BOOK, Change, added, all_of, deleted, files_with, replaced, saved, the_one, written
from quoter.books.check import flaws
from quoter.books.compare import compare
from quoter.books.compile import compiled, open_book
from quoter.books.draft import Edit, draft_data, draft_from, draft_of, edited, raw_of
from quoter.books.far_numbers import far_numbers
from quoter.books.load import LARGEST_SETTINGS, read_folder
from quoter.books.raw import RawBook
from quoter.books.sheets.archive import from_zip, to_zip
from quoter.books.sheets.workbook import from_xlsx, opened, to_xlsx
from quoter.books.warnings import warnings
from quoter.law import NOTICE_CODES, LawNotice, LawProfile
from quoter.problems import Flaw
from quoter.store.raw_text import raw_of_text, text_of_raw

RATES = Path(__file__).parents[2] / "rates"
PROFILES = sorted(path.stem for path in (RATES / "law").glob("*.toml"))
LANGUAGES = {"en", "de", "fr", "es", "pl", "ar", "ja"}

FILE = "law/plain.toml"
MISSING = "must be given"
UNKNOWN = "there is no such setting"

PLAIN = """\
code = "plain"
title = "Plain law"
source = "invented, 2026"
label = "quotation"
tax_in_price = true
minimum_validity_days = "14"

[excess]
share = "0.05"
of = "gross"
from = false

[consent]
how = ["counter", "phone"]
number = true

[notices.data-loss]
must_be_told = true

[notices.data-loss.texts]
en = "Data may be lost."
de = "Daten können verloren gehen."

[notices.ceiling]
must_be_told = false
when = "parts"

[notices.ceiling.texts]
en = "No more than this."
"""

NAMED = replaced("book.toml", 'tax_profile = "plain"\n', 'tax_profile = "plain"\nlaw_profile = "plain"\n')
LAWFUL = all_of(NAMED, saved(FILE, PLAIN))


def law(old: str, new: str) -> Change:
    """Something else in the profile of a book that has one."""
    return all_of(LAWFUL, replaced(FILE, old, new))


def lawful_book(folder: Path, *changes: Change) -> RawBook:
    """The text of the small book with a law profile."""
    return read_folder(written(files_with(LAWFUL, *changes), folder))


VALUES = [
    (law('title = "Plain law"\n', ""), "title", "", MISSING, "what people call it"),
    (law('source = "invented, 2026"', 'source = ""'), "source", "", MISSING, "who says so"),
    (law('"quotation"', '"offer"'), "label", "offer", "not one of the words", "one of quotation, estimate"),
    (law("tax_in_price = true\n", ""), "tax_in_price", "", MISSING, "with tax"),
    (
        law("tax_in_price = true", 'tax_in_price = "true"'),
        "tax_in_price",
        "true",
        "neither true nor false",
        "without q",
    ),
    (law('"14"', '"-1"'), "minimum_validity_days", "-1", "not a whole number", "0 to 3650"),
    (law('share = "0.05"', 'share = "5"'), "excess.share", "5", "out of range", "from 0 to 1"),
    (law('of = "gross"', 'of = "total"'), "excess.of", "total", "not one of the words", "one of gross, net"),
    (law("from = false\n", ""), "excess.from", "", MISSING, "only above it"),
    (law("from = false", "form = false"), "excess.form", "", UNKNOWN, "perhaps excess.from"),
    (
        law('["counter", "phone"]', "[]"),
        "consent.how",
        "[…]",
        "not a list of the words",
        "counter, phone, message, link",
    ),
    (law('["counter", "phone"]', '["fax"]'), "consent.how", "[…]", "not a list of the words", "some of counter"),
    (law('["counter", "phone"]', '"phone"'), "consent.how", "phone", "not a list", "the ways in which"),
    (law("number = true", 'number = "yes"'), "consent.number", "yes", "neither true nor false", "number = true"),
    (law("label =", "lable ="), "lable", "", UNKNOWN, "perhaps label"),
    (law("[consent]", "[[consent]]"), "consent", "[…]", "not a table", "[consent] with how, number"),
]

AT = "notices.data-loss"

NOTICES = [
    (law("[notices.data-loss]\nmust_be_told = true\n", ""), f"{AT}.must_be_told", "", MISSING, "has been told"),
    (law("must_be_told = true", "must_be_told = 1"), f"{AT}.must_be_told", "1", "neither true nor false", "= true"),
    (
        law('when = "parts"', 'when = "part"'),
        "notices.ceiling.when",
        "part",
        "not one of the words",
        "used_parts, parts",
    ),
    (
        law('when = "parts"\n\n[notices.ceiling.texts]\nen = "No more than this."\n', ""),
        "notices.ceiling.texts",
        "",
        MISSING,
        "LANGUAGE = text",
    ),
    (law('en = "Data may be lost."', 'en = ""'), f"{AT}.texts.en", "", MISSING, "in a language"),
    (law('de = "Daten können verloren gehen."', "de = []"), f"{AT}.texts.de", "[…]", "not text", 'de = "…"'),
    (law("\nde = ", "\ngerman = "), f"{AT}.texts.german", "german", "not a language tag", "en-IE"),
    (law("\nde = ", '\nEN = "Again"\nde = '), f"{AT}.texts.EN", "Again", "there already, as en", "one text"),
    (law('en = "No more', 'de = "No more'), "notices.ceiling.texts", "", "neither in English", "a text in en"),
    (
        all_of(LAWFUL, added(FILE, '[notices.data-los]\nmust_be_told = false\ntexts = {en = "Lost"}\n')),
        "notices.data-los",
        "",
        "there is no such notice",
        "perhaps data-loss",
    ),
    (
        all_of(LAWFUL, added(FILE, '[notices.weather]\nmust_be_told = false\ntexts = {en = "Rain"}\n')),
        "notices.weather",
        "",
        "there is no such notice",
        "one of statutory-rights, data-loss",
    ),
    (
        all_of(LAWFUL, added(FILE, "[notices]\nform = 1\n")),
        "notices.form",
        "1",
        "not a table",
        "must_be_told, when, texts",
    ),
]


@pytest.mark.parametrize(("change", "column", "value", "message", "suggestion"), [*VALUES, *NOTICES])
def test_a_fault_in_a_law_profile_is_one_flaw_at_its_key(
    flaws_with: Callable[..., list[Flaw]], change: Change, column: str, value: str, message: str, suggestion: str
):
    """With what would be right."""
    flaw = the_one(flaws_with(change))
    assert (flaw.table, flaw.row, flaw.column) == (FILE, None, column)
    assert flaw.value.startswith(value)
    assert message in flaw.message
    assert suggestion in flaw.suggestion


@pytest.mark.parametrize(
    "change",
    [
        LAWFUL,
        law('minimum_validity_days = "14"\n', ""),
        law('"14"', '"30"'),
        law('share = "0.05"', 'share = "0"'),
        law('en = "No more', 'en-GB = "Not more"\nen = "No more'),
        all_of(law('label = "quotation"', 'label = "estimate"\nreviewed = "an adviser, 2 March 2026"')),
        all_of(
            LAWFUL, replaced("book.toml", '"en-IE"', '"de-AT"'), replaced(FILE, 'en = "No more', 'de = "Nicht mehr')
        ),
        all_of(NAMED, saved(FILE, PLAIN.partition("[notices")[0])),
        replaced("book.toml", "[shop]", '[shop]\ncontact = "chat"\nhandover = "counter"\nloan_device = "none"'),
        replaced("book.toml", "deposit_rate", 'diagnosis_procedures = "clean screen"\ndeposit_rate'),
        replaced("book.toml", 'tax_profile = "plain"\n', 'tax_profile = "plain"\nlaw_profile = ""\n'),
    ],
)
def test_what_a_profile_may_say_is_no_flaw(flaws_with: Callable[..., list[Flaw]], change: Change):
    """What may be absent, and the other side of boundaries."""
    assert flaws_with(change) == []


def test_a_quote_that_holds_too_short_is_a_flaw_of_the_policy(flaws_with: Callable[..., list[Flaw]]):
    """It says why, and what would be right; a day more and it is right."""
    flaw = the_one(flaws_with(law('"14"', '"31"')))
    assert (flaw.table, flaw.column, flaw.value) == ("book.toml", "policy.validity_days", "30")
    assert "the law profile wants a quote to hold for 31 days" in flaw.message
    assert flaw.suggestion == "31 or more"


@pytest.mark.parametrize(
    ("display", "with_tax", "is_flaw"),
    [
        ("inclusive", "true", False),
        ("inclusive", "false", True),
        ("exclusive", "true", True),
        ("exclusive", "false", False),
    ],
)
def test_prices_with_tax_that_the_tax_profile_shows_without_are_a_flaw(
    flaws_with: Callable[..., list[Flaw]], display: str, with_tax: str, is_flaw: bool
):
    """And the other way round: both files are named."""
    found = flaws_with(
        law("tax_in_price = true", f"tax_in_price = {with_tax}"),
        replaced("tax/plain.toml", '"inclusive"', f'"{display}"'),
    )
    assert [(flaw.table, flaw.column) for flaw in found] == [(FILE, "tax_in_price")] * is_flaw
    assert all(f"tax/plain.toml, which is {display}" in flaw.message for flaw in found)


@pytest.mark.parametrize(("codes", "unknown"), [("clean", None), ("claen", "claen"), ("clean mend", "mend")])
def test_a_diagnosis_that_is_no_procedure_is_a_flaw(
    flaws_with: Callable[..., list[Flaw]], codes: str, unknown: str | None
):
    """Also in a book without a law profile."""
    found = flaws_with(replaced("book.toml", "deposit_rate", f'diagnosis_procedures = "{codes}"\ndeposit_rate'))
    assert [flaw.value for flaw in found] == ([unknown] if unknown else [])
    assert all(flaw.column == "policy.diagnosis_procedures" for flaw in found)


def test_a_profile_that_is_not_there_is_a_flaw_of_the_setting_that_names_it(flaws_with: Callable[..., list[Flaw]]):
    """The profiles that are there would be right."""
    flaw = the_one(flaws_with(LAWFUL, deleted(FILE), saved("law/other.toml", "")))
    assert (flaw.table, flaw.column, flaw.value) == ("book.toml", "law_profile", "plain")
    assert "has other" in flaw.suggestion


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("", "the file is empty"),
        ("code = ", "not TOML"),
        (b"code = '\xff'", "not UTF-8"),
        ("#" * (LARGEST_SETTINGS + 1), "the file is too large"),
        (f"{'a.' * 40}a = 1", "nested too deeply"),
    ],
)
def test_a_file_that_cannot_be_read_is_one_flaw(
    flaws_with: Callable[..., list[Flaw]], content: str | bytes, message: str
):
    """And nothing is called missing in it."""
    flaw = the_one(flaws_with(NAMED, saved(FILE, content)))
    assert flaw.table == FILE
    assert message in flaw.message


# the life of the file


def test_the_profile_is_compiled(tmp_path: Path):
    """Every setting finds its place in the book."""
    profile = compiled(lawful_book(tmp_path)).law
    assert profile is not None
    assert (profile.code, profile.label, profile.tax_in_price, profile.reviewed) == ("plain", "quotation", True, "")
    assert (profile.excess.share, profile.excess.of, profile.excess.starts_at) == (Decimal("0.05"), "gross", False)
    assert (profile.consent.how, profile.consent.number) == (("counter", "phone"), True)
    assert profile.minimum_validity_days == 14
    assert profile.notices == (
        LawNotice("data-loss", True, "always", {"en": "Data may be lost.", "de": "Daten können verloren gehen."}),
        LawNotice("ceiling", False, "parts", {"en": "No more than this."}),
    )


DIGEST_BEFORE_LAW = "998fe12194e98d56e7795a0d91f5961f1e13940dbc67e05a29db31c02e3ce543"
"""Of the small book, worked out by the version of the program that knew no law profiles."""


@pytest.mark.parametrize(
    "change", [saved("law/unnamed.toml", PLAIN), replaced("book.toml", "[shop]", '[shop]\ncontact = ""\nhandover = ""')]
)
def test_the_digest_of_a_book_without_a_law_profile_is_what_it_was(tmp_path: Path, change: Change):
    """Whatever lies beside it, and with new settings that are blank."""
    book = open_book(written(files_with(change), tmp_path))
    assert book.digest == DIGEST_BEFORE_LAW
    assert book.law is None


DIFFERENCES = [
    law('"14"', '"15"'),
    law("Data may be lost.", "Your data may be lost."),
    law("must_be_told = true", "must_be_told = false"),
    law('code = "plain"', 'code = "plain"\nreviewed = "an adviser, 2026"'),
    law('when = "parts"\n', ""),
]


@pytest.mark.parametrize("change", DIFFERENCES)
def test_what_a_profile_says_is_part_of_the_digest_and_of_the_comparison(tmp_path: Path, change: Change):
    """One difference each."""
    old = lawful_book(tmp_path / "old")
    new = read_folder(written(files_with(change), tmp_path / "new"))
    assert compiled(old).digest != compiled(new).digest
    (difference,) = compare(old, new)
    assert difference.table == FILE


def test_numbers_that_are_written_differently_are_no_difference(tmp_path: Path):
    """0.05 and 0.050 are one share, and an absent `when` is always."""
    old = lawful_book(tmp_path / "old")
    new = lawful_book(
        tmp_path / "new",
        replaced(FILE, '"0.05"', "0.050"),
        replaced(FILE, "must_be_told = true", 'must_be_told = true\nwhen = "always"'),
    )
    assert compiled(old).digest == compiled(new).digest
    assert compare(old, new) == ()


def test_a_profile_that_comes_or_goes_is_told_setting_by_setting(tmp_path: Path):
    """And a notice as a whole, like a row."""
    without, with_law = read_folder(written(files_with(), tmp_path / "a")), lawful_book(tmp_path / "b")
    told = {change.key: change for change in compare(without, with_law)}
    assert told["law_profile"].new == "plain"
    assert told["notices.ceiling"].kind == "added"
    assert "No more than this." in (told["notices.ceiling"].new or "")
    assert {change.kind for change in compare(with_law, without)} == {"removed"}


def test_a_profile_that_is_no_longer_named_counts_for_nothing(tmp_path: Path):
    """A draft keeps its lines, in case it is named again."""
    draft = draft_of(lawful_book(tmp_path))
    without, _ = edited(draft, [Edit(do="delete", table="book.toml", key="law_profile")])
    raw = raw_of(without)
    assert raw.law
    assert flaws(raw) == []
    assert compiled(raw).digest == DIGEST_BEFORE_LAW
    assert compare(read_folder(written(files_with(), tmp_path / "plain")), raw) == ()
    assert not any(name.startswith("law/") for name in zipfile.ZipFile(io.BytesIO(to_zip(raw))).namelist())


def through_draft(raw: RawBook) -> RawBook:
    """Kept as a draft."""
    return raw_of(draft_from(json.loads(json.dumps(draft_data(draft_of(raw))))))


def through_store(raw: RawBook) -> RawBook:
    """Kept as a version."""
    return raw_of_text(text_of_raw(raw))


TRIPS: list[Callable[[RawBook], RawBook]] = [
    through_draft,
    through_store,
    lambda raw: from_zip(to_zip(raw)),
    lambda raw: from_xlsx(to_xlsx(raw)),
]


@pytest.mark.parametrize("trip", TRIPS, ids=["draft", "store", "zip", "xlsx"])
@pytest.mark.parametrize("name", PROFILES)
def test_a_profile_comes_back_to_the_letter(name: str, trip: Callable[[RawBook], RawBook], tmp_path: Path):
    """Its truths, its list of ways to consent and its texts in every script."""
    content = (RATES / "law" / f"{name}.toml").read_text(encoding="utf-8")
    raw = lawful_book(tmp_path, replaced("book.toml", 'law_profile = "plain"', f'law_profile = "{name}"'))
    raw = replace(raw, law=read_law_file(content, tmp_path), flaws=())
    back = trip(raw)
    assert (back.law, back.settings, back.flaws) == (raw.law, raw.settings, ())


def read_law_file(content: str, folder: Path) -> Any:
    """The text of a profile as a folder gives it."""
    return lawful_book(folder / "other", saved(FILE, content)).law


def test_what_was_kept_before_there_were_law_profiles_is_opened(tmp_path: Path):
    """A draft with two documents, and a version of two files."""
    raw = read_folder(written(files_with(), tmp_path))
    data = draft_data(draft_of(raw))
    del data["files"]["law"]
    old_draft = raw_of(draft_from(data))
    content = json.loads(text_of_raw(raw))
    assert "law" not in content
    old_version = raw_of_text(json.dumps(content))
    for opened_again in (old_draft, old_version):
        assert opened_again.law == {}
        assert compiled(opened_again).digest == DIGEST_BEFORE_LAW


def test_a_workbook_without_the_sheet_of_a_profile_that_it_names_is_one_flaw(tmp_path: Path):
    """It is the sheet that is missing, and not each of its settings."""
    raw = lawful_book(tmp_path)
    before = from_xlsx(to_xlsx(replace(raw, settings={**raw.settings, "law_profile": ""})))
    assert before.law == {}
    assert before.flaws == ()
    named = replace(before, settings={**before.settings, "law_profile": "plain"}, law=raw.law)
    content = to_xlsx(named)
    flaw = the_one(flaws(from_xlsx(without_sheet(content, "law"))))
    assert (flaw.table, flaw.message) == (FILE, "sheet law: it is missing")


def without_sheet(content: bytes, name: str) -> bytes:
    """The workbook with one sheet less, as a spreadsheet program saves it."""
    workbook = openpyxl.load_workbook(io.BytesIO(content))
    del workbook[name]
    saved_again = io.BytesIO()
    workbook.save(saved_again)
    return saved_again.getvalue()


def test_a_flaw_of_a_law_profile_has_its_cell_in_a_workbook(tmp_path: Path):
    """As those of the tax profile have."""
    found = opened(to_xlsx(lawful_book(tmp_path, replaced(FILE, '"gross"', '"total"'))))
    flaw = the_one(flaws(found.raw))
    assert re.fullmatch(r"law!B\d+", found.places.of(flaw))


@pytest.mark.parametrize(
    ("change", "column"),
    [
        (replaced(FILE, '"0.05"', '"0.5"'), "excess.share"),
        (replaced(FILE, '"14"', '"2"'), "minimum_validity_days"),
        (replaced(FILE, '"0.05"', '"0.06"'), None),
    ],
)
def test_a_slip_of_the_decimal_point_is_warned_of(tmp_path: Path, change: Change, column: str | None):
    """As in every other number of a book."""
    old, new = (compiled(lawful_book(tmp_path / name, *more)) for name, more in (("old", ()), ("new", (change,))))
    assert [(each.table, each.column) for each in far_numbers(new, old)] == ([(FILE, column)] if column else [])
    without = open_book(written(files_with(), tmp_path / "without"))
    assert list(far_numbers(new, without)) == []


@pytest.mark.parametrize(
    ("when", "condition", "count"),
    [("used_parts", "", 3), ("used_parts", "used", 2), ("parts", "", 0), ("always", "", 0)],
)
def test_parts_that_do_not_say_whether_they_are_new_are_warned_of(
    tmp_path: Path, when: str, condition: str, count: int
):
    """Once for all, where customers must be told of those that are not."""
    table = files_with()["parts.csv"]
    assert isinstance(table, str)
    header, first, *rest = table.splitlines()
    column = saved(
        "parts.csv", "\n".join([f"{header},condition", f"{first},{condition}", *(f"{row}," for row in rest)])
    )
    book = compiled(lawful_book(tmp_path, replaced(FILE, 'when = "parts"', f'when = "{when}"'), column))
    found = [each for each in warnings(book, None, TODAY, with_prices=False) if each.column == "condition"]
    assert [each.message.split()[0] for each in found] == [str(count)] * bool(count)
    assert all(each.table == "parts" for each in found)


# the profiles that come along, each switch against the line that it comes from

TAX_OF = {"european-union": "ireland", "utah": "california"}
"""Whose tax rules go with a law profile that has none of its own name."""


def profile(name: str) -> LawProfile:
    """A profile in the demo book of euro, with the tax profile of its place."""
    raw = read_folder(RATES / "ballyquarn")
    tax = TAX_OF.get(name, name)
    settings = {**raw.settings, "law_profile": name, "tax_profile": tax}
    tax_rules, rules = _document(RATES / "tax" / f"{tax}.toml"), _document(RATES / "law" / f"{name}.toml")
    found = compiled(replace(raw, settings=settings, tax=tax_rules, law=rules)).law
    assert found is not None
    return found


def _document(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def notice(name: str, code: str) -> LawNotice:
    """A notice of a profile."""
    (found,) = (each for each in profile(name).notices if each.code == code)
    return found


@pytest.mark.parametrize("name", PROFILES)
def test_every_profile_that_comes_along_is_valid_and_unreviewed(name: str):
    """With its own name, a source that says when, and the request to have it reviewed."""
    found = profile(name)
    assert (found.code, found.reviewed) == (name, "")
    assert re.search(r"\b(19|20)\d\d\b", found.source)
    assert "to be reviewed by a legal adviser" in found.source
    content = (RATES / "law" / f"{name}.toml").read_text(encoding="utf-8")
    assert "A TEMPLATE" in content
    assert re.search(
        r"\[(read|second hand|memory|judgement)\]", content.partition("\ncode = ")[0].partition("#\n# ")[2]
    )


@pytest.mark.parametrize("name", PROFILES)
def test_every_notice_speaks_all_languages_in_their_own_words(name: str):
    """One text each, in no two languages the same, short enough to be read."""
    notices = profile(name).notices
    assert set(NOTICE_CODES) - {"form"} <= {each.code for each in notices}
    for each in notices:
        assert set(each.texts) == LANGUAGES
        assert len(set(each.texts.values())) == len(LANGUAGES)
        assert all(10 < len(text) < 240 for text in each.texts.values())
        assert re.search("[\u0600-\u06ff]", each.texts["ar"])
        assert re.search("[\u3040-\u30ff]", each.texts["ja"])


@pytest.mark.parametrize("name", PROFILES)
def test_a_figure_in_a_text_is_the_figure_of_the_profile(name: str):
    """Whoever changes the share finds that its texts name it."""
    found = profile(name)
    for text in notice(name, "ceiling").texts.values():
        figures = re.findall(r"\d+", text)
        assert [Decimal(figure) / 100 for figure in figures] == [found.excess.share] * bool(found.excess.share)


# name, label, tax in the price, least days, share, of, from that share on, number recorded, and the source
SWITCHES = [
    # Directive (EU) 2024/1799: 30 days; Directive 2011/83/EU arts 5, 6: total price with taxes
    ("european-union", "quotation", True, 30, "0", "gross", False, False),
    ("ireland", "quotation", True, 30, "0", "gross", False, False),
    # Consumer Rights Act 2015 s 50: what was said binds; DMCC Act 2024: total price with taxes
    ("united-kingdom", "quotation", True, 0, "0", "gross", False, False),
    # BGB s 649: an estimate; a substantial excess, from 10 % in the literature, must be told
    ("germany", "estimate", True, 0, "0.10", "gross", False, False),
    # 16 CCR 2722: written estimate, no charge above it, the number is noted, sales tax is no part of it
    ("california", "estimate", False, 0, "0", "net", False, True),
    # Utah R152-11-5: a new authorisation where the extra is 10 % or more, without tax
    ("utah", "estimate", False, 0, "0.10", "net", True, False),
    # no rule found: cautious common practice
    ("wisconsin", "estimate", False, 0, "0", "net", False, True),
    # Australian Consumer Law s 48: total price
    ("australia", "quotation", True, 0, "0", "gross", False, False),
    # Consumer Guarantees Act 1993 ss 28-31
    ("new-zealand", "quotation", True, 0, "0", "gross", False, False),
    # Quebec CPA ss 168, 183: the accepted amount is a ceiling; duties are shown beside it
    ("quebec", "quotation", False, 0, "0", "net", False, False),
]


@pytest.mark.parametrize(("name", "label", "with_tax", "days", "share", "of", "starts_at", "number"), SWITCHES)
def test_the_switches_of_a_profile_are_those_of_its_sources(
    name: str, label: str, with_tax: bool, days: int, share: str, of: str, starts_at: bool, number: bool
):
    """The source of each line stands above it."""
    found = profile(name)
    assert (found.label, found.tax_in_price, found.minimum_validity_days) == (label, with_tax, days)
    assert (found.excess.share, found.excess.of, found.excess.starts_at) == (Decimal(share), of, starts_at)
    assert found.consent.number is number


def test_there_is_a_line_for_each_profile():
    """Above."""
    assert sorted(line[0] for line in SWITCHES) == PROFILES


@pytest.mark.parametrize(
    ("name", "code", "must_be_told", "when"),
    [
        ("australia", "data-loss", True, "always"),  # ACCC, repair notices: before the device is accepted
        ("australia", "parts-condition", True, "used_parts"),  # ACCC, repair notices: refurbished parts
        ("germany", "diagnosis-fee", True, "diagnosis"),  # BGB s 632(3): agreed individually beforehand
        ("california", "diagnosis-fee", True, "diagnosis"),  # 16 CCR 2723: allowed where provided in writing
        ("ireland", "diagnosis-fee", True, "diagnosis"),  # Directive (EU) 2024/1799: its cost is told before
        ("quebec", "diagnosis-fee", True, "diagnosis"),  # CPA s 168: a fee only if told before
        ("quebec", "parts-condition", False, "parts"),  # CPA s 185: the bill says it of every part
        ("utah", "diagnosis-fee", True, "diagnosis"),  # R152-11-5: charge for re-assembly told before
        ("united-kingdom", "statutory-rights", False, "always"),  # Consumer Rights Act 2015 s 57
        ("ireland", "form", False, "always"),  # Directive (EU) 2024/1799 annex I
    ],
)
def test_what_must_be_told_is_what_the_source_wants_told(name: str, code: str, must_be_told: bool, when: str):
    """Before the quote is issued, and about which jobs."""
    found = notice(name, code)
    assert (found.must_be_told, found.when) == (must_be_told, when)


@pytest.mark.parametrize(("book", "name"), [("ballyquarn", "ireland"), ("peddrick-mills", "wisconsin")])
def test_a_demo_book_names_the_profile_of_its_place(book: str, name: str):
    """And what its shop says beside it."""
    found = open_book(RATES / book)
    assert found.law is not None
    assert found.law.code == name
    assert found.policy.diagnosis_procedures == ("diagnosis",)
    assert all((found.shop.contact, found.shop.handover, found.shop.loan_device))


def test_the_small_book_has_no_law():
    """The tests above begin with a book as all were before."""
    assert not any("law" in name or "law_profile" in content for name, content in SMALL_BOOK.items())
