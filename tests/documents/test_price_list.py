"""The price list as JSON, CSV and linked data."""

import csv
import io
from collections.abc import Iterator, Mapping
from html.parser import HTMLParser
from typing import Any

import orjson
import pytest
from builders import TODAY, a_book, a_part, a_row

from quoter.book import RateBook
from quoter.documents.price_list import COLUMNS, WRITERS, Reader
from quoter.service.rates.price_lists import PricedList
from quoter.words.wording import wording_for

EVIL = '=HYPERLINK("http://x.example";"</script><!--")'

# What schema.org says these types have (https://schema.org/TYPE, read as of November 2026; `manufacturer`, `model` and
# `category` of Product by their own pages): properties of the type itself and of those above it.
VOCABULARY = {
    "OfferCatalog": {"name", "itemListElement", "numberOfItems"},
    "Offer": {"seller", "itemOffered", "priceSpecification"},
    "LocalBusiness": {"name"},
    "Organization": {"name"},
    "Service": {"name", "description", "isRelatedTo"},
    "Product": {"name", "manufacturer", "model", "category"},
    "UnitPriceSpecification": {"price", "priceCurrency", "valueAddedTaxIncluded", "validFrom", "validThrough"},
}


def a_list_book(display: str = "inclusive", **given: Any) -> RateBook:
    """A slate with three entries, of which the port cannot be had."""
    return a_book(
        devices=[a_row("slate", maker="Quellimar", model="+Slate 5", kind="tablet"), a_row("tab")],
        offers=[{"device": "slate", "procedure": each} for each in ("battery", "port")],
        parts=[
            a_part("B1", cost=30, lead_days=2),
            a_part("B2", cost=12, grade="compatible"),
            a_part("P1", slot="port", devices="tab"),
        ],
        tax={"rates": {"std": [("VAT", "0.20", "2000-01-01"), ("VAT", "0.10", "2027-01-01")]}, "display": display},
        **given,
    )


def written(book: RateBook, name: str, tag: str = "en-IE") -> str:
    """The whole list of a book."""
    priced = PricedList(book, TODAY)
    reader = Reader(priced, range(len(priced.entries)), len(priced.entries), wording_for(tag))
    return b"".join(WRITERS[name](reader)).decode()


def test_an_entry_says_what_a_customer_may_know():
    """30 + 18 net, 20 % on top of it, which the shop shows as one price."""
    document = orjson.loads(written(a_list_book(), "json"))
    first = document["entries"][0]
    assert {name: first[name] for name in ("device", "maker", "model", "kind", "procedure", "grade")} == {
        "device": "slate",
        "maker": "Quellimar",
        "model": "+Slate 5",
        "kind": "tablet",
        "procedure": "battery",
        "grade": "genuine",
    }
    assert (first["price"], first["net"], first["tax"], first["gross"]) == ("57.60", "48.00", "9.60", "57.60")
    assert (first["lead_days"], first["refused"]) == (2, None)
    assert first["formatted"]["tax"] == f"including {first['formatted']['tax'].split()[1]} tax"
    assert (document["count"], len(document["entries"])) == (3, 3)
    assert document["tax_rates"] == {"since": "2000-01-01", "until": "2026-12-31"}


def test_the_price_is_net_where_the_shop_shows_prices_without_tax():
    """And the words say what comes on top."""
    document = orjson.loads(written(a_list_book("exclusive"), "json"))
    first = document["entries"][0]
    assert (document["display"], first["price"], first["gross"]) == ("exclusive", "48.00", "57.60")
    assert "9.60" in first["formatted"]["tax"]
    offer = orjson.loads(written(a_list_book("exclusive"), "jsonld"))["itemListElement"][0]
    assert offer["priceSpecification"]["valueAddedTaxIncluded"] is False
    assert offer["priceSpecification"]["price"] == "48.00"


def test_what_cannot_be_priced_says_why_and_is_no_offer():
    """In JSON and CSV with the reason and without a price; in linked data not at all."""
    book = a_list_book()
    refused = orjson.loads(written(book, "json"))["entries"][2]
    assert (refused["price"], refused["formatted"]) == (None, None)
    assert refused["refused"]["reason"]
    row = list(csv.DictReader(io.StringIO(written(book, "csv"), newline="")))[2]
    assert (row["price"], row["gross"], row["lead_days"]) == ("", "", "")
    assert row["not_priced"] == refused["refused"]["detail"]
    assert len(orjson.loads(written(book, "jsonld"))["itemListElement"]) == 2


def test_csv_is_what_every_reader_of_it_reads():
    """RFC 4180: lines end in CRLF, every line has as many fields as the header; quotes and blanks survive."""
    text = written(a_list_book(), "csv", "de-DE")
    assert text.replace("\r\n", "").count("\n") == 0
    assert text.endswith("\r\n")
    header, *rows = csv.reader(io.StringIO(text, newline=""), strict=True)
    assert tuple(header) == COLUMNS
    assert {len(row) for row in rows} == {len(COLUMNS)}
    assert [row[COLUMNS.index("price")] for row in rows] == ["57.60", "36.00", ""]


def test_no_text_of_a_csv_is_taken_for_a_formula():
    """As in the other tables: an apostrophe stands in front, and numbers stay numbers."""
    (row, *_) = csv.DictReader(io.StringIO(written(a_list_book(), "csv"), newline=""))
    assert row["model"] == "'+Slate 5"
    assert row["price"] == "57.60"


def nodes(value: Any) -> Iterator[Mapping[str, Any]]:
    """Every node of a document in JSON-LD."""
    if isinstance(value, dict):
        yield value
        for member in value.values():
            yield from nodes(member)
    elif isinstance(value, list):
        for each in value:
            yield from nodes(each)


@pytest.mark.parametrize("display", ["inclusive", "exclusive"])
def test_linked_data_keeps_to_the_vocabulary(display: str):
    """Every type and every property is one of schema.org's, and nothing else is said."""
    document = orjson.loads(written(a_list_book(display), "jsonld"))
    assert document.pop("@context") == "https://schema.org"
    found = list(nodes(document))
    assert {node["@type"] for node in found} == set(VOCABULARY)
    for node in found:
        assert set(node) - {"@type"} <= VOCABULARY[node["@type"]], node


def test_an_offer_says_what_is_repaired_how_for_how_much():
    """OfferCatalog, Offer, Service, Product, UnitPriceSpecification; valid through the last day of the tax rates."""
    document = orjson.loads(written(a_list_book(), "jsonld"))
    offer = document["itemListElement"][0]
    assert (document["@type"], offer["@type"], offer["itemOffered"]["@type"]) == ("OfferCatalog", "Offer", "Service")
    assert offer["itemOffered"]["description"] == "genuine"
    assert offer["itemOffered"]["isRelatedTo"]["name"] == "Quellimar +Slate 5"
    assert offer["priceSpecification"] == {
        "@type": "UnitPriceSpecification",
        "price": "57.60",
        "priceCurrency": "EUR",
        "valueAddedTaxIncluded": True,
        "validThrough": "2026-12-31",
    }


class Scripts(HTMLParser):
    """What stands in script elements, and which elements there are."""

    def __init__(self) -> None:
        super().__init__()
        self.text, self.tags = "", []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Opened."""
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        """Read."""
        self.text += data


def test_linked_data_can_stand_in_a_page():
    """Whatever a shop or a device is called, nothing ends the script element, and the data is what it was."""
    book = a_book(devices=[a_row("slate", maker=EVIL, model="</SCRIPT>")])
    text = written(book, "jsonld")
    assert "<" not in text
    page = Scripts()
    page.feed(f'<script type="application/ld+json">{text}</script><p>')
    assert page.tags == ["script", "p"]
    product = orjson.loads(page.text)["itemListElement"][0]["itemOffered"]["isRelatedTo"]
    assert (product["manufacturer"]["name"], product["model"]) == (EVIL, "</SCRIPT>")


@pytest.mark.parametrize("name", WRITERS)
def test_a_list_of_nothing_is_a_list(name: str):
    """Empty, and well formed."""
    priced = PricedList(a_list_book(), TODAY)
    text = b"".join(WRITERS[name](Reader(priced, (), 0, wording_for("en")))).decode()
    if name.startswith("csv"):
        assert text.removeprefix("\ufeff" if name == "csv-bom" else "") == ",".join(COLUMNS) + "\r\n"
    else:
        assert orjson.loads(text)["entries" if name == "json" else "itemListElement"] == []
