"""The effect of a change: what a new book makes of every price that there is.

The whole price list under both books, and issued jobs priced again under the new one. Exact, entry by entry; nothing
is sampled. A price here is the gross, which is what the customer pays: whether it goes up or down, and by how much,
is said of that. The books' own memories are left alone: an effect prices with light copies of the books.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from quoter.book import RateBook
from quoter.books.effect_rows import NotPriced, Rows, Side, Sides, decimal
from quoter.books.effect_summary import Summary, Takings, change_word, rounded_ratio, summary_of, takings_of
from quoter.engine.earnings import Earning, earning_of
from quoter.engine.light_memory import forget_much, light_copy
from quoter.engine.price_list import entry_job, grades_of
from quoter.job import Job
from quoter.money import Currency
from quoter.problems import CurrenciesDiffer, JobRefused

Progress = Callable[[int, int], None]
"""Told how many of how many are done. What it raises ends the work and reaches whoever asked for it."""

Entry = tuple[str, str, str | None]
"""A line of the price list: device, procedure, grade of the main part (None where it is not about a part)."""

Item = TypeVar("Item")
EVERY = 200
"""Prices between two calls of `progress`: a twentieth of a second."""


@dataclass(frozen=True, slots=True)
class Change:
    """One price under both books. Differences are new less old, and there where both have a price.

    `word` is one of CHANGES. `difference` is of the gross, `relative` its share of the old gross, to 6 decimals
    (None where that was nothing).
    """

    word: str
    old: Side
    new: Side
    net_difference: Decimal | None = None
    difference: Decimal | None = None
    relative: Decimal | None = None


@dataclass(frozen=True, slots=True)
class EntryEffect:
    """A line of the price list under both books."""

    device: str
    procedure: str
    grade: str | None
    change: Change


@dataclass(frozen=True, slots=True)
class JobEffect:
    """An issued quote (by id and number), and its job under the new book."""

    id: str
    number: str
    change: Change


@dataclass(frozen=True, slots=True)
class IssuedJob:
    """A job as it was issued: with the currency, totals and economics that its quote has."""

    id: str
    number: str
    currency: str
    job: Job
    earning: Earning


@dataclass(frozen=True, slots=True)
class ListEffect:
    """The price list under both books on a day."""

    date: dt.date
    currency: Currency
    entries: Sequence[EntryEffect]
    summary: Summary


@dataclass(frozen=True, slots=True)
class JobsEffect:
    """Issued jobs under a new book.

    `issued` is what all of them earn as they were issued. `before` and `after` compare like with like: the jobs that
    the new book prices too. `left_out` were issued in another currency and count nowhere.
    """

    currency: Currency
    jobs: Sequence[JobEffect]
    summary: Summary
    issued: Takings
    before: Takings
    after: Takings
    left_out: int


def unwatched(done: int, total: int) -> None:
    """The progress that nobody asked for."""


def list_effect(old: RateBook, new: RateBook, date: dt.date, progress: Progress = unwatched) -> ListEffect:
    """Every entry of both price lists, priced on a day: in the order of the new list, then what only the old has.

    An entry is new or gone where one of the books does not offer it at all. Where the books differ in the grades of
    part that fit, it is newly possible or newly refused: a price list leaves out a grade that cannot be had, and here
    the refusal says so. (The entry without a grade that a list has in their place is left out where it is refused
    too.) Raises CurrenciesDiffer.
    """
    if old.currency != new.currency:
        raise CurrenciesDiffer(f"one version is in {old.currency.code}, the other in {new.currency.code}")
    entries, old_side, new_side = [], Sides(new.currency.digits), Sides(new.currency.digits)
    for entry, before, after in _list_sides(old, new, date, progress):
        entries.append(entry)
        old_side.append(before)
        new_side.append(after)
    changes = _changes(old_side, new_side, new.currency)
    return ListEffect(
        date=date,
        currency=new.currency,
        entries=Rows(len(entries), lambda place: EntryEffect(*entries[place], changes(place))),
        summary=summary_of(old_side, new_side, old.policy.minimum_margin, new.policy.minimum_margin, new.currency),
    )


def jobs_effect(issued: Iterable[IssuedJob], total: int, new: RateBook, progress: Progress = unwatched) -> JobsEffect:
    """Issued jobs as they were and as the new book prices them; `total` says how many, for the progress alone.

    Each job keeps its own date, so it is taxed as on that day, by the rates that the new book's tax profile has for
    it. What quotes earn counts as if every one had been accepted. Of the old floor nothing is known but which quotes
    were below theirs: they may come from many versions.
    """
    till, left_out = _Till(new), 0
    ids: list[str] = []
    numbers: list[str] = []
    old_side, new_side = Sides(new.currency.digits), Sides(new.currency.digits)
    for each in _watched(issued, total, progress):
        if each.currency != new.currency.code:
            left_out += 1
            continue
        ids.append(each.id)
        numbers.append(each.number)
        old_side.append(each.earning)
        new_side.append(till.side(each.job))
    changes = _changes(old_side, new_side, new.currency)
    both = [place for place in range(len(ids)) if new_side.is_priced(place)]
    return JobsEffect(
        currency=new.currency,
        jobs=Rows(len(ids), lambda place: JobEffect(ids[place], numbers[place], changes(place))),
        summary=summary_of(old_side, new_side, None, new.policy.minimum_margin, new.currency),
        issued=takings_of(old_side, range(len(ids)), new.currency),
        before=takings_of(old_side, both, new.currency),
        after=takings_of(new_side, both, new.currency),
        left_out=left_out,
    )


def entries_of(book: RateBook) -> Iterator[Entry]:
    """The entries of the price list, in its order."""
    for device in book.devices:
        for procedure in book.offered[device]:
            for grade in grades_of(device, procedure, book):
                yield device, procedure, grade


def _watched(items: Iterable[Item], total: int, progress: Progress) -> Iterator[Item]:
    """The items, with progress told before every so many and after the last."""
    done = 0
    for item in items:
        if done % EVERY == 0:
            progress(done, max(done, total))
        yield item
        done += 1
    progress(done, done)


class _Till:
    """A copy of a book that prices very many jobs without remembering ever more."""

    def __init__(self, book: RateBook) -> None:
        self.book = light_copy(book)
        self._priced = 0

    def side(self, job: Job) -> Side:
        """The job's earning, or why there is none."""
        if self._priced % EVERY == 0:
            forget_much(self.book)
        self._priced += 1
        try:
            return earning_of(job, self.book)
        except JobRefused as refused:
            return NotPriced(str(refused))


class _Offers:
    """What the entries of either list come to in one book on a day."""

    def __init__(self, book: RateBook, date: dt.date) -> None:
        self.listed = dict.fromkeys(entries_of(book))
        self._till, self._date = _Till(book), date

    def side(self, entry: Entry) -> Side:
        """None where the book does not have it.

        A grade can be asked for wherever a procedure is about a part; no grade means what the book's own list means.
        """
        _, procedure, grade = entry
        book = self._till.book
        is_asked = grade is not None and self.offers(entry) and book.procedures[procedure].slot is not None
        if not (is_asked or entry in self.listed):
            return None
        return self._till.side(entry_job(*entry, book, self._date))

    def offers(self, entry: Entry) -> bool:
        """Whether the book offers the procedure for the device, of whatever grade."""
        device, procedure, _ = entry
        return procedure in self._till.book.offered.get(device, ())


def _list_sides(old: RateBook, new: RateBook, date: dt.date, progress: Progress) -> Iterator[tuple[Entry, Side, Side]]:
    """Every entry under both books."""
    old_offers, new_offers = _Offers(old, date), _Offers(new, date)
    union = dict.fromkeys((*new_offers.listed, *old_offers.listed))
    for entry in _watched(union, len(union), progress):
        before, after = old_offers.side(entry), new_offers.side(entry)
        if not (_stands_for_grades(entry, before, after) and old_offers.offers(entry) and new_offers.offers(entry)):
            yield entry, before, after


def _stands_for_grades(entry: Entry, before: Side, after: Side) -> bool:
    """Whether it is in one list only, without a grade, and refused: no part fits there."""
    is_in_one = (before is None) != (after is None)
    return entry[2] is None and is_in_one and isinstance(before or after, NotPriced)


def _changes(old: Sides, new: Sides, currency: Currency) -> Callable[[int], Change]:
    """The change at a place."""

    def change(place: int) -> Change:
        word, before, after = change_word(old, new, place), old[place], new[place]
        if not (old.is_priced(place) and new.is_priced(place)):
            return Change(word, before, after)
        difference = new.gross(place) - old.gross(place)
        return Change(
            word=word,
            old=before,
            new=after,
            net_difference=decimal(new.net(place) - old.net(place), currency.digits),
            difference=decimal(difference, currency.digits),
            relative=rounded_ratio(difference, old.gross(place)),
        )

    return change


def differences_of(effect: ListEffect | JobsEffect) -> list[Decimal]:
    """Of all that has a price under both books: what a picture of the changes is made of."""
    return [change.difference for change in changes_of(effect) if change.difference is not None]


def margins_of(effect: ListEffect | JobsEffect) -> tuple[list[Decimal], list[Decimal]]:
    """All margins before, and all after."""
    changes = list(changes_of(effect))
    return _margins(change.old for change in changes), _margins(change.new for change in changes)


def changes_of(effect: ListEffect | JobsEffect) -> Iterator[Change]:
    """One a row, in their order."""
    rows = effect.entries if isinstance(effect, ListEffect) else effect.jobs
    return (row.change for row in rows)


def _margins(sides: Iterable[Side]) -> list[Decimal]:
    return [side.margin for side in sides if isinstance(side, Earning) and side.margin is not None]
