"""Small books and jobs for tests. What a test does not mention is filled in so that it does not matter.

The book that `a_book()` gives: one device, three procedures, five steps of fixed minutes, one part a slot, an hour at
60.00 (so a minute is 1.00), no markup, no allowance, no reserve of time, tax of 20 % on top.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from quoter.book import RateBook, TaxProfile
from quoter.books.compile import compiled
from quoter.books.raw import RawBook, RawRow
from quoter.books.tables import TABLES
from quoter.engine.compose import quote_for
from quoter.engine.tax import TaxRules, rules_on
from quoter.job import Discount, Job, Repair
from quoter.money import Currency
from quoter.problems import JobRefused, Refusal
from quoter.quote import TAXED_KINDS, Line, Quote

TODAY = dt.date(2026, 3, 2)

Cells = Mapping[str, Any]

FILLED_IN: Mapping[str, Cells] = {
    "difficulty": {"skill": "generalist", "time_factor": 1, "hourly_rate": 60, "hourly_cost": 24},
    "devices": {"maker": "Invented", "model": "M", "kind": "phone", "width_mm": 70, "height_mm": 150, "corner_mm": 10},
    "procedures": {"difficulty": "usual"},
    "usage": {"basis": "each", "quantity": 1},
    "consumables": {"unit": "each", "pack_price": 1, "pack_size": 1},
    "parts": {"slot": "battery", "grade": "genuine", "devices": "slate", "cost": 10},
    "menu": {"device": "slate"},
    "warranty": {"days": 90},
    "cautions": {"text": "Take care"},
}
"""Cells that a row has unless a test says otherwise; a title or text is the row's code."""

SETTINGS: Mapping[str, str] = {
    "code": "small",
    "title": "Small book",
    "currency": "EUR",
    "locale": "en-IE",
    "tax_profile": "plain",
    "shop.name": "Test bench",
    "shop.timezone": "UTC",
    "labour.confidence": "0.5",
    "labour.allowance": "0",
    "labour.increment_minutes": "1",
    "labour.bench_rate": "0",
    "consumables.markup": "0",
    "risk.loading": "1",
    "policy.minimum_net": "0",
    "policy.express_rate": "0.5",
    "policy.minimum_margin": "0",
    "policy.max_discount": "1",
    "policy.validity_days": "30",
    "policy.deposit_rate": "0",
}


def a_step(code: str, minutes: Any = 0, **cells: Any) -> Cells:
    """A step of fixed minutes, or of (low, likely, high)."""
    low, likely, high = minutes if isinstance(minutes, tuple) else (minutes, minutes, minutes)
    return {"code": code, "low": low, "likely": likely, "high": high, **cells}


def a_part(sku: str, **cells: Any) -> Cells:
    """A genuine battery for the slate at 10.00, unless told otherwise."""
    return {"sku": sku, **cells}


def a_row(code: str, **cells: Any) -> Cells:
    """A row of any table whose key is a code."""
    return {"code": code, **cells}


def use(step: str, consumable: str, **cells: Any) -> Cells:
    """A row of usage.csv: one of the consumable for each step, unless told otherwise."""
    return {"step": step, "consumable": consumable, **cells}


PORT = a_part("P1", slot="port", cost=8)
"""The part of the small book that its steps cannot do without beside the battery."""

STEPS = (
    a_step("open", 5),
    a_step("fit-battery", 10, needs="open", slot="battery"),
    a_step("fit-port", 20, needs="open", slot="port"),
    a_step("clean", 7, needs="open"),
    a_step("close", 3, needs="open"),
)

TABLES_OF_SMALL_BOOK: Mapping[str, Iterable[Cells]] = {
    "difficulty": (
        a_row("easy", hourly_rate=30, hourly_cost=12),
        a_row("usual", hourly_rate=60, hourly_cost=24),
        a_row("hard", hourly_rate=90, hourly_cost=36),
    ),
    "devices": (a_row("slate"),),
    "procedures": (
        a_row("battery", slot="battery", goals="fit-battery close"),
        a_row("port", slot="port", goals="fit-port close"),
        a_row("clean", goals="clean"),
    ),
    "steps": STEPS,
    "parts": (a_part("B1", cost=30), PORT),
}


def a_raw_book(
    *,
    settings: Mapping[str, Any] | None = None,
    markup: Iterable[Cells] = ({"rate": 0},),
    fx: Mapping[str, Any] | None = None,
    tax: Mapping[str, Any] | None = None,
    **tables: Iterable[Cells],
) -> RawBook:
    """The text of the small book; a table that is given replaces its own, settings (by dotted key) are added.

    Without `offers`, everything is offered for every device.
    """
    given = {**TABLES_OF_SMALL_BOOK, **tables}
    given.setdefault("offers", _all_offers(given))
    document = nested({**SETTINGS, **(settings or {})})
    document["parts"] = {"markup": [_texts(band) for band in markup]}
    document["fx"] = _texts(fx or {})
    rows = {table.name: _rows(table.name, table.header, given.get(table.name, ())) for table in TABLES}
    return RawBook(document, rows, a_raw_tax(**(tax or {})))


def a_book(**given: Any) -> RateBook:
    """The small book with what a test says about it; `a_raw_book` explains."""
    return compiled(a_raw_book(**given))


def a_raw_tax(
    *,
    rates: Mapping[str, Any] = {"std": "0.20"},
    lines: Mapping[str, str] | None = None,
    customers: Mapping[str, Any] | None = None,
    reclass: Iterable[Mapping[str, Any]] = (),
    combined: bool = False,
    **settings: Any,
) -> dict[str, Any]:
    """A tax profile's text: every line under the first code unless told otherwise, rounded half up at stage rate.

    A code's rates are one rate, {component: rate}, or a list of (component, rate, first day).
    """
    first = next(iter(rates))
    return {
        "code": "plain",
        "title": "Plain",
        "source": "invented",
        "display": "exclusive",
        "stage": "rate",
        "mode": "half-up",
        **_texts(settings),
        "combined": combined,
        "codes": {code: {"components": _components(rate)} for code, rate in rates.items()},
        "lines": {**dict.fromkeys(TAXED_KINDS, first), **(lines or {})},
        "customers": dict(customers or {}),
        "reclass": [dict(rule) for rule in reclass],
    }


def a_profile(**tax: Any) -> TaxProfile:
    """A tax profile as the engine reads it; `a_raw_tax` explains."""
    return a_book(tax=tax).tax


def tax_rules_of(*, digits: int = 2, date: dt.date = TODAY, **tax: Any) -> TaxRules:
    """The rules of a profile on a day, in a currency of so many decimals."""
    return rules_on(date, a_profile(**tax), Currency("XXX", digits))


def a_job(
    *,
    repairs: Iterable[str | Repair] = ("battery",),
    device: str = "slate",
    parts: Mapping[str, str | None] | None = None,
    findings: Iterable[str] = (),
    customer_kind: str = "consumer",
    urgency: str = "standard",
    discount: str | None = None,
    date: dt.date = TODAY,
    payment: str = "other",
) -> Job:
    """A consumer's battery job of today, unless told otherwise."""
    return Job(
        device=device,
        repairs=tuple(each if isinstance(each, Repair) else Repair(each) for each in repairs),
        date=date,
        parts=parts or {},
        findings=tuple(findings),
        customer_kind=customer_kind,
        urgency=urgency,
        discount=Discount(Decimal(discount), "told") if discount is not None else None,
        payment=payment,
        locale="en-IE",
    )


def quoted(book: RateBook, **job: Any) -> Quote:
    """The quote of a job that `a_job` explains."""
    return quote_for(a_job(**job), book)


def refusals(book: RateBook, **job: Any) -> tuple[Refusal, ...]:
    """Why a job is refused. Fails where it is not."""
    try:
        quote = quoted(book, **job)
    except JobRefused as refused:
        return refused.refusals
    raise AssertionError(f"not refused, but priced at {quote.totals.gross}")


def line_of(quote: Quote, kind: str, ref: str | None = None) -> Line:
    """The one line of a kind (and of what it is for). Fails where there is none or several."""
    (line,) = (line for line in quote.lines if line.charge.kind == kind and ref in (None, line.charge.ref))
    return line


def nets(quote: Quote, *kinds: str) -> list[str]:
    """The nets of all lines, or of those kinds, in their order."""
    return [str(line.charge.net) for line in quote.lines if not kinds or line.charge.kind in kinds]


def kinds(quote: Quote) -> list[str]:
    """The kinds of the lines in their order."""
    return [line.charge.kind for line in quote.lines]


def steps(quote: Quote) -> list[str]:
    """The plan's steps in working order."""
    return [each.step for each in quote.plan]


def nested(settings: Mapping[str, Any]) -> dict[str, Any]:
    """Dotted keys as the nested tables of a TOML document."""
    document: dict[str, Any] = {}
    for key, value in settings.items():
        *path, last = key.split(".")
        inner = document
        for word in path:
            inner = inner.setdefault(word, {})
        inner[last] = str(value)
    return document


def _rows(table: str, header: Iterable[str], rows: Iterable[Cells]) -> tuple[RawRow, ...]:
    return tuple(
        RawRow(
            number, {**dict.fromkeys(header, ""), **_titles(header, row), **_texts({**FILLED_IN.get(table, {}), **row})}
        )
        for number, row in enumerate(rows, start=2)
    )


def _titles(header: Iterable[str], row: Cells) -> dict[str, str]:
    return {"title": str(row.get("code") or row.get("sku"))} if "title" in header else {}


def _texts(row: Cells) -> dict[str, str]:
    return {column: str(value) for column, value in row.items()}


def _all_offers(tables: Mapping[str, Iterable[Cells]]) -> list[Cells]:
    devices, procedures = list(tables["devices"]), list(tables["procedures"])
    return [
        {"device": device["code"], "procedure": procedure["code"]} for device in devices for procedure in procedures
    ]


def _components(rate: Any) -> list[dict[str, str]]:
    if isinstance(rate, Mapping):
        rate = [(name, each, "2000-01-01") for name, each in rate.items()]
    if not isinstance(rate, list):
        rate = [("VAT", rate, "2000-01-01")]
    return [{"name": name, "rate": str(each), "from": str(since)} for name, each, since in rate]
