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
from benchmarks.office import NoOffice, Office, office_here
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
    size, rounds = BookSize(scale.devices), scale.long_rounds
    with TemporaryDirectory() as place:
        folder = Path(place)
        book, small = write_book(size, folder / "book"), write_book(BookSize(1), folder / "small")
        ours = {OUR_START: _listing(small, folder), OURS: _listing(book, folder)}
        try:
            took, notes = _compared(ours, book, folder, rounds)
        except NoOffice as reason:
            took, notes = interleaved(ours, rounds), (f"{reason}.",)
    return Section(f"The same list in a spreadsheet: {size.entries:,} rows", _figures(took, size.entries), notes)


def _compared(ours: dict[str, Subject], book: Path, folder: Path, rounds: int) -> tuple[Seconds, tuple[str, ...]]:
    """Times and notes. LibreOffice works on the whole list and, for its start, on the first row. Raises NoOffice."""
    office, entries = office_here(folder), list(price_list(open_book(book), DATE))
    progress("  writing the workbook")
    whole, formulas = _workbook(office, book, entries, folder / "list.fods")
    first, _ = _workbook(office, book, entries[:1], folder / "first.fods")
    theirs = {
        THEIR_START: Subject(lambda: office.convert(first, "csv")),
        THEIRS: Subject(lambda: office.convert(whole, "csv")),
    }
    about = f"{office.version()}: an .xlsx of {formulas} formulas a row, their inputs in the same row."
    return interleaved(ours | theirs, rounds), (about, _agreement(whole.with_suffix(".csv"), entries))


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


def _workbook(office: Office, book: Path, entries: Sequence[ListEntry], flat: Path) -> tuple[Path, int]:
    """The list as .xlsx, which LibreOffice reads faster than its own format, and its formulas a row."""
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
