"""An effect as rows, as CSV and as plain data. Numbers are text as they are stored: a point, no grouping."""

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from quoter.books.effect import Change, EntryEffect, JobEffect, JobsEffect, ListEffect
from quoter.books.effect_rows import RATE_DIGITS, NotPriced, Side
from quoter.books.effect_summary import MarginsOf, Spread, Summary, Takings
from quoter.engine.earnings import Earning
from quoter.money import Currency

Data = dict[str, Any]
Row = tuple[str, ...]

CHANGE_COLUMNS = (
    "change",
    "old_net",
    "new_net",
    "net_difference",
    "old_gross",
    "new_gross",
    "difference",
    "relative_difference",
    "old_cost",
    "new_cost",
    "old_margin",
    "new_margin",
    "old_below_floor",
    "new_below_floor",
    "old_refused",
    "new_refused",
)
ENTRY_COLUMNS = ("device", "procedure", "grade", *CHANGE_COLUMNS)
JOB_COLUMNS = ("id", "number", *CHANGE_COLUMNS)

_FORMULA_SIGNS = ("=", "+", "-", "@", "＝", "＋", "－", "＠")  # also full-width: some spreadsheets read them alike
_CONTROLS = ("\t", "\r", "\n")


def csv_text(effect: ListEffect | JobsEffect) -> str:
    """The whole effect for a spreadsheet, a line each with a header."""
    return "".join(csv_lines(effect))


def csv_lines(effect: ListEffect | JobsEffect) -> Iterator[str]:
    """The same line by line, for an answer that is sent while it is written."""
    for row in as_rows(effect):
        line = io.StringIO()
        csv.writer(line).writerow(row)
        yield line.getvalue()


def as_rows(effect: ListEffect | JobsEffect) -> Iterator[Row]:
    """A header, then a row each, all text. What is not there is blank; yes is "yes", no is "no".

    Text that a spreadsheet would take for a formula has an apostrophe in front; numbers are left as they are.
    """
    if isinstance(effect, ListEffect):
        yield ENTRY_COLUMNS
        for entry in effect.entries:
            names = (entry.device, entry.procedure, entry.grade or "")
            yield (*map(harmless, names), *_change_cells(entry.change, effect.currency))
    else:
        yield JOB_COLUMNS
        for job in effect.jobs:
            yield (*map(harmless, (job.id, job.number)), *_change_cells(job.change, effect.currency))


def harmless(text: str) -> str:
    """The text as no spreadsheet takes it for a formula."""
    is_formula = text.lstrip().startswith(_FORMULA_SIGNS) or text.startswith(_CONTROLS)
    return f"'{text}" if is_formula else text


def effect_data(effect: ListEffect | JobsEffect, page: slice = slice(None)) -> Data:
    """The effect as plain data, with all of its rows or those of a page. Rates have 6 decimals, and so has cost."""
    currency = effect.currency
    data: Data = {"currency": currency.code, "digits": currency.digits}
    if isinstance(effect, ListEffect):
        data |= {"date": effect.date.isoformat(), "summary": summary_data(effect.summary, currency)}
        return data | {"entries": [entry_effect_data(entry, currency) for entry in effect.entries[page]]}
    sums = {name: _takings(getattr(effect, name), currency) for name in ("issued", "before", "after")}
    data |= {"left_out": effect.left_out, "summary": summary_data(effect.summary, currency), "earned": sums}
    return data | {"jobs": [job_effect_data(job, currency) for job in effect.jobs[page]]}


def entry_effect_data(entry: EntryEffect, currency: Currency) -> Data:
    """A line of the price list under both books."""
    names = {"device": entry.device, "procedure": entry.procedure, "grade": entry.grade}
    return names | _change(entry.change, currency)


def job_effect_data(job: JobEffect, currency: Currency) -> Data:
    """An issued quote under the new book."""
    return {"id": job.id, "number": job.number} | _change(job.change, currency)


def summary_data(summary: Summary, currency: Currency) -> Data:
    """Counts, spreads and margins."""
    return {
        "counts": {**asdict(summary.counts), "total": summary.counts.total},
        "difference": _spread(summary.difference, currency.digits),
        "relative_difference": _spread(summary.relative, RATE_DIGITS),
        "before": _margins(summary.before),
        "after": _margins(summary.after),
    }


def _change(change: Change, currency: Currency) -> Data:
    return {
        "change": change.word,
        "old": _side(change.old, currency),
        "new": _side(change.new, currency),
        "net_difference": _text(change.net_difference, currency.digits),
        "difference": _text(change.difference, currency.digits),
        "relative_difference": _text(change.relative, RATE_DIGITS),
    }


def _side(side: Side, currency: Currency) -> Data | None:
    if side is None:
        return None
    if isinstance(side, NotPriced):
        return {"refused": side.reason}
    return {
        "net": _text(side.net, currency.digits),
        "gross": _text(side.gross, currency.digits),
        "cost": _text(side.cost, RATE_DIGITS),
        "margin": _text(side.margin, RATE_DIGITS),
        "below_floor": side.below_floor,
    }


def _spread(spread: Spread | None, digits: int) -> Data | None:
    return {name: _text(value, digits) for name, value in asdict(spread).items()} if spread else None


def _margins(margins: MarginsOf) -> Data:
    return {
        "priced": margins.priced,
        "below_floor": margins.below_floor,
        "floor": _text(margins.floor, RATE_DIGITS),
        "margin": _spread(margins.spread, RATE_DIGITS),
    }


def _takings(takings: Takings, currency: Currency) -> Data:
    return {
        "jobs": takings.jobs,
        "net": _text(takings.net, currency.digits),
        "gross": _text(takings.gross, currency.digits),
        "cost": _text(takings.cost, RATE_DIGITS),
        "margin": _text(takings.margin, RATE_DIGITS),
    }


def _change_cells(change: Change, currency: Currency) -> Iterator[str]:
    """In the order of CHANGE_COLUMNS."""
    sides = (change.old, change.new)
    yield change.word
    yield from _amounts("net", sides, change.net_difference, currency.digits)
    yield from _amounts("gross", sides, change.difference, currency.digits)
    yield _text(change.relative, RATE_DIGITS) or ""
    for name in ("cost", "margin"):
        yield from (_figure(side, name, RATE_DIGITS) for side in sides)
    for side in sides:
        yield ("yes" if side.below_floor else "no") if isinstance(side, Earning) else ""
    for side in sides:
        yield harmless(side.reason) if isinstance(side, NotPriced) else ""


def _amounts(name: str, sides: Iterable[Side], difference: Decimal | None, digits: int) -> Iterator[str]:
    yield from (_figure(side, name, digits) for side in sides)
    yield _text(difference, digits) or ""


def _figure(side: Side, name: str, digits: int) -> str:
    return _text(getattr(side, name, None), digits) or ""


def _text(value: Decimal | None, digits: int) -> str | None:
    return None if value is None else f"{value:.{digits}f}"
