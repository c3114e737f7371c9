"""Files that are made to exhaust the service that reads them."""

import json
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from books.sheets.made import MAIN, a_sheet, part_of, small_xlsx, unzipped, with_parts, zipped

PARTS = part_of("parts")
RELATIONS = "xl/_rels/workbook.xml.rels"

MEMORY = 700_000_000
SECONDS = 20

READER = """
import json, resource, sys
from pathlib import Path
from quoter.books.check import flaws
from quoter.books.sheets.archive import from_zip
from quoter.books.sheets.workbook import from_xlsx
reads = {".zip": from_zip, ".xlsx": from_xlsx}[Path(sys.argv[1]).suffix]
content = Path(sys.argv[1]).read_bytes()
resource.setrlimit(resource.RLIMIT_AS, (int(sys.argv[2]), int(sys.argv[2])))
before = resource.getrusage(resource.RUSAGE_SELF).ru_utime
found = flaws(reads(content))
print(json.dumps([len(found), resource.getrusage(resource.RUSAGE_SELF).ru_utime - before]))
"""

FORMULAS = "".join(f'<row r="{n}"><c r="A{n}"><f>A1</f></c></row>' for n in range(2, 60_000))
KEYS = "".join(f'<row><c t="inlineStr"><is><t>k{n} 200.x</t></is></c><c><v>1</v></c></row>' for n in range(2000))
HEADER = '<row><c t="inlineStr"><is><t>{}</t></is></c><c t="inlineStr"><is><t>{}</t></is></c></row>'

HEAVY: list[tuple[str, Callable[[], bytes]]] = [
    ("100 MB of rows.xlsx", lambda: with_parts(small_xlsx(), {PARTS: a_sheet("<row/>" * 17_000_000)})),
    ("a bomb.zip", lambda: zipped({f"small/{n}.csv": bytes(31_900_000) for n in range(3)})),
    ("nesting.xlsx", lambda: with_parts(small_xlsx(), {PARTS: "<x>" * 3_000_000}, zipfile.ZIP_STORED)),
    (
        "empty cells.xlsx",
        lambda: with_parts(small_xlsx(), {PARTS: a_sheet("<row>" + "<c/>" * 3_300_000)}, zipfile.ZIP_STORED),
    ),
    ("formulas.xlsx", lambda: with_parts(small_xlsx(), {PARTS: a_sheet(HEADER.format("sku", "cost") + FORMULAS)})),
    ("lists.xlsx", lambda: with_parts(small_xlsx(), {part_of("book"): a_sheet(HEADER.format("key", "value") + KEYS)})),
    ("one text in many cells.xlsx", lambda: one_text_in_many_cells()),
]


def one_text_in_many_cells() -> bytes:
    """Half a million cells that point to one text of 32,000 characters: 16 GB, if each had its own."""
    cells = '<c t="s"><v>0</v></c>' * 10
    relations = unzipped(small_xlsx())[RELATIONS]
    link = b'<Relationship Id="s" Type="x/sharedStrings" Target="sharedStrings.xml"/></Relationships>'
    rows = "".join(f'<row r="{n}">' + cells + "</row>" for n in range(1, 50_000))
    return with_parts(
        small_xlsx(),
        {
            PARTS: a_sheet(rows),
            "xl/sharedStrings.xml": f'<sst xmlns="{MAIN}"><si><t>{"x " * 16_000}</t></si></sst>',
            RELATIONS: relations.replace(b"</Relationships>", link),
        },
    )


@pytest.mark.parametrize(("name", "content"), HEAVY, ids=[name for name, _ in HEAVY])
def test_a_file_that_is_made_to_exhaust_the_service_does_not(
    name: str, content: Callable[[], bytes], tmp_path: Path
) -> None:
    """Read in a process of its own that may have only so much memory: it ends with flaws, and soon; their check too."""
    path = tmp_path / name
    path.write_bytes(content())
    arguments = [sys.executable, "-c", READER, str(path), str(MEMORY)]
    done = subprocess.run(
        arguments, capture_output=True, text=True, timeout=120, check=True, cwd=Path(__file__).parents[3]
    )
    count, seconds = json.loads(done.stdout)
    assert count > 0
    assert seconds < SECONDS
