"""Workbooks that mean harm, or are none: each ends as a flaw that says what would be right."""

import zipfile
from collections.abc import Callable

import pytest

from books.conftest import the_one
from books.sheets.made import a_sheet, part_of, small_xlsx, small_zip, unzipped, with_parts, zipped
from books.sheets.refusals import Content, assert_refused, made
from quoter.books.sheets.package import MOST_TAGS
from quoter.books.sheets.workbook import from_xlsx

OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000)
ODS = {"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<x/>"}
DTD = '<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'


def with_part(name: str, data: bytes | str | None) -> bytes:
    """The small workbook with one other part."""
    return with_parts(small_xlsx(), {name: data}, zipfile.ZIP_STORED)


def with_texts(texts: str) -> bytes:
    """The small workbook with these shared texts."""
    relations = unzipped(small_xlsx())["xl/_rels/workbook.xml.rels"].decode()
    link = '<Relationship Id="s" Type="x/sharedStrings" Target="texts.xml"/></Relationships>'
    parts = {"xl/_rels/workbook.xml.rels": relations.replace("</Relationships>", link), "xl/texts.xml": f"<sst>{texts}"}
    return with_parts(small_xlsx(), parts, zipfile.ZIP_STORED)


WORKBOOKS = [
    ("empty", b"", "this is not a zip file", ".xlsx"),
    ("CSV", b"sku,title\n", "this is not a zip file", ".xlsx"),
    ("old workbook", OLE, "an old .xls workbook, or one with a password", "saved as .xlsx"),
    ("PDF", b"%PDF-1.7", "a PDF file", "saved as .xlsx"),
    ("OpenDocument", zipped(ODS), "an OpenDocument spreadsheet", "save it as .xlsx"),
    ("binary workbook", zipped({"xl/workbook.bin": b""}), "a binary workbook", "save it as .xlsx"),
    ("a book as a zip file", small_zip(), "a zip file with tables", "import it as a zip file"),
    ("any zip file", zipped({"a.txt": b""}), "no workbook in the zip file", "saved as .xlsx"),
    ("truncated", small_xlsx()[:-100], "damaged or only a part", "saved as .xlsx"),
    ("macros", with_part("xl/vbaProject.bin", b"\xd0\xcf"), "has macros", "save it as .xlsx"),
    ("old macros", with_part("xl/macrosheets/sheet1.xml", a_sheet("")), "has macros", "save it as .xlsx"),
    ("links", with_part("xl/externalLinks/externalLink1.xml", "<x/>"), "links to other workbooks", "break the links"),
    (
        "entities in the workbook",
        with_part("xl/workbook.xml", f"{DTD}<workbook>&b;</workbook>"),
        "(DTD)",
        "save it again",
    ),
    ("entities in the styles", with_part("xl/styles.xml", f"{DTD}<styleSheet/>"), "(DTD)", "save it again"),
    ("entities in relations", with_part("_rels/.rels", f"{DTD}<Relationships/>"), "(DTD)", "save it again"),
    ("no workbook part", with_part("xl/workbook.xml", None), "'xl/workbook.xml' is not there", "save it again"),
    ("no relations", with_part("_rels/.rels", None), "no workbook in the zip file", "saved as .xlsx"),
    ("no XML", with_part("xl/workbook.xml", b"\0\1\2"), "not well-formed XML", "save it again"),
    (
        "an unknown encoding",
        with_part("xl/workbook.xml", '<?xml version="1.0" encoding="x"?><a/>'),
        "not well-formed",
        "again",
    ),
    (
        "many styles",
        lambda: with_part("xl/styles.xml", "<x>" + "<xf/>" * 500_001 + "</x>"),
        "too many elements",
        "save it again",
    ),
    ("levels of texts", lambda: with_texts("<x>" * 65), "too many texts or levels", "save it again"),
    ("many texts", lambda: with_texts("<si/>" * 1_000_002), "too many texts or levels", "save it again"),
    (
        "many sheets",
        with_part("xl/workbook.xml", "<x>" + "".join(f'<sheet name="{n}"/>' for n in range(101)) + "</x>"),
        "too many sheets",
        "again",
    ),
    (
        "a sheet twice",
        with_part("xl/workbook.xml", '<x><sheet name="a"/><sheet name="a"/></x>'),
        "two sheets of one name",
        "again",
    ),
]


@pytest.mark.parametrize(
    ("content", "message", "suggestion"), [each[1:] for each in WORKBOOKS], ids=[e[0] for e in WORKBOOKS]
)
def test_a_workbook_that_cannot_be_trusted_is_not_opened(content: Content, message: str, suggestion: str) -> None:
    """Macros, links, entities, other formats, damage: one flaw about the whole, and no book."""
    assert_refused(from_xlsx(made(content)), message, suggestion)


CELL = '<c r="A2"><v>1</v></c>'

SHEETS = [
    ("entities", f"{DTD}{a_sheet('')}", "(DTD)"),
    ("entities in UTF-16", f'<?xml version="1.0" encoding="UTF-16"?>{DTD}{a_sheet("")}'.encode("utf-16"), "(DTD)"),
    ("no XML", "rows", "not well-formed XML"),
    ("cut", a_sheet(f'<row r="2">{CELL}</row>')[:-30], "not well-formed XML"),
    ("rows out of order", a_sheet('<row r="3"/><row r="2"/>'), "rows out of order"),
    ("rows beyond the last", a_sheet('<row r="1048577"/>'), "rows out of order"),
    ("rows without a number", a_sheet('<row r="x"/>'), "rows out of order"),
    ("cells out of order", a_sheet('<row><c r="B1"/><c r="A1"/></row>'), "cells out of order"),
    ("cells without a place", a_sheet('<row><c r="1"/></row>'), "a cell without a place"),
    ("cells outside of rows", a_sheet("<c><v>1</v></c>"), "a cell outside of rows"),
    ("a text that is not there", a_sheet('<row><c t="s"><v>5</v></c></row>'), "points to a text that is not there"),
    ("row 200,001", a_sheet('<row r="200001"><c><v>1</v></c></row>'), "it is too large"),
    ("column 101", a_sheet('<row><c r="CW1"><v>1</v></c></row>'), "it is too large"),
    ("cells without end", lambda: a_sheet(f"<row>{'<c/>' * 1_000_001}</row>"), "too many cells"),
    ("decoration without end", lambda: a_sheet("<x/>" * 200_001), "too much beside its cells"),
    ("levels without end", lambda: a_sheet("<x>" * 200_001), "too much beside its cells"),
    ("merged without end", lambda: a_sheet("", '<mergeCell ref="A1:B2"/>' * 10_001), "too many merged cells"),
    ("elements without end", lambda: a_sheet("<c/>" * MOST_TAGS), "the workbook has too many cells"),
    (
        "a long element",
        lambda: a_sheet("<row " + " ".join(f'a{n}=""' for n in range(150_000)) + "/>"),
        "an element that is too long",
    ),
]


@pytest.mark.parametrize(("sheet", "message"), [each[1:] for each in SHEETS], ids=[each[0] for each in SHEETS])
def test_a_sheet_that_cannot_be_trusted_is_one_flaw(sheet: str | bytes | Callable[[], str], message: str) -> None:
    """The other sheets are read, and nothing is said to be missing from this one."""
    part = sheet() if callable(sheet) else sheet
    raw = from_xlsx(with_parts(small_xlsx(), {part_of("cautions"): part}, zipfile.ZIP_STORED))
    flaw = the_one([each for each in raw.flaws if each.table == "cautions"])
    assert flaw.message.startswith("sheet cautions: ")
    assert message in flaw.message
    assert raw.tables["cautions"] == ()
    assert len(raw.tables["parts"]) == 3
