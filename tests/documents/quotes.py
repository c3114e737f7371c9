"""Issued quotes for tests: priced for real from a demo book, with what a test says about the result on top."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Any

from quoter.book import RateBook
from quoter.books.compile import compiled
from quoter.books.load import read_folder
from quoter.engine.compose import quote_for
from quoter.job import Discount, Job, Repair, job_data
from quoter.records.quotes import Contact, Decision, IssuedQuote
from quoter.service.clock import end_of, stamp
from quoter.service.quotes.snapshot import snapshot

RATES = Path(__file__).parents[2] / "rates"
ISSUED_AT = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
NOW = stamp(ISSUED_AT)
DECIDED_AT = "2026-03-03T10:00:00.000000Z"
LINK = "https://repairs.shop.example.org/q/Wn3kq0aYx1-Gm2_TzQb8dRfVn5Lc7HpKsJ4uXe9MwY0/1"

BOOK = compiled(read_folder(RATES / "ballyquarn"))

CUTS = [
    {
        "consumable": "tape-5",
        "title": "Double-sided tape, 5 mm",
        "width_mm": "5",
        "pieces": [
            {"step": "cut-tape", "basis": "long_sides", "count": 2, "length_mm": "146"},
            {"step": "display-tape", "basis": "corners", "count": 1, "length_mm": "412.5"},
        ],
    },
    {
        "consumable": "tape-10",
        "title": "Double-sided tape, 10 mm",
        "width_mm": "10",
        "pieces": [{"step": "cut-tape", "basis": "short_sides", "count": 1, "length_mm": "68"}],
    },
    {
        "consumable": "cord",
        "title": "Cutting cord",
        "width_mm": None,
        "pieces": [{"step": "soak", "basis": "each", "count": 1, "length_mm": "300"}],
    },
]
"""Strips of three materials, one of them without a width."""

LAW = {
    "code": "invented",
    "title": "An invented place",
    "reviewed": "",
    "label": "estimate",
    "tax_in_price": True,
    "notices": [
        {
            "code": "statutory-rights",
            "must_be_told": False,
            "texts": {"en": "The rights that the law gives you stay as they are.", "de": "Ihre Rechte bleiben."},
        },
        {"code": "data-loss", "must_be_told": True, "texts": {"en": "Everything on the device may be lost."}},
    ],
}


def a_quote(
    *,
    repairs: tuple[str, ...] = ("battery", "screen"),
    findings: tuple[str, ...] = ("swollen-cell",),
    discount: str | None = None,
    payment: str = "other",
    customer_kind: str = "consumer",
    device: str = "kessoway-5",
    book: RateBook = BOOK,
    fitted: Mapping[str, str | None] = MappingProxyType({}),
    **result: Any,
) -> IssuedQuote:
    """A quote for battery and screen of a phone whose cell has swollen; `result` replaces members of the result."""
    job = Job(
        device=device,
        repairs=tuple(Repair(each) for each in repairs),
        date=ISSUED_AT.date(),
        parts=fitted,
        findings=findings,
        customer_kind=customer_kind,
        urgency="standard",
        discount=Discount(Decimal(discount), "a reason that stays in the shop") if discount else None,
        payment=payment,
        locale="en-IE",
    )
    quote = quote_for(job, book)
    return IssuedQuote(
        id="0190-test",
        number="2026-00042",
        revision=1,
        issued_at=NOW,
        issued_by="desk key",
        expires_at=stamp(end_of(quote.valid_until, book.shop.timezone)),
        book=book.code,
        book_version=1,
        book_digest=book.digest,
        job=job_data(job),
        result={**snapshot(quote, book), **result},
    )


def decided(quote: IssuedQuote, decision: str, up_to: str = "price") -> IssuedQuote:
    """The same after a decision, made a day after it was issued."""
    told = Decision(decision=decision, revision=quote.revision, name="A. Example", at=DECIDED_AT, up_to=up_to)
    return replace(quote, standing=decision, decision=told, contact=Contact(name="A. Example"))


def with_shop(quote: IssuedQuote, **shop: str) -> IssuedQuote:
    """The same with other words about the shop."""
    return replace(quote, result={**quote.result, "shop": {**quote.result["shop"], **shop}})


def translated(quote: IssuedQuote, language: str, texts: Mapping[str, str]) -> IssuedQuote:
    """The same with the owner's translations."""
    return replace(quote, result={**quote.result, "translations": {language: dict(texts)}})
