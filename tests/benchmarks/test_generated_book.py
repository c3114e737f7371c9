"""The benchmarks measure what they say: a faultless book of the stated size, on which every section runs."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from benchmarks.__main__ import SECTIONS
from benchmarks.engine import engine
from benchmarks.generated_book import BookSize, raw_book, write_book
from benchmarks.jobs import DATE, two_repairs
from benchmarks.scale import QUICK
from benchmarks.spreadsheet import RECORDED, spreadsheet
from quoter.books.check import flaws
from quoter.books.compile import compiled, open_book
from quoter.engine.compose import quote_for
from quoter.engine.price_list import price_list

ROOT = Path(__file__).parents[2]

STAND_IN = f"""#!{sys.executable}
import pathlib, sys
if "--convert-to" in sys.argv:
    kind, source = sys.argv[sys.argv.index("--convert-to") + 1], pathlib.Path(sys.argv[-1])
    source.with_suffix("." + kind).write_text("price\\n1.00\\n" if kind == "csv" else source.read_text())
else:
    print("Stand-in 1.0")
"""
"""Takes LibreOffice's place, so that the test is quick wherever it runs."""


def test_a_generated_book_has_no_flaws():
    """Of all procedures and grades."""
    assert flaws(raw_book(BookSize(30, grades=3))) == []


@pytest.mark.parametrize(("size", "entries"), [(BookSize(20), 240), (BookSize(7, procedures=4, grades=3), 84)])
def test_the_price_list_has_an_entry_for_each_device_procedure_and_grade(size: BookSize, entries: int):
    """2,000 devices would have 2,000 × 6 × 2 = 24,000; each has a price."""
    listed = list(price_list(compiled(raw_book(size)), DATE))
    assert (size.entries, len(listed)) == (entries, entries)
    assert all(entry.totals for entry in listed)


def test_twenty_four_thousand_entries_are_two_thousand_devices():
    """The size that the aim is about."""
    assert BookSize(2000).entries == 24_000


def test_a_book_written_to_files_is_the_book_in_memory(tmp_path: Path):
    """The digest is of all that a book says."""
    folder = write_book(BookSize(3), tmp_path / "book")
    assert open_book(folder).digest == compiled(raw_book(BookSize(3))).digest


def test_a_larger_book_begins_with_the_smaller_one():
    """Otherwise growth would compare different books."""
    small, large = (raw_book(BookSize(devices)).tables["parts"] for devices in (3, 6))
    assert large[: len(small)] == small


def test_the_timed_job_has_contingencies_and_alternatives():
    """Two findings that may emerge, and another grade for each of the two parts; more than twelve lines."""
    quote = quote_for(two_repairs("device-00000"), compiled(raw_book(BookSize(1))))
    assert (len(quote.contingencies), len(quote.alternatives), len(quote.lines) > 12) == (2, 2, True)


def test_bare_arithmetic_comes_to_the_engine_s_price():
    """The section refuses a yardstick that does not, for every job that it times."""
    assert engine(QUICK).figures


def a_program(folder: Path, text: str) -> str:
    """A folder for PATH with a program that is called soffice."""
    folder.mkdir()
    (folder / "soffice").write_text(text, encoding="utf-8")
    (folder / "soffice").chmod(0o755)
    return str(folder)


@pytest.mark.parametrize(
    ("program", "reason"),
    [
        ("", "LibreOffice failed"),
        (f"#!{sys.executable}\n", "LibreOffice wrote no list.xlsx"),
        (None, "LibreOffice is not installed"),
    ],
)
def test_without_libreoffice_the_recorded_figure_stands_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, program: str | None, reason: str
):
    """And the section says why, whether it is missing or broken."""
    monkeypatch.setenv("PATH", str(tmp_path) if program is None else a_program(tmp_path / "bin", program))
    section = spreadsheet(QUICK)
    assert section.notes[0].startswith(reason)
    assert RECORDED in section.figures


def test_a_quick_run_measures_every_section(tmp_path: Path):
    """With a stand-in for LibreOffice in the path; the table goes to the output, the samples to a file."""
    samples = tmp_path / "samples.json"
    path = os.pathsep.join((a_program(tmp_path / "bin", STAND_IN), os.environ["PATH"]))
    command = [sys.executable, "-m", "benchmarks", "--quick", "--json", str(samples)]
    done = subprocess.run(
        command, cwd=ROOT, env={**os.environ, "PATH": path}, capture_output=True, text=True, timeout=300, check=True
    )
    found = json.loads(samples.read_text(encoding="utf-8"))
    assert list(found["sections"]) == list(SECTIONS)
    assert all(figure["samples"] for each in found["sections"].values() for figure in each["figures"].values())
    assert "Stand-in 1.0" in done.stdout
