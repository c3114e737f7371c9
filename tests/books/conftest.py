"""A small valid book as files, and the ways in which tests spoil it."""

import csv
import io
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from quoter.books.check import flaws
from quoter.books.load import read_folder
from quoter.books.raw import RawBook
from quoter.problems import Flaw

Files = dict[str, str | bytes]
"""A book's files by name; `tax/plain.toml` stands for the profile beside the book's folder."""

Change = Callable[[Files], None]

SMALL_BOOK: Mapping[str, str] = {
    "book.toml": """\
code = "small"
title = "Small book"
currency = "EUR"
locale = "en-IE"
tax_profile = "plain"

[shop]
name = "Test bench"
timezone = "Europe/Dublin"

[labour]
confidence = "0.8"
allowance = "0.1"
increment_minutes = "5"
bench_rate = "3"

[consumables]
markup = "0.4"

[risk]
loading = "1.25"

[policy]
minimum_net = "20"
express_rate = "0.3"
minimum_margin = "0.2"
max_discount = "0.1"
validity_days = "30"
deposit_rate = "0.25"

[policy.price_ending]
mode = "up"
unit = "1"
minus = "0.05"

[fx]
USD = "0.88"

[[parts.markup]]
upto = "20"
rate = "0.5"

[[parts.markup]]
upto = "80"
rate = "0.3"

[[parts.markup]]
rate = "0.1"
""",
    "difficulty.csv": """\
code,title,skill,time_factor,hourly_rate,hourly_cost
easy,Easy,generalist,1,40,20
hard,Hard,expert,1.5,60,30
""",
    "devices.csv": """\
code,maker,model,kind,width_mm,height_mm,corner_mm
slate,Invented,Slate,phone,70,150,10
wrist,Invented,Wrist,wearable,40,40,20
""",
    "procedures.csv": """\
code,title,slot,goals,difficulty,warranty
battery,Battery,battery,fit-battery close,easy,year
screen,Screen,screen,fit-screen close,hard,
clean,Cleaning,,close,easy,quarter
""",
    "offers.csv": """\
device,procedure,difficulty,extra_steps
slate,battery,,
slate,screen,hard,warm
wrist,clean,,
""",
    "steps.csv": """\
code,title,low,likely,high,dwell,needs,slot,without_part,caution
warm,Warm the cover,2,3,5,10,,,,hot
open,Open,3,4,6,,warm,,,
cold-open,Open without heat,5,8,14,,,,,cell
fit-battery,Fit the battery,4,5,9,,open,battery,,cell
fit-screen,Fit the screen,5,6,12,,open,screen,,
cut-seal,Cut a seal,3,4,6,,open,,,
fit-seal,Fit the seal,1,2,3,,open,seal,cut-seal,
close,Close,2,3,4,1,fit-seal,,,
""",
    "usage.csv": """\
step,consumable,basis,quantity
cut-seal,tape,perimeter,1.1
open,wipe,each,2
""",
    "consumables.csv": """\
code,title,unit,pack_price,pack_size,waste,increment
tape,Tape,m,6,33,0.1,0.05
wipe,Wipe,each,5,100,,
""",
    "parts.csv": """\
sku,title,slot,grade,devices,cost,currency,freight,lead_days,saves,warranty,failure_rate
B1,Battery,battery,genuine,slate wrist,12.50,,1,0,,year,0.02
S1,Screen,screen,genuine,slate,60,USD,2.50,3,,year,0.01
S2,Screen,screen,compatible,slate,30,,,1,cut-seal,quarter,0.04
""",
    "menu.csv": """\
device,procedure,grade,net
slate,screen,genuine,199
slate,battery,,49
""",
    "findings.csv": (
        "code,title,procedures,time_factor,affects,adds,replaces,stops,"
        "charge,disposal,chance,consequence,emerges,warranty,caution\n"
        "swollen,Swollen cell,battery,1.2,open fit-battery,,warm:cold-open open:cold-open,,"
        "10,3,0.05,100,yes,quarter,cell\n"
        "hissing,Hissing cell,,,,,,yes,,,,,,,cell\n"
        "bent,Bent frame,,1.1,,open,,,,,,,,,\n"
    ),
    "warranty.csv": """\
code,title,days,covers,excludes
year,A year,365,part labour,liquid
quarter,A quarter,90,labour,
""",
    "cautions.csv": """\
code,text,source
hot,"The mat is hot, and stays so",common practice
cell,Do not puncture the cell,
""",
    "tax/plain.toml": """\
code = "plain"
title = "Plain tax"
source = "invented, 2026"
display = "inclusive"
stage = "rate"
mode = "half-up"
combined = true
cash_increment = "0.05"

[codes.standard]
components = [
    {name = "VAT", rate = "0.20", from = "2010-01-01"},
    {name = "VAT", rate = "0.21", from = "2020-01-01"},
]

[codes.none]
components = []

[lines]
part = "standard"
consumable = "standard"
labour = "standard"
bench = "standard"
risk = "standard"
disposal = "none"

[customers.exempt]
code = "none"
reason = "Exempt"

[[reclass]]
when = "part_share"
above = "0.5"
lines = ["labour", "bench"]
code = "standard"

[[reclass]]
when = "any_part"
lines = ["disposal"]
code = "standard"
""",
}


def replaced(file: str, old: str, new: str) -> Change:
    """The one place where `old` stands says `new` instead."""

    def change(files: Files) -> None:
        text = files[file]
        assert isinstance(text, str)
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
        files[file] = text.replace(old, new)

    return change


def cell(table: str, row: int, column: str, value: str) -> Change:
    """One cell of a table; rows as a spreadsheet counts them."""

    def change(files: Files) -> None:
        text = files[f"{table}.csv"]
        assert isinstance(text, str)
        records = list(csv.reader(io.StringIO(text, newline="")))
        records[row - 1][records[0].index(column)] = value
        written = io.StringIO(newline="")
        csv.writer(written, lineterminator="\n").writerows(records)
        files[f"{table}.csv"] = written.getvalue()

    return change


def added(file: str, text: str) -> Change:
    """More text at the end of a file."""

    def change(files: Files) -> None:
        old = files[file]
        assert isinstance(old, str)
        files[file] = old + text

    return change


def saved(file: str, content: str | bytes) -> Change:
    """Another content of a file."""

    def change(files: Files) -> None:
        files[file] = content

    return change


def recoded(file: str, encoding: str) -> Change:
    """The same text in another encoding."""

    def change(files: Files) -> None:
        text = files[file]
        assert isinstance(text, str)
        files[file] = text.encode(encoding)

    return change


def all_of(*changes: Change) -> Change:
    """Several changes as one."""

    def change(files: Files) -> None:
        for each in changes:
            each(files)

    return change


def deleted(file: str) -> Change:
    """The file is gone."""

    def change(files: Files) -> None:
        del files[file]

    return change


def files_with(*changes: Change) -> Files:
    """The small book's files after these changes."""
    files: Files = dict(SMALL_BOOK)
    for change in changes:
        change(files)
    return files


def written(files: Files, beside: Path) -> Path:
    """The folder with these files, written into an empty one."""
    for name, content in files.items():
        path = beside / (name if name.startswith(("tax/", "law/")) else f"small/{name}")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return beside / "small"


def the_one(found: list[Flaw]) -> Flaw:
    """The only flaw: one fault is one flaw."""
    assert len(found) == 1, "\n".join(map(str, found))
    return found[0]


@pytest.fixture
def raw_with(tmp_path: Path) -> Callable[..., RawBook]:
    """Reads the small book after some changes."""
    return lambda *changes: read_folder(written(files_with(*changes), tmp_path))


@pytest.fixture
def flaws_with(raw_with: Callable[..., RawBook]) -> Callable[..., list[Flaw]]:
    """The flaws of the small book after some changes."""
    return lambda *changes: flaws(raw_with(*changes))
