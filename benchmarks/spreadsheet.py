"""The owner's alternative: the same price list as a workbook of formulas, recalculated by LibreOffice."""

import csv
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.clock import Subject, interleaved, progress
from benchmarks.figures import Figure, Section, in_unit, per_second, ratio
from benchmarks.generated_book import BookSize, write_book
from benchmarks.jobs import DATE
from benchmarks.office import Office, OfficeFailed, office_here
from benchmarks.scale import Scale
from benchmarks.workbook import write_workbook
from quoter.books.compile import open_book
from quoter.engine.price_list import ListEntry, price_list
from quoter.money import ZERO

OURS, THEIRS, THEIR_START = "quoter, files to file", "LibreOffice, file to file", "LibreOffice, one row"

RECORDED = Figure("LibreOffice, recorded in an earlier trial of simpler formulas, not measured", "rows/s", (15000.0,))


def spreadsheet(scale: Scale) -> Section:
    """Both read the owner's files, work out every row and write a CSV file; neither is charged its start."""
    size = BookSize(scale.devices)
    title = f"The same list in a spreadsheet: {size.entries:,} rows"
    with TemporaryDirectory() as place:
        folder = Path(place)
        book = write_book(size, folder / "book")
        ours = Subject(lambda: write_price_list(book, folder / "ours.csv"))
        office = office_here(folder)
        try:
            if office:
                return _compared(title, ours, office, book, scale.long_rounds)
            reason = "LibreOffice is not installed (no soffice in PATH)."
        except OfficeFailed as failed:
            reason = f"{failed}."
        took = interleaved({OURS: ours}, scale.long_rounds)[OURS]
        return Section(
            title, (in_unit(OURS, took, "s"), per_second(OURS, size.entries, took, "rows"), RECORDED), (reason,)
        )


def write_price_list(book: Path, file: Path) -> None:
    """From the folder of a rate book to a CSV file of its price list."""
    with file.open("w", newline="", encoding="utf-8") as out:
        writer = csv.writer(out)
        for entry in price_list(open_book(book), DATE):
            totals = entry.totals
            amounts = (totals.net, totals.tax, totals.gross) if totals else ()
            writer.writerow((entry.device, entry.procedure, entry.grade, *amounts))


def _compared(title: str, ours: Subject, office: Office, book: Path, rounds: int) -> Section:
    entries = list(price_list(open_book(book), DATE))
    progress("  writing the workbook")
    whole, formulas = _workbook(office, book, entries, "list")
    first, _ = _workbook(office, book, entries[:1], "first")
    subjects = {
        THEIR_START: Subject(lambda: office.convert(first, "csv")),
        THEIRS: Subject(lambda: office.convert(whole, "csv")),
        OURS: ours,
    }
    took = interleaved(subjects, rounds)
    beyond = tuple(all_of_it - start for all_of_it, start in zip(took[THEIRS], took[THEIR_START], strict=True))
    rows = len(entries)
    return Section(
        title,
        (
            in_unit(OURS, took[OURS], "s"),
            in_unit(f"{THEIRS}, beyond its start", beyond, "s"),
            in_unit(THEIR_START, took[THEIR_START], "s"),
            per_second(OURS, rows, took[OURS], "rows"),
            per_second(f"{THEIRS}, beyond its start", rows, beyond, "rows"),
            ratio("quoter's rate ÷ LibreOffice's", beyond, took[OURS], "above 1"),
            RECORDED,
        ),
        (
            f"{office.version()}: an .xlsx of {formulas} formulas a row, their inputs in the same row.",
            _agreement(whole.with_suffix(".csv"), entries),
        ),
    )


def _workbook(office: Office, book: Path, entries: Sequence[ListEntry], name: str) -> tuple[Path, int]:
    """The list as .xlsx, which LibreOffice reads faster than its own format, and its formulas a row."""
    flat = book.parents[1] / f"{name}.fods"
    keys = [(entry.device, entry.procedure, str(entry.grade)) for entry in entries]
    formulas = write_workbook(open_book(book), keys, flat)
    return office.convert(flat, "xlsx"), formulas


def _agreement(file: Path, entries: Sequence[ListEntry]) -> str:
    with file.open(newline="", encoding="utf-8") as out:
        prices = [Decimal(row["price"]) for row in csv.DictReader(out)]
    pairs = zip(entries, prices, strict=False)
    differences = [abs(entry.totals.gross - price) for entry, price in pairs if entry.totals]
    return (
        f"{differences.count(ZERO):,} of {len(entries):,} rows come to the engine's price, the others are at most "
        f"{max(differences, default=ZERO)} off: the formulas do not search for a price ending that tax rounding allows."
    )
