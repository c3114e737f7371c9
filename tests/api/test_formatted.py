"""`formatted`: every figure of a price also as text, in the locale asked for and in the shape of the figures."""

import datetime as dt
import re
import shutil
from collections.abc import Callable, Iterator
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import Any

import pytest

from quoter.books.compile import open_book
from quoter.words.formats import Formats, formats_for

from .running import BATTERY, RATES, Caller, Service, a_service

LOCALES = ("en-IE", "de-DE", "ja-JP", "ar-EG", "pl-PL")
BOOKS = {"ballyquarn": ("EUR", 2), "peddrick-mills": ("USD", 2)}
FULL = {
    "device": "kessoway-5",
    "repairs": [{"procedure": "screen"}, {"procedure": "battery"}],
    "findings": ["swollen-cell", "cracked-back"],
    "urgency": "express",
    "discount": {"rate": "0.0725", "reason": "came back"},
    "payment": "cash",
}
"""A job with lines of all sorts."""


@pytest.fixture(scope="module")
def owner(shared: Service) -> Caller:
    """Somebody who sees all."""
    return shared.caller("owner")


def number_in(text: str) -> str:
    """The digits of a text."""
    return "".join(re.findall(r"[0-9]", text))


def amounts(price: Any) -> Iterator[tuple[str, str, str]]:
    """Every amount with the place where its text stands: (place, amount, text)."""
    formatted = price["formatted"]
    for index, line in enumerate(price["lines"]):
        yield f"lines/{index}/net", line["net"], formatted["lines"][index]["net"]
    for index, row in enumerate(price["tax"]):
        for name in ("taxable", "tax"):
            yield f"tax/{index}/{name}", row[name], formatted["tax"][index][name]
    for name, amount in price["totals"].items():
        yield f"totals/{name}", amount, formatted["totals"][name]
    for member in ("contingencies", "alternatives"):
        for index, outcome in enumerate(price[member]):
            for name in {"gross", "difference"} & set(outcome):
                yield f"{member}/{index}/{name}", outcome[name], formatted[member][index][name]
    for name, amount in price["ceiling"].items():
        yield f"ceiling/{name}", amount, formatted["ceiling"][name]


def written(formats: Formats, place: str) -> Callable[[Decimal, str, int], str]:
    """How the amount at a place is written: a difference with its sign."""
    return formats.change if place.endswith("/difference") else formats.money


@pytest.mark.parametrize("locale", LOCALES)
@pytest.mark.parametrize("book", BOOKS)
def test_every_amount_has_its_text(owner: Caller, book: str, locale: str):
    """At the same place, in the currency of the book, with all its decimals."""
    price = owner.post(f"/v1/prices?book={book}", FULL | {"locale": locale}).body
    formats, found = formats_for(locale), list(amounts(price))
    assert price["formatted"]["locale"] == price["locale"] == locale
    assert len(found) > 25
    for place, amount, text in found:
        assert text == written(formats, place)(Decimal(amount), *BOOKS[book]), place
        assert number_in(text) == number_in(amount), place


@pytest.mark.parametrize("locale", LOCALES)
@pytest.mark.parametrize("book", BOOKS)
def test_the_figures_are_the_same_in_every_locale(owner: Caller, book: str, locale: str):
    """Words and text differ, numbers never."""
    path = f"/v1/prices?book={book}"
    here, there = (owner.post(path, FULL | {"locale": each}).body for each in (locale, "en-US"))
    for member in ("totals", "tax", "contingencies", "ceiling", "alternatives", "economics", "time", "plan"):
        assert here[member] == there[member]
    assert [line["net"] for line in here["lines"]] == [line["net"] for line in there["lines"]]


@pytest.mark.parametrize("locale", LOCALES)
def test_lines_show_quantity_unit_price_and_tax_their_rate(owner: Caller, locale: str):
    """Minutes as a duration with the rate book's price of an hour, millilitres with their unit, cents as they are."""
    price, formats = owner.post("/v1/prices", FULL | {"locale": locale}).body, formats_for(locale)
    for line, text in zip(price["lines"], price["formatted"]["lines"], strict=True):
        quantity, decimals = Decimal(line["quantity"]), len(line["unit_price"].partition(".")[2])
        unit = line["unit"]
        shown = formats.minutes(quantity) if unit == "min" else formats.quantity(quantity, unit)
        assert text["quantity"] == shown
        money = formats.money(
            Decimal(hourly(line) or line["unit_price"]), "EUR", 2 if unit == "min" else max(2, decimals)
        )
        assert money in text["unit_price"]
        assert (text["unit_price"] == money) == (unit != "min")
        assert text["description"] == line["description"]
    assert {line["unit"] for line in price["lines"]} >= {"each", "min", "ml"}
    for row, text in zip(price["tax"], price["formatted"]["tax"], strict=True):
        assert text["rate"] == formats.percent(Decimal(row["rate"]))
    assert price["formatted"]["discount"] == formats.percent(Decimal("0.0725"))


def hourly(line: Any) -> str | None:
    """The cell of the rate book that says what an hour costs."""
    cells = line["because"]["inputs"]
    return next((cell["value"] for cell in cells if cell["column"] in ("hourly_rate", "bench_rate")), None)


@pytest.mark.parametrize("locale", LOCALES)
def test_times_and_days_have_their_text(owner: Caller, locale: str):
    """Of the whole, of every step, until the parts are here, and until the price is over."""
    price, formats = owner.post("/v1/prices", FULL | {"locale": locale}).body, formats_for(locale)
    formatted = price["formatted"]
    assert formatted["time"] == durations(price["time"], formats)
    assert [{name: step[name] for name in ("expected", "quoted", "dwell")} for step in formatted["plan"]] == [
        durations(step, formats) for step in price["plan"]
    ]
    assert formatted["lead_time"] == formats.days(price["lead_days"])
    assert formatted["valid_until"] == formats.date(dt.date.fromisoformat(price["valid_until"]))
    assert formatted["date"] == formats.date(dt.date.fromisoformat(price["job"]["date"]))
    days = [term["days"] for repair in price["warranty"] for term in repair["terms"]]
    shown = [text for repair in formatted["warranty"] for text in repair["terms"]]
    assert [formats.days(each) in text for text, each in zip(shown, days, strict=True)] == [True] * len(days)


def durations(minutes: Any, formats: Formats) -> dict[str, str]:
    """Of the members that are minutes, without saying so in the name."""
    members = {name: value for name, value in minutes.items() if name.endswith("_minutes")}
    return {name.removesuffix("_minutes"): formats.minutes(Decimal(value)) for name, value in members.items()}


@pytest.mark.parametrize("locale", LOCALES)
def test_what_the_book_says_is_told_in_the_language_of_the_locale(owner: Caller, locale: str):
    """Cautions in both wordings, steps and tools; in English as the book has them."""
    price, book = owner.post("/v1/prices", FULL | {"locale": locale}).body, open_book(RATES / "ballyquarn")
    for each, text in zip(price["cautions"], price["formatted"]["cautions"], strict=True):
        for member in ("text", "customer"):
            assert text[member] == book.text_in(locale, ("cautions", each["code"], member), each[member])
    for step, text in zip(price["plan"], price["formatted"]["plan"], strict=True):
        assert text["title"] == book.text_in(locale, ("steps", step["step"], "title"), step["title"])
        assert text["tools"] == [book.text_in(locale, ("tools", tool, "name"), tool) for tool in step["tools"]]
    shown = price["formatted"]["cautions"][0]["customer"]
    assert (shown == price["cautions"][0]["customer"]) is locale.startswith("en")


@pytest.mark.parametrize("locale", LOCALES)
def test_what_is_used_up_and_cut_has_its_text(owner: Caller, locale: str):
    """In the units of the locale. Without a seal, a screen takes tape round the display, and a seal that is cut."""
    job = {"device": "kessoway-5", "repairs": [{"procedure": "screen"}], "parts": {"seal": None}, "locale": locale}
    price, formats = owner.post("/v1/prices", job).body, formats_for(locale)
    book = open_book(RATES / "ballyquarn")
    for each, text in zip(price["consumption"], price["formatted"]["consumption"], strict=True):
        assert text["title"] == book.text_in(locale, ("consumables", each["consumable"], "title"), each["title"])
        for member in ("needed", "billed"):
            assert text[member] == formats.quantity(Decimal(each[member]), each["unit"])
    assert [cut["width_mm"] for cut in price["cuts"]] == ["5", "10"]
    for cut, text in zip(price["cuts"], price["formatted"]["cuts"], strict=True):
        assert text["width"] == formats.quantity(Decimal(cut["width_mm"]), "mm")
        lengths = [formats.quantity(Decimal(piece["length_mm"]), "mm") for piece in cut["pieces"]]
        assert [piece["length"] for piece in text["pieces"]] == lengths


@pytest.mark.parametrize("locale", LOCALES)
def test_economics_have_their_text(owner: Caller, locale: str):
    """To the cent, half up: cost and floor are worked out further than that and are nobody's price."""
    price, formats = owner.post("/v1/prices", FULL | {"locale": locale}).body, formats_for(locale)
    economics = price["economics"]
    cents = {name: Decimal(economics[name]).quantize(Decimal("0.01"), ROUND_HALF_UP) for name in ("cost", "floor")}
    assert price["formatted"]["economics"] == {
        "cost": formats.money(cents["cost"], "EUR", 2),
        "margin": formats.percent(Decimal(economics["margin"])),
        "floor": formats.money(cents["floor"], "EUR", 2),
    }


@pytest.mark.parametrize(("locale", "direction"), [("ar-EG", "rtl"), ("he-IL", "rtl"), ("pl-PL", "ltr")])
def test_the_direction_of_the_text_is_told(owner: Caller, locale: str, direction: str):
    """A page needs to know."""
    assert owner.post("/v1/prices", BATTERY | {"locale": locale}).body["formatted"]["direction"] == direction


@pytest.mark.parametrize(
    ("job_locale", "header", "chosen"),
    [
        (None, None, "en-IE"),
        (None, "pl", "pl"),
        (None, "pl-PL,pl;q=0.9,en;q=0.5", "pl-PL"),
        (None, "xx,ja;q=0.5", "ja"),
        (None, "de;q=0.1,ja;q=0.9", "ja"),
        (None, "zh-TW", "zh-Hant-TW"),
        (None, "en", "en-IE"),
        ("de-DE", None, "de-DE"),
        ("de-DE", "pl", "de-DE"),
        ("DE-de", None, "de-DE"),
    ],
)
def test_the_job_s_locale_counts_then_the_reader_s_then_the_book_s(
    owner: Caller, job_locale: str | None, header: str | None, chosen: str
):
    """And it is named in full."""
    job = BATTERY | ({"locale": job_locale} if job_locale else {})
    headers = {"Accept_Language": header} if header else {}
    price = owner.post("/v1/prices", job, **headers).body
    assert price["locale"] == price["job"]["locale"] == price["formatted"]["locale"] == chosen


@pytest.fixture
def yen(tmp_path: Path) -> Iterator[Service]:
    """The demo book as a shop in Japan would have it: no minor unit."""
    rates = shutil.copytree(RATES, tmp_path / "rates")
    settings = rates / "ballyquarn" / "book.toml"
    text = settings.read_text()
    for old, new in (
        ('currency = "EUR"', 'currency = "JPY"'),
        ('tax_profile = "ireland"', 'tax_profile = "japan"'),
        ('unit = "1.00"', 'unit = "10"'),
        ('minus = "0.05"', 'minus = "0"'),
        ('minimum_net = "16.00"', 'minimum_net = "16"'),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    settings.write_text(text)
    with a_service(tmp_path, rates / "ballyquarn") as running:
        yield running


def test_a_currency_without_minor_unit_has_no_decimals(yen: Service):
    """Neither in the figures nor in their text; consumables may still cost a fraction of a yen."""
    price = yen.caller("owner").post("/v1/prices", FULL | {"locale": "ja-JP"}).body
    assert price["currency"] == "JPY"
    for place, amount, text in amounts(price):
        assert "." not in amount, place
        assert text == written(formats_for("ja-JP"), place)(Decimal(amount), "JPY", 0), place
        assert "." not in text, place
    assert price["formatted"]["totals"]["gross"].startswith("￥")
