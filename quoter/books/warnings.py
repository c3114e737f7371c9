"""What is not wrong in a rate book and yet probably not meant. Pure; finds and never raises.

A book with flaws cannot be priced with and is not looked at here; a warning stops nobody. Warnings come in the order of
WARNINGS, those that need the whole price list last.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation, localcontext
from functools import cached_property
from itertools import islice

from quoter.book import Finding, RateBook
from quoter.books.far_numbers import far_numbers
from quoter.books.reading import BOOK_FILE
from quoter.engine.compose import price_of
from quoter.engine.economics import economics
from quoter.engine.light_memory import forget_much, light_copy
from quoter.engine.memory import remembered
from quoter.engine.parts import landed_cost
from quoter.engine.price_list import entry_job, grades_of
from quoter.money import ARITHMETIC, ZERO
from quoter.problems import Flaw, JobRefused
from quoter.quote import Economics, shown

WORST = 20
"""Entries below the floor that are listed."""

MOST_OF_A_SORT = 1000
"""Warnings that are listed of one sort. Whoever has more has one reason for them."""


def warnings(book: RateBook, previous: RateBook | None, date: dt.date, *, with_prices: bool = True) -> list[Flaw]:
    """Every warning about a book, beside the version before it if there is one; prices are those of a day.

    With prices it takes as long as the price list, and as the previous one of the parts that have become dearer.
    """
    versions = Versions(book, previous, date)
    sorts = (*WARNINGS, *(PRICE_WARNINGS if with_prices else ()))
    with localcontext(ARITHMETIC):
        return [flaw for sort in sorts for flaw in _bounded(sort(versions))]


def _bounded(found: Iterable[Flaw]) -> Iterator[Flaw]:
    """The first thousand, and how many more there are."""
    rest = iter(found)
    listed = list(islice(rest, MOST_OF_A_SORT))
    yield from listed
    more = sum(1 for _ in rest)
    if more:
        yield Flaw(listed[-1].table, listed[-1].column, f"{more} more like these", suggestion="look at those first")


# what several warnings read


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry of the price list as the owner sees it; `landed` are the SKUs of its parts and what each costs."""

    device: str
    procedure: str
    grade: str | None
    net: Decimal
    landed: tuple[tuple[str, Decimal], ...]
    economics: Economics

    @property
    def parts_cost(self) -> Decimal:
        """What the parts cost the shop."""
        return sum((cost for _, cost in self.landed), ZERO)

    def __str__(self) -> str:
        return " ".join(filter(None, (self.device, self.procedure, self.grade)))


@dataclass(frozen=True)
class Versions:
    """A book, the version before it and the day of the prices. What follows from them is worked out once."""

    book: RateBook
    previous: RateBook | None
    date: dt.date

    @property
    def comparable(self) -> RateBook | None:
        """The previous version, if its amounts are of the same currency."""
        return self.previous if self.previous and self.previous.currency == self.book.currency else None

    @cached_property
    def entries(self) -> list[Entry]:
        """The price list without what cannot be priced."""
        return list(_entries(light_copy(self.book), self.date))

    @cached_property
    def reach(self) -> dict[tuple[str, str], frozenset[str]]:
        """By device and procedure: every step that the repair could come to."""
        return {
            (device, procedure): reachable_steps(self.book, procedure, repair.extra_steps, findings)
            for device, repairs in self.book.offered.items()
            for findings in [_possible_findings(self.book, tuple(repairs))]
            for procedure, repair in repairs.items()
        }

    @cached_property
    def reached(self) -> frozenset[str]:
        """Every step that any repair could come to."""
        return _united(self.reach.values())


@remembered
def _possible_findings(book: RateBook, procedures: tuple[str, ...]) -> tuple[str, ...]:
    """The findings that may be on a job of these procedures and leave it a price."""
    return tuple(
        code
        for code, finding in book.findings.items()
        if not finding.stops and (not finding.procedures or not set(finding.procedures).isdisjoint(procedures))
    )


@remembered
def reachable_steps(
    book: RateBook, procedure: str, extra_steps: tuple[str, ...], findings: tuple[str, ...]
) -> frozenset[str]:
    """Every step that a repair could come to: whichever of the findings are seen, whichever parts are fitted or not.

    As `engine.plan.reachable_slots`, but a step that is replaced, or done without its part, counts with what stands
    in for it. A replacement by a finding counts also where it is due to another repair of the job.
    """
    found = [book.findings[code] for code in findings]
    stand_ins: dict[str, list[str]] = {}
    for old, new in (pair for finding in found for pair in finding.replaces):
        stand_ins.setdefault(old, []).append(new)
    adds = (step for each in found if not each.procedures or procedure in each.procedures for step in each.adds)
    waiting = [*book.procedures[procedure].goals, *extra_steps, *adds]
    seen: set[str] = set()
    while waiting:
        code = waiting.pop()
        if code not in seen:
            seen.add(code)
            step = book.steps[code]
            substitute = (step.without_part,) if step.slot and step.without_part else ()
            waiting += [*step.needs, *stand_ins.get(code, ()), *substitute]
    return frozenset(seen)


def _entries(book: RateBook, date: dt.date) -> Iterator[Entry]:
    for device, repairs in book.offered.items():
        forget_much(book)
        for procedure in repairs:
            for grade in grades_of(device, procedure, book):
                entry = _entry(book, device, procedure, grade, date)
                if entry:
                    yield entry


def _entry(book: RateBook, device: str, procedure: str, grade: str | None, date: dt.date) -> Entry | None:
    """The repair alone, for a consumer, without findings, as in the price list; None where it has no price."""
    try:
        base = price_of(entry_job(device, procedure, grade, book, date), book)
        landed = tuple((part.sku, landed_cost(part, book)) for part in base.work.parts)
        return Entry(device, procedure, grade, base.totals.net, landed, economics(base, book))
    except (JobRefused, InvalidOperation):
        return None


def far_from_before(versions: Versions) -> Iterator[Flaw]:
    """Numbers far from what they were. Amounts of another currency are not compared."""
    return far_numbers(versions.book, versions.comparable) if versions.comparable else iter(())


# what leads nowhere


def unoffered_procedures(versions: Versions) -> Iterator[Flaw]:
    """Procedures that are offered for no device."""
    offered = {procedure for _, procedure in versions.book.offers}
    for code in versions.book.procedures:
        if code not in offered:
            yield Flaw("procedures", "code", "nobody offers it", key=code, value=code, suggestion="a row in offers.csv")


def devices_without_offers(versions: Versions) -> Iterator[Flaw]:
    """Devices for which nothing is offered."""
    for device, repairs in versions.book.offered.items():
        if not repairs:
            right = "a row in offers.csv"
            yield Flaw("devices", "code", "nothing is offered for it", key=device, value=device, suggestion=right)


def devices_without_parts(versions: Versions) -> Iterator[Flaw]:
    """Devices for which a repair about a slot is offered, and no part fits that slot."""
    book = versions.book
    for device, repairs in book.offered.items():
        procedures: dict[str, list[str]] = {}
        for procedure in repairs:
            slot = book.procedures[procedure].slot
            if slot and not book.parts_for(device, slot):
                procedures.setdefault(slot, []).append(procedure)
        for slot, offered in procedures.items():
            message = f"{' and '.join(offered)} is offered for it, but no part fits its slot {slot}"
            right = f"a part with the slot {slot} that lists it under devices"
            yield Flaw("devices", "code", message, key=device, value=device, suggestion=right)


def unused_parts(versions: Versions) -> Iterator[Flaw]:
    """Parts for whose slot no repair that is offered for their devices can ask."""
    book = versions.book
    slots = {steps: {book.steps[code].slot for code in steps} for steps in set(versions.reach.values())}
    asked: dict[str, set[str | None]] = {}
    for (device, _), steps in versions.reach.items():
        asked.setdefault(device, set()).update(slots[steps])
    for part in book.parts.values():
        if not any(part.slot in asked.get(device, ()) for device in part.devices):
            message = f"nothing that is offered for its devices can ask for a part in the slot {part.slot}"
            right = "the slot, the devices, the offers for them"
            yield Flaw("parts", "slot", message, key=part.sku, value=part.slot, suggestion=right)


def unused_consumables(versions: Versions) -> Iterator[Flaw]:
    """Consumables that no step uses, or only steps to which no offer comes."""
    steps: dict[str, list[str]] = {}
    for usage in versions.book.usage:
        steps.setdefault(usage.consumable, []).append(usage.step)
    for code in versions.book.consumables:
        using = steps.get(code, [])
        if versions.reached.isdisjoint(using):
            message = f"no offer comes to {', '.join(using)}, which would use it" if using else "no step uses it"
            yield Flaw("consumables", "code", message, key=code, value=code, suggestion="a row in usage.csv")


def hidden_menu_rows(versions: Versions) -> Iterator[Flaw]:
    """Menu prices that can never win: the one for any grade stands before them."""
    for rows in versions.book.menu_by_repair.values():
        any_grade = next((place for place, row in enumerate(rows) if row.grade is None), len(rows))
        for row in rows[any_grade + 1 :]:
            key = " ".join(filter(None, (row.device, row.procedure, row.grade)))
            message, right = "it never counts: the row for any grade stands before it", "this row before that one"
            yield Flaw("menu", "grade", message, key=key, value=row.grade or "", suggestion=right)


def idle_findings(versions: Versions) -> Iterator[Flaw]:
    """Findings whose procedures nobody offers, or that affect or replace steps to which no offer comes.

    What a finding adds is come to wherever it concerns an offer. One that stops the job does nothing else.
    """
    by_procedure, by_offers = _steps_by_procedure(versions), _steps_by_offers(versions)
    for finding in versions.book.findings.values():
        named = set(finding.procedures or by_procedure)
        if named.isdisjoint(by_procedure):
            message, value = "nobody offers what it concerns: it never counts", " ".join(finding.procedures)
            yield _idle(finding, "procedures", message, value, "procedures that are offered, or blank for all")
        elif not finding.stops:
            own = _united(by_procedure.get(procedure, frozenset()) for procedure in named)
            of_jobs = _united(steps for offers, steps in by_offers.items() if not named.isdisjoint(offers))
            yield from _idle_steps(finding, "affects", finding.affects, own)
            yield from _idle_steps(finding, "replaces", (old for old, _ in finding.replaces), of_jobs)


def _steps_by_procedure(versions: Versions) -> dict[str, frozenset[str]]:
    """What repairs of each procedure could come to on any device: the steps that may be theirs."""
    found: dict[str, list[frozenset[str]]] = {}
    for (_, procedure), steps in versions.reach.items():
        found.setdefault(procedure, []).append(steps)
    return {procedure: _united(steps) for procedure, steps in found.items()}


def _steps_by_offers(versions: Versions) -> dict[frozenset[str], frozenset[str]]:
    """What jobs could come to on devices with these offers: a replacement reaches into every repair of the job."""
    found: dict[frozenset[str], list[frozenset[str]]] = {}
    for device, repairs in versions.book.offered.items():
        found.setdefault(frozenset(repairs), []).extend(versions.reach[device, procedure] for procedure in repairs)
    return {offers: _united(steps) for offers, steps in found.items()}


def _united(sets: Iterable[frozenset[str]]) -> frozenset[str]:
    return frozenset().union(*set(sets))


def _idle_steps(finding: Finding, column: str, codes: Iterable[str], steps: frozenset[str]) -> Iterator[Flaw]:
    for code in dict.fromkeys(codes):
        if code not in steps:
            message, right = "no offer that it concerns comes to this step", "the step, or the finding's procedures"
            yield _idle(finding, column, message, code, right)


def _idle(finding: Finding, column: str, message: str, value: str, right: str) -> Flaw:
    return Flaw("findings", column, message, key=finding.code, value=value, suggestion=right)


# prices


def falling_prices(versions: Versions) -> Iterator[Flaw]:
    """Parts that cost more than before while an entry of the price list that fits them costs less."""
    digits = versions.book.currency.digits
    for sku, falls in _falls(versions).items():
        old, entry = max(falls, key=lambda fall: fall[0].net - fall[1].net)
        message = (
            f"the net of {entry} falls from {old.net:.{digits}f} to {entry.net:.{digits}f} although its parts cost "
            f"{shown(entry.parts_cost)} instead of {shown(old.parts_cost)}"
        )
        more = f", and so do {len(falls) - 1} more entries" if len(falls) > 1 else ""
        value, right = shown(versions.book.parts[sku].cost), "the markup, the rates and the menu that make the price"
        yield Flaw("parts", "cost", message + more, key=sku, value=value, suggestion=right)


def _falls(versions: Versions) -> dict[str, list[tuple[Entry, Entry]]]:
    """By the part that has risen most: the entries, before and now, whose net falls while their parts cost more."""
    falls: dict[str, list[tuple[Entry, Entry]]] = {}
    if versions.comparable is None:
        return falls
    previous = light_copy(versions.comparable)
    for entry in versions.entries:
        forget_much(previous)
        rises = _rises(entry, previous)
        old = _entry(previous, entry.device, entry.procedure, entry.grade, versions.date) if rises else None
        if old and entry.net < old.net and entry.parts_cost > old.parts_cost:
            falls.setdefault(max(rises, key=lambda sku: rises[sku]), []).append((old, entry))
    return falls


def _rises(entry: Entry, previous: RateBook) -> dict[str, Decimal]:
    """By how much those of its parts cost more that cost more than before."""
    earlier = ((sku, cost, previous.parts.get(sku)) for sku, cost in entry.landed)
    rises = ((sku, cost - landed_cost(part, previous)) for sku, cost, part in earlier if part)
    return {sku: rise for sku, rise in rises if rise > ZERO}


def low_margins(versions: Versions) -> Iterator[Flaw]:
    """How many entries of the price list are below the floor, and the worst of them."""
    book, digits = versions.book, versions.book.currency.digits
    below = [entry for entry in versions.entries if entry.economics.below_floor]
    if below:
        message = f"{len(below)} of {len(versions.entries)} entries of the price list are below the floor"
        value, right = shown(book.policy.minimum_margin), "the worst entries, or a lower minimum margin"
        yield Flaw(BOOK_FILE, "policy.minimum_margin", message, value=value, suggestion=right)
    for entry in sorted(below, key=_margin)[:WORST]:
        money = entry.economics
        margin = "none" if money.margin is None else shown(round(money.margin, 3))
        message = (
            f"the net of {entry}, {entry.net:.{digits}f}, is below the floor {money.floor:.{digits}f} "
            f"(cost {money.cost:.{digits}f}, margin {margin})"
        )
        right = "its part's cost, its minutes, the rates, the menu"
        yield Flaw("offers", "procedure", message, key=f"{entry.device} {entry.procedure}", suggestion=right)


def _margin(entry: Entry) -> Decimal:
    """Of nothing, the worst there is."""
    return Decimal("-Infinity") if entry.economics.margin is None else entry.economics.margin


# what the law wants said


def parts_of_unknown_condition(versions: Versions) -> Iterator[Flaw]:
    """Parts of which nobody knows whether their customers must be told that they are not new; one warning for all."""
    book = versions.book
    silent = [sku for sku, part in book.parts.items() if part.condition is None]
    if silent and book.law and any(notice.when == "used_parts" for notice in book.law.notices):
        message = f"{len(silent)} parts do not say whether they are new, and the law profile wants customers to be told"
        yield Flaw("parts", "condition", message, key=silent[0], suggestion="new, refurbished or used")


Sort = Callable[[Versions], Iterable[Flaw]]

WARNINGS: tuple[Sort, ...] = (
    far_from_before,
    unoffered_procedures,
    devices_without_offers,
    devices_without_parts,
    unused_parts,
    unused_consumables,
    hidden_menu_rows,
    idle_findings,
    parts_of_unknown_condition,
)

PRICE_WARNINGS: tuple[Sort, ...] = (falling_prices, low_margins)
"""Those that need the price list."""
