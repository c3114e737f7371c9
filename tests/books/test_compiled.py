"""What is compiled: immutable, in the owner's order, with the values of the files, and a digest of what they say."""

import dataclasses
import datetime as dt
from collections.abc import Callable, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from books.conftest import SMALL_BOOK, Change, all_of, cell, files_with, replaced, saved, written
from books.test_files import without_column
from quoter.book import Band, Component, CustomerRule, PriceEnding, RateBook, Reclass
from quoter.books.compile import compiled, digest, normal_quantile, open_book
from quoter.books.raw import RawBook
from quoter.books.reading import read
from quoter.money import Currency
from quoter.problems import BookFlawed


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> RateBook:
    """The small book, compiled."""
    return open_book(written(files_with(), tmp_path_factory.mktemp("compiled")))


ROWS = [(name, table) for name, table in SMALL_BOOK.items() if name.endswith(".csv")]


def test_a_book_has_the_values_of_its_settings(book: RateBook):
    """As they stand in the file, shares as fractions."""
    assert (book.code, book.title, book.locale, book.currency) == ("small", "Small book", "en-IE", Currency("EUR", 2))
    assert (book.shop.name, book.shop.address, book.shop.timezone) == ("Test bench", "", "Europe/Dublin")
    policy = book.policy
    assert (policy.confidence, policy.allowance, policy.bench_rate) == (Decimal("0.8"), Decimal("0.1"), Decimal(3))
    assert (policy.validity_days, policy.max_discount, policy.risk_loading) == (30, Decimal("0.1"), Decimal("1.25"))
    assert policy.price_ending == PriceEnding("up", Decimal(1), Decimal("0.05"))
    assert policy.fx == {"USD": Decimal("0.88")}
    assert policy.parts_markup == (
        Band(Decimal(20), Decimal("0.5")),
        Band(Decimal(80), Decimal("0.3")),
        Band(None, Decimal("0.1")),
    )


def test_a_book_has_the_values_of_its_tax_profile(book: RateBook):
    """With the defaults of what is absent."""
    tax = book.tax
    assert (tax.display, tax.stage, tax.mode, tax.combined) == ("inclusive", "rate", "half-up", True)
    assert (tax.cash_increment, tax.cash_mode) == (Decimal("0.05"), "half-up")
    assert tax.codes["none"] == ()
    assert tax.codes["standard"][1] == Component("VAT", Decimal("0.21"), dt.date(2020, 1, 1))
    assert tax.lines["disposal"] == "none"
    assert tax.customers == {"exempt": CustomerRule("none", "Exempt")}
    assert tax.reclass == (
        Reclass("part_share", Decimal("0.5"), ("labour", "bench"), "standard"),
        Reclass("any_part", Decimal(0), ("disposal",), "standard"),
    )


def test_a_book_has_the_values_of_its_rows(book: RateBook):
    """Lists as tuples, pairs as pairs, blanks as what a blank means."""
    assert book.parts["B1"].devices == ("slate", "wrist")
    assert (book.parts["B1"].currency, book.parts["S1"].currency, book.parts["S2"].freight) == (None, "USD", Decimal(0))
    assert book.findings["swollen"].replaces == (("warm", "cold-open"), ("open", "cold-open"))
    assert [finding.stops for finding in book.findings.values()] == [False, True, False]
    assert (book.findings["bent"].warranty, book.findings["bent"].procedures) == (None, ())
    assert book.steps["close"].dwell == Decimal(1)
    assert book.warranties["year"].covers == ("part", "labour")
    assert book.cautions["hot"].text == "The mat is hot, and stays so"


def test_what_is_asked_for_often_is_indexed_in_the_order_of_the_tables(book: RateBook):
    """The first part that fits is the preferred one."""
    assert [part.sku for part in book.parts_for("slate", "screen")] == ["S1", "S2"]
    assert book.parts_for("wrist", "screen") == ()
    assert book.slots == ("battery", "screen", "seal")
    assert book.grades == ("genuine", "compatible")
    assert book.offered["slate"]["screen"].difficulty == "hard"
    assert book.offered["slate"]["battery"].difficulty == "easy"
    assert book.offered["slate"]["screen"].extra_steps == ("warm",)
    assert [price.net for price in book.menu_by_repair["slate", "battery"]] == [Decimal(49)]
    assert [use.row for use in book.usage_by_step["open"]] == [1]


def test_a_device_that_a_part_names_twice_is_fitted_once(raw_with: Callable[..., RawBook]):
    """A slip that changes nothing."""
    book = compiled(raw_with(cell("parts", 3, "devices", "slate slate")))
    assert [part.sku for part in book.parts_for("slate", "screen")] == ["S1", "S2"]


def test_rows_keep_their_order_and_their_rank(tmp_path: Path):
    """Turned round, they come out turned round."""
    changes = [saved(name, _turned(text)) for name, text in ROWS]
    turned = open_book(written(files_with(*changes), tmp_path))
    assert list(turned.steps) == [line.partition(",")[0] for line in SMALL_BOOK["steps.csv"].splitlines()[:0:-1]]
    assert [step.rank for step in turned.steps.values()] == list(range(len(turned.steps)))
    assert [(each.code, each.rank) for each in turned.difficulties.values()] == [("hard", 0), ("easy", 1)]
    assert [part.sku for part in turned.parts_for("slate", "screen")] == ["S2", "S1"]
    assert list(turned.offers) == [("wrist", "clean"), ("slate", "screen"), ("slate", "battery")]
    assert turned.grades == ("compatible", "genuine")


def _turned(text: str) -> str:
    header, *rows = text.splitlines()
    return "\n".join([header, *reversed(rows)]) + "\n"


def parts_of(value: Any) -> list[Any]:
    """A value and all that it holds, however deep; the memory is meant to change."""
    if dataclasses.is_dataclass(value):
        names = [field.name for field in dataclasses.fields(value) if field.name != "memory"]
        return [value, *(part for name in names for part in parts_of(getattr(value, name)))]
    if isinstance(value, Mapping):
        return [value, *(part for item in value.items() for each in item for part in parts_of(each))]
    if isinstance(value, tuple):
        return [value, *(part for item in value for part in parts_of(item))]
    return [value]


IMMUTABLE = (str, Decimal, int, bool, dt.date, type(None), tuple)


def test_a_compiled_book_cannot_be_changed(book: RateBook):
    """Every mapping is read-only, every dataclass frozen, and nothing else is in it."""
    parts = parts_of(book)
    assert len(parts) > 400
    for part in parts:
        if isinstance(part, Mapping):
            with pytest.raises(TypeError):
                part["new"] = 1  # type: ignore[index]
        elif dataclasses.is_dataclass(part):
            with pytest.raises(dataclasses.FrozenInstanceError):
                setattr(part, dataclasses.fields(part)[0].name, 1)
        else:
            assert isinstance(part, IMMUTABLE), type(part)


def test_a_book_with_a_flaw_is_not_compiled(raw_with: Callable[..., RawBook]):
    """All its flaws are in the refusal."""
    raw = raw_with(cell("steps", 2, "low", "x"), cell("steps", 3, "low", "y"))
    with pytest.raises(BookFlawed) as refused:
        compiled(raw)
    assert [flaw.row for flaw in refused.value.flaws] == [2, 3]
    assert str(refused.value).count("\n") == 1


@pytest.mark.parametrize(
    ("share", "quantile"),
    [("0.5", "0"), ("0.8", "0.841621"), ("0.9", "1.281552"), ("0.95", "1.644854"), ("0.975", "1.959964")],
)
def test_the_quantile_of_the_normal_distribution(share: str, quantile: str):
    """Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1, the table read backwards."""
    assert round(normal_quantile(Decimal(share)), 6) == Decimal(quantile)


def test_the_quantile_of_the_largest_share_that_can_be_written_is_finite():
    """One less than 1 in the sixteenth place."""
    assert 8 < normal_quantile(Decimal("0." + "9" * 16)) < 9


def reordered(text: str) -> str:
    """A table with its columns in the opposite order; its cells must have no commas."""
    return "".join(",".join(reversed(line.split(","))) + "\n" for line in text.splitlines())


SAME = [
    ("a zero more", cell("parts", 2, "cost", "12.500")),
    ("a zero less", replaced("book.toml", 'bench_rate = "3"', 'bench_rate = "3.00"')),
    ("a bare number", replaced("book.toml", 'confidence = "0.8"', "confidence = 0.80")),
    ("a rate of exchange", replaced("book.toml", '"0.88"', '"0.8800"')),
    ("a band", replaced("book.toml", 'upto = "80"', "upto = 80.0")),
    ("a tax rate", replaced("tax/plain.toml", 'rate = "0.20"', "rate = 0.2")),
    ("a bare day", replaced("tax/plain.toml", '"2020-01-01"', "2020-01-01")),
    ("minus zero", cell("findings", 4, "chance", "-0")),
    ("columns", saved("steps.csv", reordered(SMALL_BOOK["steps.csv"]))),
    ("blank rows", replaced("steps.csv", "\nopen", "\n\n,,,,,,,,,\nopen")),
    ("spaces", saved("parts.csv", SMALL_BOOK["parts.csv"].replace(",", " , "))),
    ("spaces in a list", cell("parts", 2, "devices", " slate   wrist ")),
    ("line ends", saved("steps.csv", SMALL_BOOK["steps.csv"].replace("\n", "\r\n"))),
    ("quotes", saved("usage.csv", SMALL_BOOK["usage.csv"].replace("tape", '"tape"'))),
    ("a default in words", cell("findings", 4, "chance", "0")),
    ("a default time factor", cell("findings", 3, "time_factor", "1.0")),
    ("a default key", replaced("tax/plain.toml", "combined = true", 'combined = true\ncash_mode = "half-up"')),
    ("a blank key", replaced("book.toml", "[labour]", 'address = ""\n[labour]')),
    ("the order of keys", replaced("book.toml", 'mode = "up"\nunit = "1"', 'unit = "1"\nmode = "up"')),
    ("a comment", replaced("book.toml", "[labour]", "# hands\n[labour]")),
    ("the case of the locale", replaced("book.toml", '"en-IE"', '"EN-ie"')),
]


@pytest.mark.parametrize("change", [pytest.param(change, id=name) for name, change in SAME])
def test_the_digest_does_not_hang_on_how_a_book_is_written(raw_with: Callable[..., RawBook], change: Change, book):
    """The same book, in another hand."""
    assert compiled(raw_with(change)).digest == book.digest


CHANGED = [
    *(cell("difficulty", 2, "skill", "layman"), cell("devices", 2, "kind", "tablet")),
    *(cell("procedures", 4, "warranty", ""), cell("offers", 3, "extra_steps", "")),
    *(cell("steps", 2, "high", "5.0000000001"), cell("usage", 2, "quantity", "1.2")),
    *(cell("consumables", 2, "increment", ""), cell("parts", 2, "devices", "wrist slate")),
    *(cell("menu", 3, "grade", "genuine"), cell("findings", 2, "emerges", "")),
    *(cell("findings", 2, "replaces", "open:cold-open warm:cold-open"), cell("warranty", 2, "days", "366")),
    *(cell("cautions", 2, "text", "The mat is hot"), cell("cautions", 3, "source", "-")),
    *(saved(name, _turned(text)) for name, text in ROWS),
    *(replaced("book.toml", key, new) for key, new in (("Small book", "small book"), ("Dublin", "London"))),
    replaced("book.toml", 'USD = "0.88"', 'USD = "0.88"\nGBP = "1.2"'),
    replaced("book.toml", 'rate = "0.1"\n', 'upto = "99"\nrate = "0.1"\n[[parts.markup]]\nrate = "0.1"\n'),
    replaced("tax/plain.toml", "combined = true", "combined = false"),
    replaced("tax/plain.toml", "invented, 2026", "invented, 2027"),
    replaced("tax/plain.toml", "2020-01-01", "2020-01-02"),
    replaced("tax/plain.toml", 'disposal = "none"', 'disposal = "standard"'),
    replaced("tax/plain.toml", 'reason = "Exempt"', 'reason = "Export"'),
    replaced("tax/plain.toml", '["labour", "bench"]', '["bench", "labour"]'),
    replaced("tax/plain.toml", 'above = "0.5"', 'above = "0.51"'),
]


def test_the_digest_changes_with_every_value_and_with_the_order_of_rows(tmp_path_factory, book: RateBook):
    """Each change gives a digest of its own."""
    digests = [book.digest]
    for change in CHANGED:
        digests.append(open_book(written(files_with(change), tmp_path_factory.mktemp("changed"))).digest)
    assert len(set(digests)) == len(CHANGED) + 1


def test_the_digest_of_a_book_with_flaws_is_one_of_what_could_be_read(raw_with: Callable[..., RawBook], book: RateBook):
    """A draft has one, too, and it is never a sound book's."""
    raw = raw_with(all_of(cell("steps", 2, "low", "x"), saved("tax/plain.toml", "")))
    flawed = digest(read(raw))
    assert len(flawed) == len(book.digest) == 64
    assert flawed != book.digest


def test_a_column_that_is_missing_is_no_blank_column(raw_with: Callable[..., RawBook]):
    """Its values are not known, so there is no book."""
    with pytest.raises(BookFlawed):
        compiled(raw_with(saved("menu.csv", without_column(SMALL_BOOK["menu.csv"], "grade"))))
