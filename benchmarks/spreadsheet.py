"""The owner's alternative: the same price list as a workbook of formulas, recalculated by LibreOffice."""

import csv
import subprocess
import sys
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.clock import Seconds, Subject, interleaved, progress
from benchmarks.figures import Figure, Section, in_unit, per_second, ratio
from benchmarks.generated_book import BookSize, write_book
from benchmarks.jobs import DATE
from benchmarks.office import Office, OfficeFailed, office_here
from benchmarks.scale import Scale
from benchmarks.workbook import write_workbook
from quoter.books.compile import open_book
from quoter.engine.price_list import ListEntry, price_list
from quoter.money import ZERO

ROOT = Path(__file__).parents[1]

OURS, OUR_START = "quoter, files to file", "quoter, one device"
THEIRS, THEIR_START = "LibreOffice, file to file", "LibreOffice, one row"

RECORDED = Figure("LibreOffice, recorded in an earlier trial of simpler formulas, not measured", "rows/s", (15000.0,))


def spreadsheet(scale: Scale) -> Section:
    """Each in a process of its own that reads files, works out every row and writes a CSV file, beyond its start."""
    with TemporaryDirectory() as place:
        folder = Path(place)
        size = BookSize(scale.devices)
        book, small = write_book(size, folder / "book"), write_book(BookSize(1), folder / "small")
        subjects = {OUR_START: _listing(small, folder), OURS: _listing(book, folder)}
        office = office_here(folder)
        try:
            theirs, notes = _their_subjects(office, book, folder) if office else ({}, [_NOT_INSTALLED])
            took = interleaved(subjects | theirs, scale.long_rounds)
            if office:
                notes = [*notes, _agreement(folder / "list.csv", _entries(book))]
        except OfficeFailed as failed:
            took, notes = interleaved(subjects, scale.long_rounds), [f"{failed}."]
    return Section(f"The same list in a spreadsheet: {size.entries:,} rows", _figures(took, size.entries), tuple(notes))


_NOT_INSTALLED = "LibreOffice is not installed (no soffice in PATH)."


def _figures(took: Seconds, rows: int) -> tuple[Figure, ...]:
    ours = _beyond(took[OURS], took[OUR_START])
    figures = (
        in_unit(f"{OURS}, beyond its start", ours, "s"),
        in_unit(OUR_START, took[OUR_START], "s"),
        per_second(OURS, rows, ours, "rows"),
    )
    if THEIRS not in took:
        return (*figures, RECORDED)
    theirs = _beyond(took[THEIRS], took[THEIR_START])
    return (
        *figures,
        in_unit(f"{THEIRS}, beyond its start", theirs, "s"),
        in_unit(THEIR_START, took[THEIR_START], "s"),
        per_second(THEIRS, rows, theirs, "rows"),
        ratio("quoter's rate ÷ LibreOffice's", theirs, ours, "above 1"),
        RECORDED,
    )


def _beyond(whole: Sequence[float], start: Sequence[float]) -> tuple[float, ...]:
    """Round by round. On next to nothing the start may seem the longer one: a microsecond then."""
    return tuple(max(one - other, 1e-6) for one, other in zip(whole, start, strict=True))


def _listing(book: Path, folder: Path) -> Subject:
    command = [sys.executable, "-m", "benchmarks.list_to_file", str(book), str(folder / "ours.csv")]
    return Subject(lambda: subprocess.run(command, cwd=ROOT, check=True))


def _their_subjects(office: Office, book: Path, folder: Path) -> tuple[dict[str, Subject], list[str]]:
    """LibreOffice on the whole list and on its first row, and what to know about it."""
    progress("  writing the workbook")
    entries = _entries(book)
    whole, formulas = _workbook(office, book, entries, folder / "list.fods")
    first, _ = _workbook(office, book, entries[:1], folder / "first.fods")
    subjects = {
        THEIR_START: Subject(lambda: office.convert(first, "csv")),
        THEIRS: Subject(lambda: office.convert(whole, "csv")),
    }
    return subjects, [f"{office.version()}: an .xlsx of {formulas} formulas a row, their inputs in the same row."]


def _workbook(office: Office, book: Path, entries: Sequence[ListEntry], flat: Path) -> tuple[Path, int]:
    """The list as .xlsx, which LibreOffice reads faster than its own format, and its formulas a row."""
    keys = [(entry.device, entry.procedure, str(entry.grade)) for entry in entries]
    formulas = write_workbook(open_book(book), keys, flat)
    return office.convert(flat, "xlsx"), formulas


def _entries(book: Path) -> list[ListEntry]:
    return list(price_list(open_book(book), DATE))


def _agreement(file: Path, entries: Sequence[ListEntry]) -> str:
    with file.open(newline="", encoding="utf-8") as out:
        prices = [Decimal(row["price"]) for row in csv.DictReader(out)]
    pairs = zip(entries, prices, strict=False)
    differences = [abs(entry.totals.gross - price) for entry, price in pairs if entry.totals]
    return (
        f"{differences.count(ZERO):,} of {len(entries):,} rows come to the engine's price, the others are at most "
        f"{max(differences, default=ZERO)} off: the formulas do not search for a price ending that tax rounding allows."
    )
