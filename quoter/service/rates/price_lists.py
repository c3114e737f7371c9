"""The price list of a book for the web: every entry priced once, when somebody first asks for it, and kept small."""

import datetime as dt
import threading
import zlib
from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import islice

from quoter.book import RateBook
from quoter.books.effect import Entry, entries_of
from quoter.engine.light_memory import forget_much, light_copy
from quoter.engine.price_list import ListEntry, list_entry
from quoter.engine.refusals import suggestions
from quoter.engine.tax import rates_change_on, rates_since
from quoter.problems import REASONS, NotFound
from quoter.service.rates.devices import devices_matching
from quoter.service.made_once import MadeOnce

MOST_LISTS = 3
"""Of books, or of days on which other tax rates count; 10 MB each at 60,000 entries."""

MOST_BYTES = 24_000_000
"""Of compressed answers. The whole list of 60,000 entries takes 2 MB in one format and locale."""

MOST_REMEMBERED = 5_000
"""Findings of all rules while a list is priced. Devices share little, so that more would only fill memory."""

BATCH = 25
"""Entries that are priced before somebody else has a turn: some 5 ms."""

MOST_AT_WORK = 4
"""Requests that work out a large answer or wait for one, of the eight that the service works on at a time."""

SMALL_LIST = 1_000
"""Entries, up to which an answer is a matter of a moment."""

DEPENDS_ON_THE_DAY = "no-tax-rate"
"""The reason whose words name the day; here its title says enough, so that what is kept does not change at midnight."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What of the list: every condition must hold, None and no words take anything."""

    device: str | None = None
    kind: str | None = None
    procedure: str | None = None
    grade: str | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Refused:
    """Why there is no price: one of REASONS, and in words."""

    reason: str
    detail: str


@dataclass(frozen=True, slots=True)
class Listed:
    """An entry with what it comes to: amounts in the currency's minor unit, days until the parts are there."""

    device: str
    procedure: str
    grade: str | None
    net: Decimal
    tax: Decimal
    gross: Decimal
    lead_days: int


@dataclass(frozen=True, slots=True)
class NotListed:
    """An entry that cannot be priced."""

    device: str
    procedure: str
    grade: str | None
    refused: Refused


@dataclass(frozen=True, slots=True)
class TaxPeriod:
    """The days on which the same tax rates count as on the day of the list, as far as they are known."""

    since: dt.date | None
    until: dt.date | None

    @classmethod
    def around(cls, day: dt.date, book: RateBook) -> "TaxPeriod":
        """The one that a day is in; `until` is its last day."""
        change = rates_change_on(day, book.tax)
        return cls(rates_since(day, book.tax), change - dt.timedelta(days=1) if change else None)


PriceOne = Callable[[str, str, str | None, RateBook, dt.date], ListEntry]


class PricedList:
    """All entries of a book under the tax rates of a period, in the book's order. An entry is priced at most once.

    What an entry comes to is kept as a line of text: a twentieth of what its numbers would take.
    """

    def __init__(self, book: RateBook, day: dt.date, price: PriceOne = list_entry) -> None:
        self.book, self.period = book, TaxPeriod.around(day, book)
        self.entries: tuple[Entry, ...] = tuple(entries_of(book))
        self.priced = 0
        self._day, self._price = self.period.since or day, price
        self._bench = light_copy(book)
        self._found: list[str | Refused | None] = [None] * len(self.entries)
        self._reasons: dict[Refused, Refused] = {}
        self._lock = threading.Lock()
        self._places: dict[str, range] = {}
        for place, (device, _, _) in enumerate(self.entries):
            self._places[device] = range(self._places.get(device, range(place, place)).start, place + 1)

    def places(self, wanted: Wanted) -> Sequence[int]:
        """Where the entries are that are wanted: with words the best match first."""
        if wanted == Wanted():
            return range(len(self.entries))
        return [
            place
            for device in _devices(wanted, self.book)
            for place in self._places.get(device, ())
            if wanted.procedure in (None, self.entries[place][1]) and wanted.grade in (None, self.entries[place][2])
        ]

    def listed(self, places: Iterable[int]) -> Iterator[Listed | NotListed]:
        """The entries at these places. Others have a turn between two batches, of this list and of the processor."""
        remaining = iter(places)
        while batch := tuple(islice(remaining, BATCH)):
            with self._lock:
                self._price_all([place for place in batch if self._found[place] is None])
            yield from map(self._listed, batch)

    def _price_all(self, places: Sequence[int]) -> None:
        for place in places:
            self._found[place] = self._kept(self._price(*self.entries[place], self._bench, self._day))
        self.priced += len(places)
        forget_much(self._bench, MOST_REMEMBERED)

    def _kept(self, entry: ListEntry) -> str | Refused:
        if entry.totals is not None:
            totals = entry.totals
            return f"{totals.net:f} {totals.tax:f} {totals.gross:f} {entry.lead_days}"
        reason, detail = entry.reason or "job-refused", entry.refused or ""
        refused = Refused(reason, REASONS[reason] if reason == DEPENDS_ON_THE_DAY else detail)
        return self._reasons.setdefault(refused, refused)

    def _listed(self, place: int) -> Listed | NotListed:
        found, entry = self._found[place], self.entries[place]
        if isinstance(found, Refused):
            return NotListed(*entry, found)
        net, tax, gross, lead_days = (found or "").split()
        return Listed(*entry, Decimal(net), Decimal(tax), Decimal(gross), int(lead_days))


def check_wanted(wanted: Wanted, book: RateBook) -> None:
    """Raises NotFound for a code that the book does not have, with those that are alike."""
    kinds = dict.fromkeys(device.kind for device in book.devices.values()) if wanted.kind is not None else ()
    known: tuple[tuple[str, str | None, Collection[str]], ...] = (
        ("device", wanted.device, book.devices),
        ("kind", wanted.kind, kinds),
        ("procedure", wanted.procedure, book.procedures),
        ("grade", wanted.grade, book.grades),
    )
    for what, code, codes in known:
        if code is not None and code not in codes:
            raise NotFound(what, code, suggestions(code, codes), where=f"/{what}")


def _devices(wanted: Wanted, book: RateBook) -> list[str]:
    if wanted.device is not None and not wanted.words:
        is_kind = wanted.kind in (None, book.devices[wanted.device].kind)
        return [wanted.device] if is_kind else []
    found = [device.code for device in devices_matching(wanted.words, wanted.kind, book)]
    return [code for code in found if wanted.device in (None, code)]


@dataclass(frozen=True, slots=True)
class Packed:
    """An answer as it is kept: compressed, and how long it is when it is not."""

    gzip: bytes = field(repr=False)
    length: int

    def plain(self) -> Iterator[bytes]:
        """The answer itself, in pieces."""
        unpacked = zlib.decompressobj(wbits=GZIP)
        rest = self.gzip
        while rest:
            yield unpacked.decompress(rest, PIECE)
            rest = unpacked.unconsumed_tail
        yield unpacked.flush()


GZIP = 16 + zlib.MAX_WBITS
"""zlib's word for the format of RFC 1952, here without a name or a time, so that the same answer has the same bytes."""

LEVEL = 6
"""Of zlib's nine. The highest takes four times as long for a fiftieth less."""

PIECE = 1 << 16


def packed(pieces: Iterable[bytes]) -> Packed:
    """An answer, compressed while it is written: the whole never lies in memory."""
    packer, length, done = zlib.compressobj(LEVEL, wbits=GZIP), 0, []
    for piece in pieces:
        length += len(piece)
        done.append(packer.compress(piece))
    done.append(packer.flush())
    return Packed(b"".join(done), length)


class PriceLists:
    """The lists that have been asked for, and answers made of them. The same is never worked out twice at a time.

    Who wants a large answer that is not at hand takes a turn of `at_work` first, or comes again later: those who wait
    must not take every thread of the service.
    """

    def __init__(self, price: PriceOne = list_entry) -> None:
        self.at_work = threading.BoundedSemaphore(MOST_AT_WORK)
        self._price = price
        self._lists: MadeOnce[PricedList] = MadeOnce(MOST_LISTS)
        self._answers: MadeOnce[Packed] = MadeOnce(MOST_BYTES, lambda answer: len(answer.gzip) + 500)

    def of(self, book: RateBook, day: dt.date) -> PricedList:
        """The list of a book under the tax rates of a day; nothing is priced yet."""
        key = (book.code, book.digest, rates_since(day, book.tax))
        return self._lists.get(key, lambda: PricedList(book, day, self._price))

    def kept_answer(self, key: Hashable) -> Packed | None:
        """An answer that has been made, and is still at hand."""
        return self._answers.kept(key)

    def answer(self, key: Hashable, make: Callable[[], Iterable[bytes]]) -> Packed:
        """The answer with this key, made now if need be; who asks meanwhile waits for it."""
        return self._answers.get(key, lambda: packed(make()))
