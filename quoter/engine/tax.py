"""Tax: the code of each line, the rate on a date, three stages of rounding, and cash."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from quoter.book import Component, RateBook, TaxProfile
from quoter.engine.memory import remembered
from quoter.money import ROUNDING_MODES, ZERO, Currency
from quoter.problems import JobRefused, Refusal
from quoter.quote import TaxRow

Amount = tuple[str, Decimal]
"""A tax code and a net amount under it: of a line, or of all lines under the code."""

STAGES = ("line", "rate", "document")


@dataclass(frozen=True, slots=True)
class TaxRules:
    """A profile on a day: by code, the (name, rate) pairs that are rounded one by one, and how."""

    rates: Mapping[str, tuple[tuple[str, Decimal], ...]]
    stage: str
    rounding: str
    combined: bool
    unit: Decimal

    def rounded(self, tax: Decimal) -> Decimal:
        """To the currency's minor unit by the profile's mode."""
        return tax.quantize(self.unit, self.rounding)


@remembered
def tax_rules(book: RateBook, date: dt.date) -> TaxRules:
    """The book's tax profile as it stands on a day."""
    return rules_on(date, book.tax, book.currency)


def rules_on(date: dt.date, profile: TaxProfile, currency: Currency) -> TaxRules:
    """Rates in force; where the profile combines components, they are added first and rounded as one.

    A code that has not begun is not among them: see `refuse_unbegun`.
    """
    begun = {code: parts for code, parts in profile.codes.items() if not parts or _first_day(parts) <= date}
    rates = {code: rates_on(date, components) for code, components in begun.items()}
    if profile.combined:
        rates = {code: _combined(pairs) for code, pairs in rates.items()}
    return TaxRules(rates, profile.stage, ROUNDING_MODES[profile.mode], profile.combined, currency.unit)


def refuse_unbegun(codes: Iterable[str], rules: TaxRules, profile: TaxProfile, date: dt.date) -> None:
    """Refuses a job that needs a code all of whose components begin later: silence would sell without tax."""
    for code in codes:
        if code not in rules.rates:
            first = _first_day(profile.codes[code])
            detail = f"the tax code {code!r} has no rate on {date}; its first begins on {first}"
            raise JobRefused((Refusal("no-tax-rate", "/date", detail),))


def rates_since(date: dt.date, profile: TaxProfile) -> dt.date | None:
    """The day from which the profile says what it says on a date: until the next, prices do not depend on the day.

    None where nothing in it has begun.
    """
    return max((day for day in _starts(profile) if day <= date), default=None)


def rates_change_on(date: dt.date, profile: TaxProfile) -> dt.date | None:
    """The first day after a date on which the profile says something else, as far as it is known."""
    return min((day for day in _starts(profile) if day > date), default=None)


def _starts(profile: TaxProfile) -> Iterator[dt.date]:
    return (component.since for components in profile.codes.values() for component in components)


def _first_day(components: Iterable[Component]) -> dt.date:
    return min(component.since for component in components)


def rates_on(date: dt.date, components: Iterable[Component]) -> tuple[tuple[str, Decimal], ...]:
    """Of each component the rate with the newest `since` that is not after the date."""
    newest: dict[str, Component] = {}
    for component in components:
        known = newest.get(component.name)
        if component.since <= date and (known is None or known.since <= component.since):
            newest[component.name] = component
    return tuple((name, component.rate) for name, component in newest.items())


def _combined(pairs: tuple[tuple[str, Decimal], ...]) -> tuple[tuple[str, Decimal], ...]:
    if not pairs:
        return ()
    return ((" + ".join(name for name, _ in pairs), sum((rate for _, rate in pairs), ZERO)),)


def codes_by_kind(
    profile: TaxProfile, customer_kind: str, fitted: int, landed: Decimal, work_net: Decimal
) -> Mapping[str, str]:
    """The tax code of each kind of line: the profile's, reclassified by the whole job, replaced for the customer.

    `fitted` is how many parts are fitted, `landed` their landed cost, `work_net` the nets from part to disposal.
    """
    codes = profile.lines
    for rule in profile.reclass:
        if fitted if rule.when == "any_part" else landed > rule.above * work_net:
            codes = {**codes, **dict.fromkeys(rule.lines, rule.code)}
    customer = profile.customers.get(customer_kind)
    return dict.fromkeys(codes, customer.code) if customer else codes


def tax_total(amounts: Iterable[Amount], rules: TaxRules) -> Decimal:
    """The tax on all amounts: the sum of `tax_rows`, which need not be written out where a code's tax stands alone."""
    return _tax_on(amounts, rules) if rules.stage == "line" else tax_on_sums(net_by_code(amounts), rules)


def tax_on_sums(sums: Mapping[str, Decimal], rules: TaxRules) -> Decimal:
    """`tax_total` where there is one amount for each code."""
    if rules.stage == "document":
        return sum([row.tax for row in _by_document(sums, rules)], ZERO)
    return _tax_on(sums.items(), rules)


def _tax_on(amounts: Iterable[Amount], rules: TaxRules) -> Decimal:
    return sum([rules.rounded(net * rate) for code, net in amounts for _, rate in rules.rates[code]], ZERO)


def tax_rows(amounts: Iterable[Amount], rules: TaxRules) -> list[TaxRow]:
    """The tax on all amounts, by code and component (by component alone at stage document).

    Stage line: each component of each line is rounded. Stage rate: the sum of nets under a code, times each
    component, rounded. Stage document: for each component the sum over codes of nets times its rate, rounded once.
    """
    if rules.stage == "document":
        return _by_document(net_by_code(amounts), rules)
    if rules.stage == "rate":
        return _by_rate(net_by_code(amounts).items(), rules)
    return _by_line(amounts, rules)


def net_by_code(amounts: Iterable[Amount]) -> dict[str, Decimal]:
    """The sum of nets under each code, in the order in which the codes first occur."""
    sums: dict[str, Decimal] = {}
    for code, net in amounts:
        sums[code] = sums[code] + net if code in sums else ZERO + net
    return sums


def _by_rate(amounts: Iterable[Amount], rules: TaxRules) -> list[TaxRow]:
    return [
        TaxRow(code, name, rate, net, rules.rounded(net * rate))
        for code, net in amounts
        for name, rate in rules.rates[code]
    ]


def _by_line(amounts: Iterable[Amount], rules: TaxRules) -> list[TaxRow]:
    rows: dict[tuple[str | None, str], TaxRow] = {}
    for line in _by_rate(amounts, rules):
        key = (line.code, line.name)
        if key in rows:
            line = TaxRow(*key, line.rate, rows[key].taxable + line.taxable, rows[key].tax + line.tax)
        rows[key] = line
    return list(rows.values())


def _by_document(sums: Mapping[str, Decimal], rules: TaxRules) -> list[TaxRow]:
    groups: dict[str, list[tuple[str, Decimal, Decimal, str]]] = {}
    for code, net in sums.items():
        for name, rate in rules.rates[code]:
            groups.setdefault("" if rules.combined else name, []).append((name, rate, net, code))
    return [_document_row(group, rules) for group in groups.values()]


def _document_row(group: list[tuple[str, Decimal, Decimal, str]], rules: TaxRules) -> TaxRow:
    names = " / ".join(dict.fromkeys(name for name, *_ in group))
    tax = rules.rounded(sum((net * rate for _, rate, net, _ in group), ZERO))
    taxable = sum((net for _, _, net, _ in group), ZERO)
    rates = {rate for _, rate, _, _ in group}
    return TaxRow(
        group[0][3] if len(group) == 1 else None, names, rates.pop() if len(rates) == 1 else None, taxable, tax
    )


def cash_total(gross: Decimal, profile: TaxProfile, currency: Currency) -> Decimal:
    """Gross rounded to the profile's cash increment by its cash mode; without one, gross."""
    step = profile.cash_increment
    if step is None:
        return gross
    return ((gross / step).quantize(Decimal(1), ROUNDING_MODES[profile.cash_mode]) * step).quantize(currency.unit)
