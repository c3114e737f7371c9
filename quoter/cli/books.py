"""quoter book: the owner's commands. The same use cases as behind the API.

A book is named by a folder, by a workbook (.xlsx) or zip of CSV files, or by its code in the database: CODE is the
version that counts now, CODE@3 version 3, CODE@draft the draft.
"""

import argparse
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from quoter.cli.arguments import add_database, counted, moment, opened_store, whole
from quoter.problems import Unreadable

if TYPE_CHECKING:
    from quoter.books.raw import RawBook
    from quoter.service.rates.rates import BroughtIn, Rates

SOURCE = "a folder, a .xlsx or .zip file, or CODE, CODE@VERSION or CODE@draft in the database"
MOST_QUOTES = 100_000
FILE_KINDS = (".xlsx", ".zip")


def add_parser(commands: Any) -> None:
    """Declares the commands."""
    actions = commands.add_parser("book", help="look after rate books").add_subparsers(required=True, metavar="ACTION")
    check = actions.add_parser("check", help="print every fault of a rate book")
    check.add_argument("source", metavar="BOOK", help=SOURCE)
    check.add_argument("--warnings", action="store_true", help="also what is odd, where there is no fault")
    history = actions.add_parser("history", help="print every published version")
    history.add_argument("code", metavar="CODE")
    export = actions.add_parser("export", help="write a book as a workbook or as a zip of CSV files")
    export.add_argument("source", metavar="BOOK", help=SOURCE)
    export.add_argument("file", type=Path, metavar="FILE", help="a new file that ends in .xlsx or .zip")
    bring = actions.add_parser("import", help="bring a workbook, a zip or a folder into the draft; opens one if needed")
    bring.add_argument("code", metavar="CODE")
    bring.add_argument("source", metavar="FILE", help="a .xlsx or .zip file, or a folder")
    bring.add_argument("--write", action="store_true", help="do it; without, only say what would change")
    compare, effect = _comparing_parsers(actions)
    publish = _publish_parser(actions)
    declared: tuple[tuple[argparse.ArgumentParser, Callable[[argparse.Namespace], int]], ...] = (
        (check, _check),
        (history, _history),
        (export, _export),
        (bring, _import),
        (compare, _compare),
        (effect, _effect),
        (publish, _publish),
    )
    for action, command in declared:
        add_database(action)
        action.set_defaults(command=command)


def _comparing_parsers(actions: Any) -> tuple[argparse.ArgumentParser, argparse.ArgumentParser]:
    compare = actions.add_parser("compare", help="print how two books differ, row by row")
    effect = actions.add_parser("effect", help="print what a change does to every price")
    for action in (compare, effect):
        action.add_argument("old", metavar="OLD", help=SOURCE)
        action.add_argument("new", metavar="NEW", help=SOURCE)
    effect.add_argument("--quotes", type=whole(range(MOST_QUOTES + 1)), default=0, help="also so many issued quotes")
    effect.add_argument("--files", type=Path, metavar="DIR", help="write the tables and pictures there")
    return compare, effect


def _publish_parser(actions: Any) -> argparse.ArgumentParser:
    publish: argparse.ArgumentParser = actions.add_parser(
        "publish", help="publish the draft of a book, or a folder or file, as the next version"
    )
    publish.add_argument("source", metavar="BOOK", help="CODE for its draft; or a folder, a .xlsx or a .zip file")
    publish.add_argument("--reason", required=True, help="why the rates change")
    publish.add_argument("--from", dest="counts_from", type=moment, metavar="MOMENT", help="when it begins to count")
    publish.add_argument("--version", type=whole(range(1, 10**9)), help="of CODE: an earlier version instead")
    return publish


@contextmanager
def _rates(options: argparse.Namespace) -> Iterator["Rates"]:
    from quoter.app import announcing_in
    from quoter.service.clock import utc_now
    from quoter.service.rates.rates import Rates
    from quoter.service.rates.shelf import Shelf
    from quoter.store.books import Books

    with opened_store(options) as store:
        books = Books(store, announcing_in(store, utc_now).book_published)
        yield Rates(books, Shelf(books, utc_now), utc_now)


def _text_of(source: str, options: argparse.Namespace) -> "RawBook":
    """The text of a book that is named in one of the ways of SOURCE."""
    from quoter.books.load import read_folder

    path = Path(source)
    if path.suffix.lower() in FILE_KINDS:
        return _file_text(path)
    if path.is_dir() or "/" in source:
        return read_folder(path)
    with _rates(options) as rates:
        return rates.named(source)


def _book_of(source: str, options: argparse.Namespace) -> "RawBook":
    """The text of a book, which may have faults. Raises Unreadable where there is none."""
    raw = _text_of(source, options)
    raw.check_is_one(source)
    return raw


def _is_file(path: Path) -> bool:
    return path.suffix.lower() in FILE_KINDS or path.is_dir()


def _file_text(path: Path) -> "RawBook":
    from quoter.books.sheets.archive import from_zip
    from quoter.books.sheets.workbook import from_xlsx

    try:
        content = path.read_bytes()
    except OSError as error:
        raise Unreadable(str(path), f"the file cannot be read: {error.strerror}") from None
    return from_xlsx(content) if path.suffix.lower() == ".xlsx" else from_zip(content)


def _check(options: argparse.Namespace) -> int:
    from quoter.books.check import flaws

    raw = _text_of(options.source, options)
    found = flaws(raw)
    for flaw in found:
        print(flaw)
    print(counted(len(found), "fault"), file=sys.stderr)
    if options.warnings and not found:
        _print_warnings(raw)
    return 1 if found else 0


def _print_warnings(raw: "RawBook") -> None:
    from quoter.books.compile import compiled
    from quoter.books.warnings import warnings
    from quoter.service.clock import today, utc_now

    book = compiled(raw)
    odd = warnings(book, None, today(utc_now(), book.shop.timezone))
    for warning in odd:
        print(f"odd: {warning}")
    print(counted(len(odd), "warning"), file=sys.stderr)


def _history(options: argparse.Namespace) -> int:
    with _rates(options) as rates:
        history = rates.history(options.code)
    for each in history:
        again = f", says version {each.returns_to} again" if each.returns_to else ""
        counts = ", ".join(f"{count} {kind}" for kind, count in each.changes.items() if count)
        changes = counts or ("nothing changed" if each.version > 1 else "nothing to compare with")
        print(f"version {each.version}, published {each.published_at} by {each.published_by}: {each.reason}{again}")
        print(f"  counts from {each.counts_from}; {changes}; digest {each.digest}")
    return 0


def _export(options: argparse.Namespace) -> int:
    from quoter.books.sheets.archive import to_zip
    from quoter.books.sheets.workbook import to_xlsx

    write = {".xlsx": to_xlsx, ".zip": to_zip}.get(options.file.suffix.lower())
    if write is None:
        raise Unreadable(str(options.file), "the file to write must end in .xlsx or .zip")
    content = write(_text_of(options.source, options))
    try:
        with options.file.open("xb") as file:
            file.write(content)
    except OSError as error:
        raise Unreadable(str(options.file), f"the file cannot be written: {error.strerror}") from None
    return 0


def _import(options: argparse.Namespace) -> int:
    raw = _book_of(options.source, options)
    with _rates(options) as rates:
        brought = _brought_in(rates, raw, options)
    for change in brought.changes:
        print(change)
    for flaw in brought.flaws:
        print(flaw, file=sys.stderr)
    found = f"{counted(len(brought.changes), 'difference')}, {counted(len(brought.flaws), 'fault')}"
    print(f"{found}; {_outcome(brought, raw)}", file=sys.stderr)
    return 1 if brought.flaws else 0


def _outcome(brought: "BroughtIn", raw: "RawBook") -> str:
    """What has become of the draft. A book with faults in its cells may be a draft; what could not be read is lost."""
    if brought.done:
        return "the draft is changed"
    return (
        "nothing is changed: what cannot be read must be mended"
        if raw.flaws
        else "nothing is changed yet; --write does it"
    )


def _brought_in(rates: "Rates", raw: "RawBook", options: argparse.Namespace) -> "BroughtIn":
    """Only what is written opens a draft."""
    code, by = options.code, "the command line"
    if options.write and not raw.flaws:
        return rates.bring_in(rates.draft_or_new(code, by), raw, by, dry_run=False)
    return rates.looked_at(rates.books.draft(code) or rates.fresh_draft(code, None, by), raw)


def _compare(options: argparse.Namespace) -> int:
    from quoter.books.compare import compare

    changes = compare(_book_of(options.old, options), _book_of(options.new, options))
    for change in changes:
        print(change)
    print(counted(len(changes), "difference"), file=sys.stderr)
    return 0


def _effect(options: argparse.Namespace) -> int:
    from quoter.background.effect_files import files_of, words_of
    from quoter.books.compile import compiled
    from quoter.books.effect import jobs_effect, list_effect
    from quoter.records.rates import QuoteRange
    from quoter.service.clock import today, utc_now
    from quoter.store.quotes import Quotes

    old, new = (compiled(_text_of(source, options)) for source in (options.old, options.new))
    prices = list_effect(old, new, today(utc_now(), new.shop.timezone), _progress("prices"))
    wanted = QuoteRange(options.quotes)
    with opened_store(options) as store:
        quotes = Quotes(store)
        issued = quotes.issued_jobs(new.code, wanted)
        jobs = jobs_effect(issued, quotes.count_issued(new.code, wanted), new, _progress("quotes"))
    for line in words_of(prices, jobs, new):
        print(line)
    if options.files:
        options.files.mkdir(parents=True, exist_ok=True)
        for file in files_of(prices, jobs, new):
            (options.files / file.name).write_text(file.content, encoding="utf-8")
    return 0


def _progress(what: str) -> Callable[[int, int], None]:
    """On a terminal, how far it is."""

    def tell(done: int, total: int) -> None:
        if sys.stderr.isatty():
            print(f"\r{what}: {done} of {total} ", end="\n" if done == total else "", file=sys.stderr)

    return tell


def _publish(options: argparse.Namespace) -> int:
    by = "the command line"
    path = Path(options.source)
    raw = _text_of(options.source, options) if _is_file(path) or "/" in options.source else None
    with _rates(options) as rates:
        if raw is not None:
            version = rates.publish_text(raw, options.reason, options.counts_from, by)
        elif options.version:
            version = rates.return_to(options.source, options.version, options.reason, options.counts_from, by)
        else:
            version = rates.publish(rates.draft(options.source), options.reason, options.counts_from, by)
    print(f"version {version.version} of {version.code}, which counts from {version.counts_from}")
    return 0
