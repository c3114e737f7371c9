"""The customer's copy as plain data: the snapshot's figures in the reader's words, and nothing of the shop's own."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import orjson
import pytest

from quoter.documents.sheet import quote_sheet
from quoter.records.quotes import IssuedQuote
from quoter.words.catalogues import LANGUAGES
from quoter.words.shown import TextOf
from quoter.words.wording import wording_for

from .quotes import LAW, LINK, NOW, a_quote, decided, translated, with_shop

LATER = "2026-04-02T00:00:00.000000Z"
LOCALES = ("en-IE", "de-DE", "fr-FR", "es-ES", "pl-PL", "ar-EG", "ja-JP")


def sheet(quote: IssuedQuote, tag: str = "en-IE", *, now: str = NOW, link: str = LINK) -> dict[str, Any]:
    """The customer's copy."""
    return quote_sheet(quote, wording_for(tag), now=now, link=link)


def leaves(data: Any) -> Iterator[Any]:
    """Everything in it that is not a list or a mapping, keys left out."""
    if isinstance(data, dict | list):
        for each in data.values() if isinstance(data, dict) else data:
            yield from leaves(each)
    else:
        yield data


def keys(data: Any) -> Iterator[str]:
    """The name of every member, at any depth."""
    if isinstance(data, dict):
        yield from data
    if isinstance(data, dict | list):
        for each in data.values() if isinstance(data, dict) else data:
            yield from keys(each)


def texts_of(facts: list[dict[str, str]]) -> dict[str, str]:
    """By key what stands there; of several with one key the last."""
    return {each["key"]: each["text"] for each in facts}


@pytest.mark.parametrize("tag", LOCALES)
def test_every_figure_is_the_one_of_the_snapshot(tag: str):
    """Lines, tax, totals, deposit, time, contingencies, ceiling and days: nothing is priced or rounded anew."""
    quote = a_quote(discount="0.10")
    shown, figures = sheet(quote, tag), TextOf(quote.result, quote.job, wording_for(tag)).quote()
    rows = shown["lines"]["rows"]
    for member in ("description", "quantity", "net"):
        assert [row[member] for row in rows] == [line[member] for line in figures["lines"]]
    totals = texts_of(shown["totals"])
    assert totals == {
        "net": figures["totals"]["net"],
        "tax-rate": figures["tax"][0]["tax"],
        "gross": figures["totals"]["gross"],
        "deposit": figures["deposit"],
    }
    assert shown["headline"]["text"] == figures["totals"]["gross"]
    assert figures["totals"]["tax"] in shown["headline"]["note"]
    practical = texts_of(shown["practical"]["facts"])
    assert figures["time"]["elapsed"] in practical["time"]
    assert practical["lead-time"] == figures["lead_time"]
    contingencies = shown["contingencies"]
    assert [(row["finding"], row["price"], row["difference"]) for row in contingencies["rows"]] == [
        (each["finding"], each["gross"], each["difference"]) for each in figures["contingencies"]
    ]
    assert contingencies["ceiling"]["text"] == figures["ceiling"]["gross"]
    assert texts_of(shown["facts"])["valid"] == figures["valid_until"]


def test_a_unit_price_stands_where_there_is_more_or_less_than_one():
    """One display costs what it costs; minutes have a price a minute."""
    quote = a_quote()
    figures = TextOf(quote.result, quote.job, wording_for("en-IE")).quote()["lines"]
    for line, shown, row in zip(quote.result["lines"], figures, sheet(quote)["lines"]["rows"], strict=True):
        is_one = (line["quantity"], line["unit"]) == ("1", "each")
        assert row["unit_price"] == ("" if is_one else shown["unit_price"])


@pytest.mark.parametrize("language", LANGUAGES)
def test_everything_in_it_is_text(language: str):
    """So that whoever draws it need not think."""
    assert all(isinstance(each, str) for each in leaves(sheet(a_quote(law=LAW), language)))


def test_nothing_of_the_shops_own_is_in_it():
    """Neither by name nor by figure: no cost, margin, floor, plan, derivation, sku or reason of a discount."""
    quote = a_quote(discount="0.10", law=LAW)
    shown = sheet(quote)
    text = orjson.dumps(shown).decode()
    internal = {"economics", "cost", "margin", "floor", "because", "plan", "needs_owner", "alternatives", "ref", "sku"}
    assert internal & set(keys(shown)) == set()
    assert "a reason that stays in the shop" not in text
    assert quote.result["economics"]["cost"] not in text
    assert not [line["ref"] for line in quote.result["lines"] if line["kind"] == "part" and line["ref"] in text]


@pytest.mark.parametrize(("label", "word"), [("quotation", "Quotation"), ("estimate", "Estimate"), (None, "Quotation")])
def test_the_law_says_what_the_paper_is_called(label: str | None, word: str):
    """Where nothing is said, it is a quotation."""
    shown = sheet(a_quote(law=label and {**LAW, "label": label}))
    assert (shown["label"], shown["title"]) == (word, f"{word} 2026-00042")


def test_quotes_of_an_earlier_version_are_read_as_well():
    """Their results know neither laws nor translations nor parts nor words for customers."""
    quote = a_quote()
    for member in ("law", "translations", "parts", "consumption", "cuts"):
        quote.result.pop(member, None)
    shown = sheet(quote)
    assert shown["notices"]["items"] == []
    assert shown["customer"]["text"] == ""


def test_a_notice_is_in_the_readers_language_else_in_english_and_marked_until_reviewed():
    """German has one of the two; the mark goes once an adviser has reviewed the profile."""
    notices = sheet(a_quote(law=LAW), "de-AT")["notices"]["items"]
    mark = "Vorlage: von der Rechtsberatung der Werkstatt zu prüfen"
    assert [each["text"] for each in notices] == ["Ihre Rechte bleiben.", "Everything on the device may be lost."]
    assert [each["mark"] for each in notices] == [mark, mark]
    reviewed = sheet(a_quote(law={**LAW, "reviewed": "2026-01-15"}))["notices"]["items"]
    assert [each["mark"] for each in reviewed] == ["", ""]


def test_the_books_texts_are_in_the_readers_language_as_far_as_translated():
    """Titles, findings, terms, scopes and cautions alike."""
    quote = translated(
        a_quote(), "de", {"Battery": "Akku", "Swollen cell": "Aufgeblähte Zelle", "liquid": "Flüssigkeit"}
    )
    shown = sheet(quote, "de-DE")
    assert shown["work"]["items"] == ["Akku", "Screen"]
    assert shown["findings"]["items"] == ["Aufgeblähte Zelle"]
    assert shown["warranty"]["items"][0]["repair"] == "Akku"
    assert "Flüssigkeit" in shown["warranty"]["items"][0]["terms"][0]["excludes"]


def test_a_swollen_cell_is_warned_of_first_and_in_the_customers_words():
    """Then what was seen on this device, then what goes with the work."""
    cautions = [
        {"code": "work", "text": "Bench words", "customer": "Of the work", "source": "x"},
        {"code": "seen", "text": "Seen", "customer": "", "source": "x"},
        {"code": "swollen", "text": "Bench words", "customer": "It can burn", "source": "x"},
    ]
    steps = a_quote().result["plan"]
    quote = a_quote(cautions=cautions, plan=[{**steps[0], "caution": "work"}, {**steps[1], "caution": "swollen"}])
    assert sheet(quote)["cautions"]["items"] == ["It can burn", "Seen", "Of the work"]


def test_a_contingency_that_is_refused_stops_the_work():
    """It has no price."""
    refused = {"finding": "liquid", "refused": "an internal sentence"}
    row = sheet(a_quote(contingencies=[refused]))["contingencies"]["rows"][0]
    assert (row["price"], row["difference"]) == ("The work would stop.", "")


def test_without_contingencies_there_is_no_ceiling_to_tell():
    """It would be the price itself."""
    assert sheet(a_quote(contingencies=[]))["contingencies"]["ceiling"]["text"] == ""


def test_the_condition_of_a_part_stands_at_its_line():
    """Where the shop says it."""
    quote = a_quote()
    skus = [line["ref"] for line in quote.result["lines"] if line["kind"] == "part"]
    conditions = dict(zip(skus, ("refurbished", "new", None), strict=True))
    parts = [{"sku": sku, "condition": condition} for sku, condition in conditions.items()]
    rows = sheet(a_quote(parts=parts))["lines"]["rows"]
    assert [row["detail"] for row in rows[:4]] == ["Refurbished part", "New part", "", ""]


def test_an_expired_quote_says_so_and_is_not_to_be_signed():
    """The day over is the day printed."""
    shown = sheet(a_quote(), now=LATER)
    assert shown["notice"] == "This is no longer valid: it was valid until 1 Apr 2026."
    assert shown["signing"]["lines"] == []
    assert sheet(a_quote())["notice"] == ""


@pytest.mark.parametrize(
    ("standing", "notice"),
    [
        ("superseded", "This is no longer valid: a newer revision has taken its place."),
        ("withdrawn", "This is no longer valid: it was withdrawn."),
        ("accepted", ""),
        ("declined", ""),
    ],
)
def test_what_no_longer_holds_says_so_and_what_is_decided_is_not_to_be_signed(standing: str, notice: str):
    """Whatever else is on it."""
    shown = sheet(replace(a_quote(), standing=standing))
    assert shown["notice"] == notice
    assert shown["signing"]["lines"] == []


@pytest.mark.parametrize(
    ("decision", "up_to", "sentence"),
    [
        ("accepted", "price", "Accepted by A. Example on 3 Mar 2026."),
        ("accepted", "ceiling", "Accepted by A. Example on 3 Mar 2026, up to €416.95."),
        ("declined", "price", "Declined by A. Example on 3 Mar 2026."),
        ("withdrawn", "price", ""),
    ],
)
def test_it_says_who_decided_what_and_when(decision: str, up_to: str, sentence: str):
    """For whom it is made."""
    shown = sheet(decided(a_quote(), decision, up_to))
    assert shown["decided"] == sentence
    assert shown["customer"]["text"] == "A. Example"
    assert sheet(a_quote())["decided"] == ""


def test_cash_stands_only_where_it_differs():
    """Ireland rounds to 5 cents: 360.95 is paid as it is; one cent more is not."""
    quote = a_quote(payment="cash")
    assert "cash" not in texts_of(sheet(quote)["totals"])
    totals = {**quote.result["totals"], "gross": "360.96"}
    assert texts_of(sheet(a_quote(totals=totals, payment="cash"))["totals"])["cash"] == "€360.95"
    assert "cash" not in texts_of(sheet(a_quote(totals=totals))["totals"])


def test_a_place_that_prices_without_tax_says_what_comes_on_top():
    """Net and tax beside the total."""
    assert sheet(a_quote(display="exclusive", law=None))["headline"]["note"] == "€318.02 and €42.93 tax"


def test_the_law_of_the_place_decides_how_the_price_is_told():
    """Before what the tax profile shows consumers."""
    assert sheet(a_quote(law={**LAW, "tax_in_price": False}))["headline"]["note"] == "€318.02 and €42.93 tax"


def test_where_nothing_is_taxed_nothing_is_said_of_tax_but_why():
    """A business of another country, say."""
    totals = {"net": "100.00", "tax": "0.00", "gross": "100.00", "cash": "100.00"}
    shown = sheet(a_quote(totals=totals, tax=[], tax_reason="The customer accounts for it"))
    assert shown["headline"] == {"label": "Total", "text": "€100.00", "note": ""}
    assert shown["tax_reason"] == "The customer accounts for it"


def test_what_the_shop_tells_of_place_and_loan_is_printed():
    """A place to hand over replaces the address; what is not told is not printed."""
    quote = with_shop(
        a_quote(), handover="At the counter, ground floor", loan_device="A phone at no charge", contact="Chat"
    )
    shown = sheet(quote)
    practical = texts_of(shown["practical"]["facts"])
    assert (practical["handover"], practical["loan"]) == ("At the counter, ground floor", "A phone at no charge")
    assert texts_of(shown["shop"]["contacts"])["contact"] == "Chat"
    plain = sheet(with_shop(a_quote(), handover="", loan_device="", contact=""))
    assert texts_of(plain["practical"]["facts"])["handover"] == "7 Weir Lane, Ballyquarn, Ireland"
    assert "loan" not in texts_of(plain["practical"]["facts"])
    assert shown["shop"]["address"] == ["7 Weir Lane", "Ballyquarn", "Ireland"]


def test_several_components_of_tax_have_a_sum():
    """One has none: it is the sum."""
    row = a_quote().result["tax"][0]
    shown = sheet(a_quote(tax=[row, {**row, "name": "Levy", "rate": None}]))["totals"]
    assert [each["key"] for each in shown] == ["net", "tax-rate", "tax-rate", "tax", "gross", "deposit"]
    assert shown[2]["label"] == "Levy on €318.02"


def test_without_a_link_nothing_leads_anywhere():
    """No half sentence remains."""
    assert sheet(a_quote(), link="")["online"] == {"label": "To read and answer online", "text": "", "alt": ""}


def test_the_sheet_of_a_later_revision_says_which():
    """In the digits of the reader."""
    assert texts_of(sheet(replace(a_quote(), revision=3))["facts"])["revision"] == "3"
