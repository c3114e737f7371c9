"""Every kind of fault in book.toml: the one flaw that comes of it, at its dotted key."""

from collections.abc import Callable

import pytest

from books.conftest import Change, added, replaced, saved, the_one
from quoter.problems import Flaw

MISSING = "must be given"
UNKNOWN = "there is no such setting"
NO_TABLE = "not a table"
NO_TEXT = "not text"
NO_NUMBER = "not a number"
RANGE = "out of range"


def book(old: str, new: str) -> Change:
    """Something else in book.toml."""
    return replaced("book.toml", old, new)


VALUES = [
    (book('code = "small"\n', ""), "code", "", MISSING, "names the book"),
    (book('"small"', '" "'), "code", "", MISSING, "names the book"),
    (book('"small"', '"a b"'), "code", "a b", "not a code", "without spaces"),
    (book('"Small book"', '["Small", "book"]'), "title", "[…]", NO_TEXT, 'title = "…"'),
    (book('"Small book"', "{en = 1}"), "title", "{…}", NO_TEXT, 'title = "…"'),
    (book('"Small book"', "true"), "title", "true", NO_TEXT, 'title = "…"'),
    (book('"EUR"', '"eur"'), "currency", "eur", "not an ISO 4217 currency", "EUR"),
    (book('"EUR"', '"EURO"'), "currency", "EURO", "not an ISO 4217 currency", "such as EUR"),
    (book('"EUR"', '"XXX"'), "currency", "XXX", "not an ISO 4217 currency", "such as EUR"),
    (book('"EUR"', '"978"'), "currency", "978", "not an ISO 4217 currency", "such as EUR"),
    (book('"en-IE"', '"en_IE"'), "locale", "en_IE", "not a language tag", "en-IE"),
    (book('"en-IE"', '"english"'), "locale", "english", "not a language tag", "en-IE"),
    (book('"en-IE"', '"en-IE-"'), "locale", "en-IE-", "not a language tag", "en-IE"),
    (book('"en-IE"', '"en-Ireland-"'), "locale", "en-Ireland-", "not a language tag", "en-IE"),
    (book('"plain"', '"plane"'), "tax_profile", "plane", "no such tax profile", "perhaps plain"),
    (book('"plain"', '"../x"'), "tax_profile", "../x", "no such tax profile", "has plain"),
    (book('"plain"', '"../tax/plain"'), "tax_profile", "../tax/plain", "no such tax profile", "has plain"),
    (book('"plain"', '"/etc/passwd"'), "tax_profile", "/etc/passwd", "no such tax profile", "has plain"),
    (book('"plain"', '"a b"'), "tax_profile", "a b", "not a code", "without spaces"),
    (book('"plain"', '["plain"]'), "tax_profile", "[…]", NO_TEXT, "tax_profile"),
    (book('"plain"', '""'), "tax_profile", "", MISSING, "NAME of tax/NAME.toml"),
    (book('"Test bench"', '""'), "shop.name", "", MISSING, "printed on quotes"),
    (book("Europe/Dublin", "Europe/Dubln"), "shop.timezone", "Europe/Dubln", "not a time zone", "Europe/Dublin"),
    (book("Europe/Dublin", "../UTC"), "shop.timezone", "../UTC", "not a time zone", "UTC"),
    (book('confidence = "0.8"', 'confidence = "1"'), "labour.confidence", "1", RANGE, "from 0.5 to below 1"),
    (book('confidence = "0.8"', "confidence = 0.4"), "labour.confidence", "0.4", RANGE, "from 0.5 to below 1"),
    (book('confidence = "0.8"', "confidence = nan"), "labour.confidence", "nan", NO_NUMBER, "digits"),
    (book('allowance = "0.1"', "allowance = 1e5"), "labour.allowance", "1e5", NO_NUMBER, "such as 100000"),
    (book('increment_minutes = "5"', "increment_minutes = 0"), "labour.increment_minutes", "0", RANGE, "above 0"),
    (book('bench_rate = "3"', "bench_rate = -3"), "labour.bench_rate", "-3", RANGE, "from 0"),
    (book('markup = "0.4"', "markup = 2026-01-01"), "consumables.markup", "2026-01-01", NO_NUMBER, "digits"),
    (book('loading = "1.25"', "loading = false"), "risk.loading", "false", NO_TEXT, 'loading = "…"'),
    (book('max_discount = "0.1"', 'max_discount = "10 %"'), "policy.max_discount", "10 %", NO_NUMBER, "such as 0.1"),
    (book('validity_days = "30"', "validity_days = 30.5"), "policy.validity_days", "30.5", "whole number", "0 to 3650"),
    (book('deposit_rate = "0.25"', "deposit_rate = 25"), "policy.deposit_rate", "25", RANGE, "from 0 to 1"),
    (book('mode = "up"', 'mode = "upp"'), "policy.price_ending.mode", "upp", "not one of", "none, up, down, nearest"),
    (book('unit = "1"', 'unit = "0"'), "policy.price_ending.unit", "0", RANGE, "above 0"),
    (book('minus = "0.05"', "minus = -0.05"), "policy.price_ending.minus", "-0.05", RANGE, "from 0"),
    (book("USD =", "usd ="), "fx.usd", "usd", "not an ISO 4217 currency", "USD"),
    (book('USD = "0.88"', "USD = 0"), "fx.USD", "0", RANGE, "above 0"),
    (book('USD = "0.88"', 'USD = ""'), "fx.USD", "", MISSING, "for one unit"),
    (book('USD = "0.88"', "USD = {x = 1}"), "fx.USD", "{…}", NO_TEXT, 'USD = "…"'),
]

LABOUR = """\
[labour]
confidence = "0.8"
allowance = "0.1"
increment_minutes = "5"
bench_rate = "3"
"""

SHAPES = [
    (book('[shop]\nname = "Test bench"\ntimezone = "Europe/Dublin"', 'shop = "x"'), "shop", "x", NO_TABLE, "[shop]"),
    (book("[shop]", "[[shop]]"), "shop", "[…]", NO_TABLE, "[shop] with name, timezone"),
    (
        book(LABOUR, ""),
        "labour",
        "",
        "the section is missing",
        "[labour] with confidence, allowance",
    ),
    (book("[labour]", "[labor]"), "labor", "", UNKNOWN, "perhaps labour"),
    (book("[fx]", "[[fx]]"), "fx", "[…]", NO_TABLE, "[fx] with CODE = rate"),
    (
        book("[policy.price_ending]", "[policy.price_endings]"),
        "policy.price_endings",
        "",
        UNKNOWN,
        "policy.price_ending",
    ),
    (book("title =", "titel ="), "titel", "", UNKNOWN, "perhaps title"),
    (book("title =", '"" = 1\ntitle ='), '""', "", UNKNOWN, "leave it out"),
    (book("title =", '"shop.name" = 1\ntitle ='), "shop.name", "", UNKNOWN, "perhaps shop.name"),
    (book("express_rate =", "expres_rate ="), "policy.expres_rate", "", UNKNOWN, "perhaps policy.express_rate"),
    (book("[shop]", "minimum_net = 5\n[shop]"), "minimum_net", "", UNKNOWN, "perhaps policy.minimum_net"),
    (book("[shop]", "[shop]\nhours = {from = 9, to = 5}"), "shop.hours", "", UNKNOWN, ""),
    (added("book.toml", "[opening]\nmonday = 1\nfriday = 2\n"), "opening", "", UNKNOWN, "leave it out"),
]

BANDS = [
    (book('upto = "80"', 'upto = "20"'), "parts.markup 2.upto", "20", "bands must ascend", "above 20"),
    (book('upto = "80"', 'upto = "19.99"'), "parts.markup 2.upto", "19.99", "bands must ascend", "above 20"),
    (book('upto = "80"\n', ""), "parts.markup 2.upto", "", "only the last band may be without upto", "top"),
    (book('upto = "80"', 'upto = ""'), "parts.markup 2.upto", "", "only the last band may be without upto", "top"),
    (book('upto = "80"', 'upto = "x"'), "parts.markup 2.upto", "x", NO_NUMBER, "digits"),
    (book('upto = "80"', 'up_to = "80"'), "parts.markup 2.up_to", "", UNKNOWN, "perhaps upto"),
    (
        book('rate = "0.1"\n', 'rate = "0.1"\nupto = "99"\n'),
        "parts.markup 3.upto",
        "99",
        "must have no upto",
        "add a band",
    ),
    (book('"80"\nrate = "0.3"', '"80"\nrate = "-0.3"'), "parts.markup 2.rate", "-0.3", RANGE, "from 0"),
    (book('"80"\nrate = "0.3"', '"80"'), "parts.markup 2.rate", "", MISSING, "markup on the slice"),
    (book('"80"\nrate = "0.3"', '"80"\nrate = ["0.3"]'), "parts.markup 2.rate", "[…]", NO_TEXT, 'rate = "…"'),
]


@pytest.mark.parametrize(("change", "column", "value", "message", "suggestion"), [*VALUES, *SHAPES, *BANDS])
def test_a_fault_in_the_settings_is_one_flaw_at_its_key(
    flaws_with: Callable[..., list[Flaw]], change: Change, column: str, value: str, message: str, suggestion: str
):
    """A section or a misspelt key speaks for all that hangs on it."""
    flaw = the_one(flaws_with(change))
    assert (flaw.table, flaw.row, flaw.column, flaw.value) == ("book.toml", None, column, value)
    assert message in flaw.message
    assert suggestion in flaw.suggestion


ALL_BANDS = """\
[[parts.markup]]
upto = "20"
rate = "0.5"

[[parts.markup]]
upto = "80"
rate = "0.3"

[[parts.markup]]
rate = "0.1"
"""


@pytest.mark.parametrize(
    ("bands", "column", "message"),
    [
        ("", "parts.markup", MISSING),
        ("parts = 1\n", "fx.parts", "not an ISO 4217 currency"),
        ("[parts]\nmarkup = []\n", "parts.markup", "must not be empty"),
        ('[parts]\nmarkup = "0.5"\n', "parts.markup", "not a list"),
        ("[parts]\nmarkup = {rate = 1}\n", "parts.markup", "not a list"),
        ("[[parts]]\nmarkup = []\n", "parts", NO_TABLE),
        ("[[part.markup]]\nrate = 1\n", "part", UNKNOWN),
        ('[parts]\nmarkup = [{rate = "1"}, "x"]\n', "parts.markup 2", NO_TABLE),
    ],
)
def test_bands_that_are_none_are_flaws_of_the_whole_list(
    flaws_with: Callable[..., list[Flaw]], bands: str, column: str, message: str
):
    """Whatever else stands where the list belongs."""
    found = flaws_with(book(ALL_BANDS, bands))
    assert (column, message) in {(flaw.column, flaw.message) for flaw in found}
    assert len(found) <= 2


@pytest.mark.parametrize(
    "change",
    [
        book('confidence = "0.8"', 'confidence = "0.5"'),
        book('confidence = "0.8"', 'confidence = "0.9999999999999999"'),
        book('validity_days = "30"', "validity_days = 30"),
        book('USD = "0.88"', 'USD = 0.88\nVND = "0.0000371"'),
        book('USD = "0.88"', 'USD = 0.88\nEUR = "1"'),
        book('[policy.price_ending]\nmode = "up"\nunit = "1"\nminus = "0.05"\n', ""),
        book('mode = "up"\nunit = "1"\nminus = "0.05"\n', ""),
        book('unit = "1"', 'unit = "0.333"'),
        book('minimum_net = "20"', 'minimum_net = "20.12345"'),
        book('title = "Small book"', "title = '''Small\nbook'''"),
        book(ALL_BANDS, "[[parts.markup]]\nrate = 0\n"),
        book('"Test bench"', '"Test bench"\naddress = ""\nemail = ""\nphone = ""\ntax_number = ""'),
        *(book('"en-IE"', f'"{tag}"') for tag in ("ga", "ja-JP", "zh-Hant-TW", "es-419", "EN-ie", "de-CH-1996")),
        *(book('"en-IE"', f'"{tag}"') for tag in ("sl-rozaj-biske", "ar-u-nu-latn", "en-x-shop", "zh-yue-HK")),
    ],
)
def test_what_the_settings_may_say_is_no_flaw(flaws_with: Callable[..., list[Flaw]], change: Change):
    """Bare numbers, the other side of boundaries, amounts finer than the currency, tags of RFC 5646's appendix A."""
    assert flaws_with(change) == []


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ('code = "a"\ncode = "b"\n', "not TOML"),
        ("code = small\n", "not TOML"),
        ("[shop\n", "not TOML"),
        ('code = "small\n', "not TOML"),
        ("code = 2026-13-45\n", "not TOML"),
        ("x = " + "9" * 5000, "a number has too many digits"),
        ("x = 0x" + "f" * 5000, "a number has too many digits"),
        ("x = " + "[" * 5000, "nested too deeply"),
        ("x = " + "[" * 20 + "]" * 20, "nested too deeply"),
        ("x" + ".x" * 20 + " = 1", "nested too deeply"),
        ("x" + ".x" * 90_000 + " = 1", "nested too deeply"),
        ('["x"' + '."x"' * 30_000 + "]", "nested too deeply"),
        ("# nothing\n", "the file is empty"),
        ("#" * 200_001, "the file is too large"),
    ],
)
@pytest.mark.parametrize("file", ["book.toml", "tax/plain.toml"])
def test_a_document_that_is_no_toml_is_one_flaw_of_the_file(
    flaws_with: Callable[..., list[Flaw]], file: str, content: str, message: str
):
    """Nothing that it should have said is called missing."""
    flaw = the_one(flaws_with(saved(file, content)))
    assert (flaw.table, flaw.column) == (file, "")
    assert flaw.message.startswith(message)
