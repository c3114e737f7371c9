"""The price list as a program reads it: JSON, CSV (RFC 4180), or linked data in the vocabulary of schema.org.

Only what a customer may see: the price as the shop shows it to consumers, how much of it is tax, when the parts come.
Written piece by piece, because a whole list may be tens of megabytes.
"""

import codecs
import csv
import io
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from itertools import chain, islice
from typing import Any

import orjson

from quoter.book import Device
from quoter.books.effect_output import harmless
from quoter.service.rates.price_lists import Listed, NotListed, PricedList
from quoter.words.wording import Wording

Data = dict[str, Any]
Row = Listed | NotListed

EDITION = 1
"""Of how lists are written. It is part of their entity tags: to be counted up with whatever changes their bytes."""

COLUMNS = (
    "device",
    "maker",
    "model",
    "kind",
    "procedure",
    "procedure_title",
    "grade",
    "grade_title",
    "price",
    "currency",
    "tax_included",
    "net",
    "tax",
    "gross",
    "formatted_price",
    "lead_days",
    "not_priced",
)
"""Of the CSV file. `price` is net or gross, as `tax_included` says."""

SCHEMA_ORG = "https://schema.org"

ROWS_A_PIECE = 200

_PRICED = ("price", "net", "tax", "gross", "lead_days")


@dataclass(frozen=True)
class Reader:
    """Some entries of a list, as one reader sees them."""

    of: PricedList
    places: Sequence[int]
    count: int
    wording: Wording

    @property
    def rows(self) -> Iterator[Row]:
        """The entries, priced one after the other as they are asked for."""
        return self.of.listed(self.places)

    @property
    def is_inclusive(self) -> bool:
        """Whether consumers are shown prices with tax; a law profile that says otherwise is a flaw of the book."""
        return self.of.book.tax.display == "inclusive"

    def price(self, row: Listed) -> Decimal:
        """What is shown as the price."""
        return row.gross if self.is_inclusive else row.net

    def money(self, amount: Decimal) -> str:
        """An amount as people write it."""
        currency = self.of.book.currency
        return self.wording.formats.money(amount, currency.code, currency.digits)

    def tax_words(self, row: Listed) -> str:
        """How much tax is in the price or comes on top; blank where there is none."""
        if not row.tax:
            return ""
        if self.is_inclusive:
            return self.wording.say("including {tax} tax", tax=self.money(row.tax))
        return self.wording.say("{net} and {tax} tax", net=self.money(row.net), tax=self.money(row.tax))

    def device(self, row: Row) -> Device:
        """What is repaired."""
        return self.of.book.devices[row.device]

    def procedure(self, row: Row) -> str:
        """What the repair is called."""
        return self._procedures[row.procedure]

    def grade(self, row: Row) -> str | None:
        """What the grade of the part is called."""
        return None if row.grade is None else self._grades[row.grade]

    @cached_property
    def _procedures(self) -> Mapping[str, str]:
        book, tag = self.of.book, self.wording.tag
        return {
            code: book.text_in(tag, ("procedures", code, "title"), each.title) for code, each in book.procedures.items()
        }

    @cached_property
    def _grades(self) -> Mapping[str, str]:
        book, tag = self.of.book, self.wording.tag
        return {grade: book.text_in(tag, ("grades", grade, "title"), grade) for grade in book.grades}


def as_json(read: Reader) -> Iterator[bytes]:
    """The entries with all that is known of them, those that cannot be priced with the reason."""
    book, period = read.of.book, read.of.period
    head = {
        "book": {"code": book.code, "digest": book.digest},
        "shop": book.shop.name,
        "currency": book.currency.code,
        "locale": read.wording.tag,
        "direction": read.wording.direction,
        "display": book.tax.display,
        "tax_rates": {"since": period.since, "until": period.until},
        "count": read.count,
        "entries": [],
    }
    return _joined(head, (orjson.dumps(_entry(read, row)) for row in read.rows), b"]}")


def _entry(read: Reader, row: Row) -> Data:
    device = read.device(row)
    named = {
        "device": device.code,
        "maker": device.maker,
        "model": device.model,
        "kind": device.kind,
        "procedure": row.procedure,
        "procedure_title": read.procedure(row),
        "grade": row.grade,
        "grade_title": read.grade(row),
    }
    if isinstance(row, NotListed):
        refused = {"reason": row.refused.reason, "detail": row.refused.detail}
        return named | dict.fromkeys(_PRICED) | {"refused": refused, "formatted": None}
    amounts = (f"{read.price(row):f}", f"{row.net:f}", f"{row.tax:f}", f"{row.gross:f}", row.lead_days)
    return named | dict(zip(_PRICED, amounts, strict=True)) | {"refused": None, "formatted": _formatted(read, row)}


def _formatted(read: Reader, row: Listed) -> Data:
    return {
        "price": read.money(read.price(row)),
        "tax": read.tax_words(row),
        "lead_time": read.wording.formats.days(row.lead_days),
    }


def as_csv(read: Reader) -> Iterator[bytes]:
    """A header, then a line an entry. One that cannot be priced has no price, and says why in the last column.

    Text that a spreadsheet would take for a formula has an apostrophe in front; numbers have a point and no grouping.
    """
    lines = chain([COLUMNS], (_cells(read, row) for row in read.rows))
    while some := list(islice(lines, ROWS_A_PIECE)):
        text = io.StringIO()
        csv.writer(text).writerows(some)
        yield text.getvalue().encode()


def as_marked_csv(read: Reader) -> Iterator[bytes]:
    """The same after a byte order mark, by which Excel knows UTF-8 where a file is opened with a double click."""
    yield codecs.BOM_UTF8
    yield from as_csv(read)


def _cells(read: Reader, row: Row) -> tuple[str, ...]:
    device, book = read.device(row), read.of.book
    names = (device.code, device.maker, device.model, device.kind, row.procedure, read.procedure(row))
    named = (*map(harmless, (*names, row.grade or "", read.grade(row) or "")),)
    inclusive = "yes" if read.is_inclusive else "no"
    if isinstance(row, NotListed):
        return (*named, "", book.currency.code, inclusive, "", "", "", "", "", harmless(row.refused.detail))
    amounts = (f"{row.net:f}", f"{row.tax:f}", f"{row.gross:f}")
    price = read.price(row)
    shown = harmless(read.money(price))
    return (*named, f"{price:f}", book.currency.code, inclusive, *amounts, shown, str(row.lead_days), "")


def as_linked_data(read: Reader) -> Iterator[bytes]:
    """An OfferCatalog of what can be priced, to be put into a page as it is: no sign of it can end a script element."""
    head = {
        "@context": SCHEMA_ORG,
        "@type": "OfferCatalog",
        "name": read.of.book.shop.name,
        "itemListElement": [],
    }
    offers = (orjson.dumps(_offer(read, row)) for row in read.rows if isinstance(row, Listed))
    return (piece.replace(b"<", rb"\u003c") for piece in _joined(head, offers, b"]}"))


def _offer(read: Reader, row: Listed) -> Data:
    device, grade = read.device(row), read.grade(row)
    return {
        "@type": "Offer",
        "seller": {"@type": "LocalBusiness", "name": read.of.book.shop.name},
        "itemOffered": {
            "@type": "Service",
            "name": read.procedure(row),
            **({"description": grade} if grade else {}),
            "isRelatedTo": {
                "@type": "Product",
                "name": f"{device.maker} {device.model}",
                "manufacturer": {"@type": "Organization", "name": device.maker},
                "model": device.model,
                "category": device.kind,
            },
        },
        "priceSpecification": {
            "@type": "UnitPriceSpecification",
            "price": f"{read.price(row):f}",
            "priceCurrency": read.of.book.currency.code,
            "valueAddedTaxIncluded": read.is_inclusive,
            **({"validThrough": read.of.period.until} if read.of.period.until else {}),
        },
    }


def _joined(head: Data, rows: Iterable[bytes], end: bytes) -> Iterator[bytes]:
    """A document whose last member is a list, with these rows in it."""
    yield orjson.dumps(head).removesuffix(end)
    separator, remaining = b"", iter(rows)
    while some := list(islice(remaining, ROWS_A_PIECE)):
        yield separator + b",".join(some)
        separator = b","
    yield end


WRITERS: Mapping[str, Callable[[Reader], Iterator[bytes]]] = {
    "json": as_json,
    "csv": as_csv,
    "csv-bom": as_marked_csv,
    "jsonld": as_linked_data,
}
"""By what a reader calls the format."""
