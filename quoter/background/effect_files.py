"""What a measurement comes to: figures for the page, tables and pictures to keep, and words for the command line."""

import json
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from quoter.book import RateBook
from quoter.books.effect import EntryEffect, JobEffect, JobsEffect, ListEffect
from quoter.books.effect_output import csv_text, effect_data
from quoter.books.effect_rows import Side
from quoter.books.effect_summary import Spread, Summary
from quoter.documents.drawing import Picture
from quoter.documents.labels import Labels
from quoter.documents.margin_drawing import Margins
from quoter.documents.pictures import changes_picture, margins_picture, relative_changes_picture
from quoter.engine.earnings import Earning
from quoter.money import Currency
from quoter.records.rates import EffectFile
from quoter.words.formats import Formats, formats_for

Data = dict[str, Any]


def result_of(prices: ListEffect, quotes: JobsEffect) -> Data:
    """The figures that sum it up."""
    return {
        "prices": _summary(prices.summary, prices.currency) | {"entries": len(prices.entries)},
        "quotes": _summary(quotes.summary, quotes.currency)
        | {"jobs": len(quotes.jobs), "left_out": quotes.left_out}
        | {
            name: {
                "before": _text(getattr(quotes.before, name)),
                "after": _text(getattr(quotes.after, name)),
            }
            for name in ("net", "gross", "cost", "margin")
        },
    }


def _summary(summary: Summary, currency: Currency) -> Data:
    counts = summary.counts
    words = ("up", "down", "same", "newly_refused", "newly_possible", "still_refused", "gone", "new")
    return {
        "currency": currency.code,
        "counts": {word: getattr(counts, word) for word in words},
        **_spread(summary.difference),
        "below_floor": {"before": summary.before.below_floor, "after": summary.after.below_floor},
        "margin": {
            "before": _text(summary.before.spread.median if summary.before.spread else None),
            "after": _text(summary.after.spread.median if summary.after.spread else None),
        },
    }


def _spread(spread: Spread | None) -> Data:
    names = ("smallest", "median", "largest")
    return {name: _text(getattr(spread, name) if spread else None) for name in names}


def _text(value: Decimal | None) -> str | None:
    return None if value is None else format(value, "f")


def files_of(prices: ListEffect, quotes: JobsEffect, book: RateBook) -> Iterator[EffectFile]:
    """Every entry and every quote as CSV and JSON, and the pictures."""
    for name, effect in (("prices", prices), ("quotes", quotes)):
        yield EffectFile(f"{name}.csv", "text/csv; charset=utf-8", csv_text(effect))
        yield EffectFile(f"{name}.json", "application/json", json.dumps(effect_data(effect), ensure_ascii=False))
    for name, drawn in _pictures(prices, quotes, book):
        yield EffectFile(f"{name}.svg", "image/svg+xml", drawn.svg)


def _pictures(prices: ListEffect, quotes: JobsEffect, book: RateBook) -> Iterator[tuple[str, Picture]]:
    labels = _labels(formats_for(book.locale), book.currency)
    changes = [each.change for each in prices.entries]
    differences = [each.difference for each in changes if each.difference is not None]
    yield "changes", changes_picture(differences, labels, book.currency.unit)
    shares = [each.relative for each in changes if each.relative is not None]
    yield "relative-changes", relative_changes_picture(shares, labels)
    yield "margins", margins_picture(*_margins(list(prices.entries), prices.summary), labels)
    yield "quote-margins", margins_picture(*_margins(list(quotes.jobs), quotes.summary), labels)


def _labels(formats: Formats, currency: Currency) -> Labels:
    return Labels(
        money=lambda amount: formats.money(currency.round(amount), currency.code, currency.digits),
        percent=formats.percent,
        count=lambda number: formats.number(Decimal(number)),
    )


def _margins(effects: list[EntryEffect] | list[JobEffect], summary: Summary) -> tuple[Margins, Margins]:
    before = [margin for each in effects if (margin := _margin(each.change.old)) is not None]
    after = [margin for each in effects if (margin := _margin(each.change.new)) is not None]
    return (
        Margins(before, summary.before.below_floor, summary.before.floor),
        Margins(after, summary.after.below_floor, summary.after.floor),
    )


def _margin(side: Side) -> Decimal | None:
    return side.margin if isinstance(side, Earning) else None


def words_of(prices: ListEffect, quotes: JobsEffect, book: RateBook) -> Iterator[str]:
    """The same in a few lines of text; the pictures' descriptions say most of it."""
    counts = result_of(prices, quotes)["prices"]["counts"]
    yield "Price list: " + ", ".join(f"{number} {word.replace('_', ' ')}" for word, number in counts.items()) + "."
    for name, drawn in _pictures(prices, quotes, book):
        if name != "quote-margins" or len(quotes.jobs):
            yield f"{drawn.title}: {drawn.description}"
    if len(quotes.jobs):
        before, after = quotes.before, quotes.after
        yield f"{before.jobs} issued quotes would have earned {after.net} net at a cost of {after.cost}"
        yield f"instead of {before.net} at {before.cost}."
