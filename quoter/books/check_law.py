"""The flaws of a law profile beyond its single values, and what in the rest of the book does not agree with it."""

from collections.abc import Iterator

from quoter.books.law_values import ReadLaw
from quoter.books.reading import BOOK_FILE, ReadBook
from quoter.books.setting_values import setting_flaw
from quoter.books.suggest import Suggestions
from quoter.law import NOTICE_CODES
from quoter.problems import Flaw

_DISPLAY = {True: "inclusive", False: "exclusive"}


def law_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Notices that mean nothing or that nobody could read, and a book that does not keep to its law profile."""
    if book.law:
        yield from _notice_flaws(book.law)
        yield from _language_flaws(book.law, book)
        yield from _validity_flaws(book.law, book)
        yield from _display_flaws(book.law, book)


def _notice_flaws(law: ReadLaw) -> Iterator[Flaw]:
    likely = Suggestions(NOTICE_CODES)
    for code in law.notices:
        if code not in NOTICE_CODES:
            right = likely.perhaps(code, f"one of {', '.join(NOTICE_CODES)}")
            yield setting_flaw(law.file, f"notices.{code}", "there is no such notice", "", right)


def _language_flaws(law: ReadLaw, book: ReadBook) -> Iterator[Flaw]:
    """A notice that neither English nor the book's own language has would be shown in another, or not at all."""
    if "locale" not in book.settings:
        return
    own = book.settings["locale"].partition("-")[0]
    wanted = {"en", own, book.settings["locale"]}
    right = "a text in en" + (f" or {own}" if own != "en" else "")
    for code, notice in law.notices.items():
        if "texts" in notice and wanted.isdisjoint(notice["texts"]):
            at = f"notices.{code}.texts"
            yield setting_flaw(law.file, at, "neither in English nor in the book's language", "", right)


def _validity_flaws(law: ReadLaw, book: ReadBook) -> Iterator[Flaw]:
    least, days = law.settings.get("minimum_validity_days", 0), book.settings.get("policy.validity_days")
    if days is not None and days < least:
        message = f"the law profile wants a quote to hold for {least} days at least"
        yield setting_flaw(BOOK_FILE, "policy.validity_days", message, str(days), f"{least} or more")


def _display_flaws(law: ReadLaw, book: ReadBook) -> Iterator[Flaw]:
    """One fault, at the law profile: which of the two files is the wrong one nobody can say."""
    display = book.tax.settings.get("display") if book.tax else None
    with_tax = law.settings.get("tax_in_price")
    if book.tax and display and with_tax is not None and display != _DISPLAY[with_tax]:
        message = f"contradicts display in {book.tax.file}, which is {display}"
        right = f'display = "{_DISPLAY[with_tax]}" there, or the law profile of the same place'
        yield setting_flaw(law.file, "tax_in_price", message, str(with_tax).lower(), right)
