"""The flaws of a rate book: every one at once, each at its cell. Pure; finds and never raises.

One fault is one flaw: what could not be read has its flaw already, and nothing is called missing that may stand there.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise

from quoter.books.check_law import law_flaws
from quoter.books.check_references import diagnosis_flaws, grade_flaws, reference_flaws, slot_flaws
from quoter.books.check_steps import step_flaws
from quoter.books.check_tax import tax_flaws
from quoter.books.check_translations import translation_flaws
from quoter.books.raw import WHOLE_BOOK, RawBook
from quoter.books.reading import BOOK_FILE, ReadBook, read
from quoter.books.setting_values import setting_flaw
from quoter.books.suggest import Suggestions
from quoter.books.tables import TABLES
from quoter.problems import Flaw

MOST_IN_ONE_PLACE = 1000
"""Flaws that are listed for one column, or for the settings of one file. Whoever has more has one reason for them."""


def flaws(raw: RawBook) -> list[Flaw]:
    """Every fault of the book, in the order of its files and rows."""
    return flaws_of(read(raw))


def flaws_of(book: ReadBook) -> list[Flaw]:
    """Every fault of a book whose cells have been read; rows with unreadable cells have their flaw already."""
    checks = CHECKS if WHOLE_BOOK not in book.raw.incomplete else ()
    found = [*book.flaws, *(flaw for check in checks for flaw in check(book))]
    return [_printable(flaw) for flaw in _bounded(sorted(found, key=_place))]


def _place(flaw: Flaw) -> tuple[int, int]:
    return _FILES.get(flaw.table, len(_FILES)), flaw.row or 0


_FILES = {name: place for place, name in enumerate((BOOK_FILE, *(table.name for table in TABLES)))}


def _bounded(found: list[Flaw]) -> Iterator[Flaw]:
    """The first thousand of each column, and how many more there are."""
    counts: Counter[tuple[str, str]] = Counter()
    for flaw in found:
        place = (flaw.table, flaw.column if (flaw.row or 1) > 1 else "")
        counts[place] += 1
        if counts[place] <= MOST_IN_ONE_PLACE:
            yield flaw
    for (table, column), count in counts.items():
        if count > MOST_IN_ONE_PLACE:
            yield Flaw(
                table, column, f"{count - MOST_IN_ONE_PLACE} more flaws here", suggestion="mend those listed first"
            )


_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")
_UNPRINTED = "\N{REPLACEMENT CHARACTER}"


def _printable(flaw: Flaw) -> Flaw:
    """Without signs that a terminal obeys and halves of characters that no answer can be written with."""
    words = (flaw.table, flaw.column, flaw.message, flaw.key, flaw.value, flaw.suggestion)
    if not any(map(_UNPRINTABLE.search, words)):
        return flaw
    table, column, message, key, value, suggestion = (_UNPRINTABLE.sub(_UNPRINTED, word) for word in words)
    return Flaw(table, column, message, flaw.row, key, value, suggestion)


def band_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Markup bands that are out of order, or without an open end."""
    tops = [(number, band["upto"]) for number, band in enumerate(book.bands, start=1) if "upto" in band]
    for number, top in tops:
        at = f"parts.markup {number}.upto"
        if top is None and number < len(book.bands):
            yield setting_flaw(BOOK_FILE, at, "only the last band may be without upto", "", "the top of this band")
        elif top is not None and number == len(book.bands):
            yield setting_flaw(
                BOOK_FILE, at, "the last band must have no upto", str(top), "leave it out, or add a band"
            )
    ends = [(number, top) for number, top in tops if top is not None]
    for (_, lower), (number, upper) in pairwise(ends):
        if upper <= lower:
            at = f"parts.markup {number}.upto"
            yield setting_flaw(BOOK_FILE, at, "bands must ascend", str(upper), f"above {lower}")


def fx_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Parts bought in a currency that has no exchange rate. A misspelt rate has its flaw already."""
    if book.fx is None or "currency" not in book.settings:
        return
    rates = Suggestions(book.fx)
    for row in book.tables["parts"]:
        code = row.values.get("currency")
        if code and code != book.settings["currency"] and code not in book.fx and rates.nearest(code).upper() != code:
            right = f'{code} = "…" below [fx] in book.toml'
            yield Flaw("parts", "currency", "there is no exchange rate for it", row.number, row.key, code, right)


def key_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Two rows with one key, and tables that have no rows but need some."""
    for table in TABLES:
        first: dict[str, int] = {}
        rows = book.tables[table.name]
        for row in rows:
            if row.has(*table.key) and first.setdefault(row.key, row.number) != row.number:
                message = f"the key is already in row {first[row.key]}"
                yield Flaw(
                    table.name, table.key[0], message, row.number, row.key, row.key, "another key, or one row less"
                )
        if not rows and not table.may_be_empty and table.name not in book.raw.incomplete:
            yield Flaw(table.name, "", "the table has no rows", suggestion="a row at least")


def order_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Estimates that do not ascend, and corners larger than half the shorter side."""
    for row in book.tables["steps"]:
        if row.has("low", "likely", "high"):
            low, likely, high = (row.values[column] for column in ("low", "likely", "high"))
            if not low <= likely <= high:
                column, value = "likely" if not low <= likely else "high", f"{low}, {likely}, {high}"
                right = "low, likely and high in ascending order"
                yield Flaw("steps", column, "low ≤ likely ≤ high does not hold", row.number, row.key, value, right)
    for row in book.tables["devices"]:
        if row.has("width_mm", "height_mm", "corner_mm"):
            half, corner = min(row.values["width_mm"], row.values["height_mm"]) / 2, row.values["corner_mm"]
            if corner > half:
                message = "the corner is larger than half the shorter side"
                yield Flaw("devices", "corner_mm", message, row.number, row.key, str(corner), f"at most {half}")


CHECKS: tuple[Callable[[ReadBook], Iterable[Flaw]], ...] = (
    band_flaws,
    fx_flaws,
    key_flaws,
    reference_flaws,
    diagnosis_flaws,
    slot_flaws,
    grade_flaws,
    order_flaws,
    step_flaws,
    tax_flaws,
    law_flaws,
    translation_flaws,
)
