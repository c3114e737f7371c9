"""A quote as plain data: what is stored, and what every page, document and answer is made of.

Amounts and quantities are text; words are still keys with parameters, to be chosen when somebody looks.
"""

from collections.abc import Iterable
from dataclasses import asdict, fields
from decimal import Decimal
from typing import Any

from quoter.book import RateBook
from quoter.engine.consumables import consumption
from quoter.engine.cut_list import cut_list
from quoter.engine.memory import remembered
from quoter.law import LawNotice, LawProfile
from quoter.money import Currency, settled
from quoter.quote import (
    TAXED_KINDS,
    Alternative,
    Charge,
    Contingency,
    Derivation,
    Economics,
    Line,
    Outcome,
    Quote,
    StepOnBench,
    TaxRow,
    Time,
    Totals,
    shown,
)
from quoter.service.quotes.law import notices_for
from quoter.service.quotes.policy import beyond_the_desk
from quoter.service.rates.glossaries import glossaries

Data = dict[str, Any]

TOTALS, TIMES = (tuple(field.name for field in fields(each)) for each in (Totals, Time))


def snapshot(quote: Quote, book: RateBook) -> Data:
    """The whole quote, economics included: leave those out before a customer sees it."""
    currency, steps = book.currency, tuple(step.step for step in quote.plan)
    return {
        "currency": currency.code,
        "digits": currency.digits,
        "display": quote.display,
        "lines": [_line(line, book) for line in quote.lines],
        "tax": [_tax(row, currency) for row in quote.tax],
        "tax_reason": quote.tax_reason,
        "totals": {name: money(getattr(quote.totals, name), currency) for name in TOTALS},
        "deposit": money(quote.deposit, currency),
        "time": _time(quote.time),
        "lead_days": quote.lead_days,
        "plan": [_step(step, book) for step in quote.plan],
        "warranty": [
            {"procedure": each.procedure, "terms": [_term(book, code) for code in each.terms]}
            for each in quote.warranty
        ],
        "cautions": [_caution(book, code) for code in quote.cautions],
        "contingencies": [_contingency(each, currency) for each in quote.contingencies],
        "ceiling": _outcome(quote.ceiling, currency),
        "alternatives": [_alternative(each, currency) for each in quote.alternatives],
        "economics": _economics(quote.economics),
        "needs_owner": [refusal.detail for refusal in beyond_the_desk(quote, book)],
        "valid_until": quote.valid_until.isoformat(),
        "shop": _shop(book),
        "law": _law(book.law, notices_for(quote, book)) if book.law else None,
        "titles": _titles(quote, book),
        "consumption": _consumption(book, quote.job.device, steps),
        "cuts": _cuts(book, quote.job.device, steps),
        "parts": [_part(line.charge, book) for line in quote.lines if line.charge.kind == "part"],
        "translations": glossaries(quote, book),
    }


def money(amount: Decimal, currency: Currency) -> str:
    """An amount with the currency's decimals. It has no more than those; a test holds that."""
    return f"{amount:.{currency.digits}f}"


def plain(value: Decimal) -> str:
    """A quantity or unit price, to 6 decimals, without trailing zeros."""
    return format(settled(value).normalize(), "f")


@remembered
def _shop(book: RateBook) -> Data:
    return asdict(book.shop)


@remembered
def _term(book: RateBook, code: str) -> Data:
    return asdict(book.warranties[code])


def _line(line: Line, book: RateBook) -> Data:
    charge, currency = line.charge, book.currency
    unit_price = money(charge.net, currency) if charge.unit_price is None else plain(charge.unit_price)
    return {
        "kind": charge.kind,
        "ref": charge.ref,
        "description": {"text": charge.description.text, "parameters": dict(charge.description.parameters)},
        "quantity": plain(charge.quantity),
        "unit": charge.unit,
        "unit_price": unit_price,
        "net": money(charge.net, currency),
        "tax_code": line.tax_code,
        "because": (_work_derivation if charge.kind in TAXED_KINDS else _derivation)(book, charge.because),
    }


def _derivation(book: RateBook, because: Derivation) -> Data:
    """How a line came about, each sum with its numbers filled in."""
    return {
        "rule": because.rule,
        "inputs": [
            {"table": cell.table, "row": cell.row, "column": cell.column, "value": cell.value}
            for cell in because.inputs
        ],
        "working": [
            {"name": step.name, "formula": step.formula, "value": shown(step.value)} for step in because.working
        ],
    }


_work_derivation = remembered(_derivation)
"""The engine remembers the charges for the work, so their derivations need not be written out anew each time."""


def _tax(row: TaxRow, currency: Currency) -> Data:
    return {
        "code": row.code,
        "name": row.name,
        "rate": None if row.rate is None else format(row.rate, "f"),
        "taxable": money(row.taxable, currency),
        "tax": money(row.tax, currency),
    }


def _time(time: Time) -> Data:
    return {name: format(getattr(time, name), "f") for name in TIMES}


def _step(step: StepOnBench, book: RateBook) -> Data:
    row = book.steps[step.step]
    return {
        "step": step.step,
        "title": row.title,
        "repair": step.repair,
        "expected_minutes": plain(step.expected_minutes),
        "quoted_minutes": plain(step.quoted_minutes),
        "dwell_minutes": plain(step.dwell_minutes),
        "caution": row.caution,
        "tools": list(row.tools),
    }


def _caution(book: RateBook, code: str) -> Data:
    caution = book.cautions[code]
    customer = caution.customer or caution.text
    return {"code": code, "text": caution.text, "customer": customer, "source": caution.source}


@remembered
def _consumption(book: RateBook, device: str, steps: tuple[str, ...]) -> list[Data]:
    """What to lay out of each consumable."""
    return [
        {
            "consumable": each.consumable.code,
            "title": each.consumable.title,
            "unit": each.consumable.unit,
            "needed": plain(each.needed),
            "billed": plain(each.billed),
        }
        for each in consumption(book, device, steps)
    ]


@remembered
def _cuts(book: RateBook, device: str, steps: tuple[str, ...]) -> list[Data]:
    """What to cut to length."""
    return [
        {
            "consumable": cut.consumable.code,
            "title": cut.consumable.title,
            "width_mm": None if cut.consumable.width_mm is None else plain(cut.consumable.width_mm),
            "pieces": [asdict(piece) | {"length_mm": plain(piece.length_mm)} for piece in cut.pieces],
        }
        for cut in cut_list(book, device, steps)
    ]


def _part(charge: Charge, book: RateBook) -> Data:
    part = book.parts[charge.ref]
    return {
        "sku": part.sku,
        "title": part.title,
        "slot": part.slot,
        "grade": part.grade,
        "condition": part.condition,
        "quantity": plain(charge.quantity),
    }


def _contingency(each: Contingency, currency: Currency) -> Data:
    return {"finding": each.finding, **_outcome(each.outcome, currency)}


def _alternative(each: Alternative, currency: Currency) -> Data:
    return {"procedure": each.procedure, "grade": each.grade, **_outcome(each.outcome, currency)}


def _outcome(outcome: Outcome, currency: Currency) -> Data:
    if outcome.gross is None or outcome.difference is None:
        return {"refused": outcome.refused}
    return {"gross": money(outcome.gross, currency), "difference": money(outcome.difference, currency)}


def _economics(economics: Economics) -> Data:
    return {
        "cost": format(economics.cost, "f"),
        "margin": None if economics.margin is None else format(economics.margin, "f"),
        "floor": format(economics.floor, "f"),
        "below_floor": economics.below_floor,
    }


def _law(law: LawProfile, notices: Iterable[LawNotice]) -> Data:
    """What documents print and decisions are held to; of the notices those that are about this job."""
    excess, consent = law.excess, law.consent
    return {
        "code": law.code,
        "title": law.title,
        "reviewed": law.reviewed,
        "label": law.label,
        "tax_in_price": law.tax_in_price,
        "excess": {"share": format(excess.share, "f"), "of": excess.of, "from": excess.starts_at},
        "validity_days": law.minimum_validity_days,
        "consent": {"how": list(consent.how), "number": consent.number},
        "notices": [
            {"code": notice.code, "must_be_told": notice.must_be_told, "texts": dict(notice.texts)}
            for notice in notices
        ],
    }


def _titles(quote: Quote, book: RateBook) -> Data:
    """What people call the codes of this quote, so that it can be shown without the book."""
    device = book.devices[quote.job.device]
    findings = (*quote.job.findings, *(each.finding for each in quote.contingencies))
    return {
        "device": f"{device.maker} {device.model}",
        "procedures": {repair.procedure: book.procedures[repair.procedure].title for repair in quote.job.repairs},
        "findings": {code: book.findings[code].title for code in findings},
    }
