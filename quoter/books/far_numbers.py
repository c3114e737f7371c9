"""Numbers of a rate book that are far from those of the version before it. Pure."""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal, localcontext
from typing import Any

from quoter.book import Component, RateBook
from quoter.books.reading import BOOK_FILE
from quoter.books.tables import TABLES, TRANSLATIONS, Table
from quoter.money import ARITHMETIC, ONE
from quoter.problems import Flaw
from quoter.quote import shown

FAR = 5
"""A number that is so many times the one before, or that one so many times it, is far from it."""

SLIP = Decimal("0.1")
"""How far from a power of ten the factor may be, as a share of it, and still look like a slip of the decimal point."""

POLICY_NUMBERS = {
    "labour.confidence": "confidence",
    "labour.allowance": "allowance",
    "labour.increment_minutes": "increment_minutes",
    "labour.bench_rate": "bench_rate",
    "consumables.markup": "consumables_markup",
    "risk.loading": "risk_loading",
    "policy.minimum_net": "minimum_net",
    "policy.express_rate": "express_rate",
    "policy.minimum_margin": "minimum_margin",
    "policy.max_discount": "max_discount",
    "policy.validity_days": "validity_days",
    "policy.deposit_rate": "deposit_rate",
}
"""Where a setting of book.toml stands in the policy."""

_FIELDS = {"difficulty": "difficulties", "warranty": "warranties"}
"""Where a table stands in the book, if not under its own name."""

TABLES_OF_NUMBERS = tuple(table for table in TABLES if table is not TRANSLATIONS)


def far_numbers(book: RateBook, previous: RateBook) -> Iterator[Flaw]:
    """A flaw for each: of book.toml, of the tax and law profiles, and of the tables' rows that both books have."""
    yield from _far_settings(book, previous)
    yield from _far_bands(book, previous)
    yield from _far_tax_rates(book, previous)
    yield from _far_law(book, previous)
    for table in TABLES_OF_NUMBERS:
        yield from _far_cells(table, _rows(book, table), _rows(previous, table))


def _far_settings(book: RateBook, previous: RateBook) -> Iterator[Flaw]:
    earlier = _settings(previous)
    for key, number in _settings(book).items():
        yield from _far(BOOK_FILE, key, "", earlier.get(key), number)


def _settings(book: RateBook) -> dict[str, Any]:
    policy, ending = book.policy, book.policy.price_ending
    return {
        **{key: getattr(policy, name) for key, name in POLICY_NUMBERS.items()},
        "policy.price_ending.unit": ending.unit,
        "policy.price_ending.minus": ending.minus,
        **{f"fx.{code}": rate for code, rate in policy.fx.items()},
    }


def _far_bands(book: RateBook, previous: RateBook) -> Iterator[Flaw]:
    """One band more or less, and they are no longer the same bands."""
    bands, earlier = book.policy.parts_markup, previous.policy.parts_markup
    for number, (old, new) in enumerate(zip(earlier, bands, strict=False), start=1):
        if len(bands) == len(earlier):
            yield from _far(BOOK_FILE, f"parts.markup {number}.upto", "", old.upto, new.upto)
            yield from _far(BOOK_FILE, f"parts.markup {number}.rate", "", old.rate, new.rate)


def _far_tax_rates(book: RateBook, previous: RateBook) -> Iterator[Flaw]:
    """Each rate beside the one that counted on its first day before; a new rate is an edit, too."""
    file = f"tax/{book.tax.code}.toml"
    yield from _far(file, "cash_increment", "", previous.tax.cash_increment, book.tax.cash_increment)
    for code, components in book.tax.codes.items():
        for number, new in enumerate(components, start=1):
            old = _counted_before(previous.tax.codes.get(code, ()), new)
            yield from _far(file, f"codes.{code}.components {number}.rate", "", old, new.rate)


def _far_law(book: RateBook, previous: RateBook) -> Iterator[Flaw]:
    """A share of 1 where 0.1 was meant would let every price double without a word."""
    new, old = book.law, previous.law
    if new and old:
        file = f"law/{new.code}.toml"
        yield from _far(file, "excess.share", "", old.excess.share, new.excess.share)
        yield from _far(file, "minimum_validity_days", "", old.minimum_validity_days, new.minimum_validity_days)


def _counted_before(components: Iterable[Component], new: Component) -> Decimal | None:
    begun = (each for each in components if each.name == new.name and each.since <= new.since)
    newest = max(begun, key=lambda each: each.since, default=None)
    return newest.rate if newest else None


def _far_cells(table: Table, rows: Mapping[str, Any], earlier: Mapping[str, Any]) -> Iterator[Flaw]:
    for key, row in rows.items():
        old = earlier.get(key)
        if old is not None and old != row:
            for column in table.header:
                yield from _far(table.name, column, key, getattr(old, column), getattr(row, column))


def _rows(book: RateBook, table: Table) -> dict[str, Any]:
    rows: Any = getattr(book, _FIELDS.get(table.name, table.name))
    values: Iterable[Any] = rows.values() if isinstance(rows, Mapping) else rows
    return {" ".join(filter(None, (getattr(row, column) for column in table.key))): row for row in values}


def _far(table: str, column: str, key: str, old: Any, new: Any) -> Iterator[Flaw]:
    """Nothing is far from zero, and no word from any other."""
    if old == new or not (isinstance(old, Decimal | int) and isinstance(new, Decimal | int) and old and new):
        return
    was, now = Decimal(old), Decimal(new)
    if now < FAR * was and was < FAR * now:
        return
    with localcontext(ARITHMETIC):
        factor = max(now / was, was / now)
        places = int(factor.log10().to_integral_value())
        is_slip = abs(factor.scaleb(-places) - ONE) <= SLIP
        meant = now.scaleb(-places if now > was else places).normalize()
    times = f"{shown(round(factor, 1).normalize())} times"
    change = f"{times} what it was ({shown(was)})" if now > was else f"it was {times} as much ({shown(was)})"
    message = f"{change}: a likely slip of the decimal point" if is_slip else change
    right = f"perhaps {shown(meant)}" if is_slip else "whether this is meant"
    yield Flaw(table, column, message, key=key, value=shown(now), suggestion=right)
