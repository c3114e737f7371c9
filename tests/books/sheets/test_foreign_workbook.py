"""Workbooks as other programs write them: the same cells in other words of the same format."""

from collections.abc import Mapping

import pytest

from books.conftest import the_one
from books.sheets.made import MAIN, column_of, part_of, small_book, small_xlsx, unzipped, with_parts
from quoter.books.sheets.workbook import from_xlsx

RELATIONS = "xl/_rels/workbook.xml.rels"
TITLE = '<c r="A1" t="inlineStr"><is><t>code</t></is></c><c r="B1" t="inlineStr"><is><t>text</t></is></c>'
SOURCE = '<c r="C1" t="inlineStr"><is><t>source</t></is></c>'
HEADER = f'<row r="1">{TITLE}{SOURCE}</row>'

SHARED = f"""<?xml version="1.0" encoding="UTF-8"?>
<sst xmlns="{MAIN}">
<si><t>plain</t></si>
<si><r><t>rich </t></r><r><rPr><b/></rPr><t xml:space="preserve">text</t></r></si>
<si><t>課きく</t><rPh sb="0" eb="1"><t>カ</t></rPh><phoneticPr fontId="0"/></si>
<si><t>a_x000D_b_x005F_x0041_</t></si>
<si/>
</sst>"""


def cautions(row: str, parts: Mapping[str, str] | None = None) -> bytes:
    """The small book with this XML as the second row of its cautions, and other parts."""
    sheet = f'<worksheet xmlns="{MAIN}"><sheetData>{HEADER}<row r="2">{row}</row></sheetData></worksheet>'
    relations = unzipped(small_xlsx())[RELATIONS].decode()
    shared = '<Relationship Id="shared" Type="http://x/sharedStrings" Target="sharedStrings.xml"/></Relationships>'
    return with_parts(
        small_xlsx(),
        {
            part_of("cautions"): sheet,
            RELATIONS: relations.replace("</Relationships>", shared),
            "xl/sharedStrings.xml": SHARED,
            **(parts or {}),
        },
    )


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        ('<c r="B2" t="s"><v>0</v></c>', "plain"),
        ('<c r="B2" t="s"><v>1</v></c>', "rich text"),
        ('<c r="B2" t="s"><v>2</v></c>', "課きく"),
        ('<c r="B2" t="s"><v>3</v></c>', "a\rb_x0041_"),
        ('<c r="B2" t="s"><v>4</v></c>', ""),
        ('<c r="B2" t="s"/>', ""),
        ('<c r="B2" t="str"><v>words</v></c>', "words"),
        ('<c r="B2" t="inlineStr"><is><r><t>two </t></r><r><t>runs</t></r></is></c>', "two runs"),
        ('<c r="B2" t="inlineStr"><is><t>課</t><rPh sb="0" eb="1"><t>カ</t></rPh></is></c>', "課"),
        ('<c r="B2" t="inlineStr"><is><t>a&lt;b&#10;c</t></is></c>', "a<b\nc"),
        ('<c r="B2" t="inlineStr"><is><t><![CDATA[a<b]]></t></is></c>', "a<b"),
        ('<c r="B2"><v>7</v></c>', "7"),
        ('<c r="B2" t="n"><v>1.1000000000000001</v></c>', "1.1"),
        ('<c r="B2" s="9999"><v>8</v></c>', "8"),
    ],
)
def test_a_text_is_read_in_all_the_ways_in_which_it_may_be_stored(cell: str, text: str) -> None:
    """Shared or in its cell, in runs of different looks, with or without its reading."""
    raw = from_xlsx(cautions(f'<c r="A2" t="s"><v>0</v></c>{cell}'))
    assert not raw.flaws
    assert column_of(raw, "cautions", "text") == [text]


@pytest.mark.parametrize(
    ("cell", "message"),
    [
        ('<c r="B2" t="d"><v>2026-03-05T00:00:00</v></c>', "holds a date, 2026-03-05"),
        ('<c r="B2" t="e"><v>#N/A</v></c>', "holds the error #N/A"),
        ('<c r="B2" t="b"><f>NOT(A1)</f><v>1</v></c>', "holds a formula"),
        ('<c r="B2" t="str"><f t="shared" si="0"/><v>x</v></c>', "holds a formula"),
        ('<c r="B2"><f/></c>', "holds a formula"),
        ('<c r="B2"><v>1e999</v></c>', "holds a number that makes no sense"),
        ('<c r="B2"><v>NaN</v></c>', "holds a number that makes no sense"),
        ('<c r="B2"><v>one</v></c>', "holds a number that makes no sense"),
        ('<c r="B2" t="?"><v>x</v></c>', "holds the error x"),
    ],
)
def test_a_cell_that_is_no_text_is_told(cell: str, message: str) -> None:
    """Whatever it is stored as."""
    flaw = the_one(list(from_xlsx(cautions(f'<c r="A2" t="s"><v>0</v></c>{cell}')).flaws))
    assert flaw.message == f"cautions!B2 {message}"
    assert flaw.key == "plain"


@pytest.mark.parametrize("kind", ["n", "b"])
@pytest.mark.parametrize("value", ["TRUE", "FALSE"])
def test_a_truth_value_that_libreoffice_saved_is_no_formula(value: str, kind: str) -> None:
    """It writes =TRUE() for it, in a cell of a number."""
    was = b'<c r="B8" t="b"><v>1</v></c>'
    new = f'<c r="B8" t="{kind}"><f aca="false">{value}()</f><v>{int(value == "TRUE")}</v></c>'.encode()
    sheet = unzipped(small_xlsx())[part_of("tax")]
    assert sheet.count(was) == 1
    raw = from_xlsx(with_parts(small_xlsx(), {part_of("tax"): sheet.replace(was, new)}))
    assert not raw.flaws
    assert raw.tax["combined"] is (value == "TRUE")


def test_cells_and_rows_may_be_without_their_places() -> None:
    """Then each stands behind the one before it."""
    content = cautions(
        '<c t="s"><v>0</v></c><c t="s"><v>1</v></c></row><row><c t="s"><v>1</v></c><c r="C3" t="s"><v>0</v></c>'
    )
    rows = from_xlsx(content).tables["cautions"]
    assert [(row.number, *row.cells.values()) for row in rows] == [
        (2, "plain", "rich text", "", ""),
        (3, "rich text", "", "plain", ""),
    ]


def test_elements_may_have_a_prefix_and_targets_be_absolute() -> None:
    """As some libraries write workbooks."""
    files = unzipped(small_xlsx())
    prefixed = {
        name: data.decode().replace("</", "</x:").replace("<", "<x:").replace("<x:/x:", "</x:").replace("<x:?", "<?")
        for name, data in files.items()
        if name.startswith("xl/worksheets/sheet") and name.endswith(".xml")
    }
    spelt = {name: text.replace(f'xmlns="{MAIN}"', f'xmlns:x="{MAIN}"') for name, text in prefixed.items()}
    relations = files[RELATIONS].decode().replace('Target="worksheets', 'Target="/xl/worksheets')
    assert len(spelt) == 17
    assert from_xlsx(with_parts(small_xlsx(), {**spelt, RELATIONS: relations})) == small_book()


def test_a_workbook_may_be_in_utf_16() -> None:
    """A parser of XML knows both."""
    sheet = unzipped(small_xlsx())[part_of("parts")].decode()
    recoded = f'<?xml version="1.0" encoding="UTF-16"?>{sheet}'.encode("utf-16")
    assert from_xlsx(with_parts(small_xlsx(), {part_of("parts"): recoded})) == small_book()


def test_days_may_be_counted_from_1904() -> None:
    """As old spreadsheets on the Macintosh did: day 0 is 1 January 1904."""
    files = unzipped(small_xlsx())
    workbook = files["xl/workbook.xml"].decode().replace("<workbookPr />", '<workbookPr date1904="1"/>')
    styles = files["xl/styles.xml"].decode().replace("</cellXfs>", '<xf numFmtId="14"/></cellXfs>')
    style = styles.partition("<cellXfs")[2].partition("</cellXfs>")[0].count("<xf") - 1
    was = '<c r="B13" s="'
    sheet = files[part_of("tax")].decode()
    assert "date1904" in workbook
    assert was in sheet
    begin, _, rest = sheet.partition(was)
    rest = rest.partition("</c>")[2]
    dated = f'{begin}<c r="B13" s="{style}"><v>39085</v></c>{rest}'
    raw = from_xlsx(
        with_parts(small_xlsx(), {"xl/workbook.xml": workbook, "xl/styles.xml": styles, part_of("tax"): dated})
    )
    assert not raw.flaws
    assert raw.tax["codes"]["standard"]["components"][0]["from"] == "2011-01-04"


@pytest.mark.parametrize("number", [14, 22, 27, 36, 45, 50, 58])
def test_the_formats_of_dates_that_have_only_a_number_are_known(number: int) -> None:
    """Those of East Asian locales too."""
    styles = unzipped(small_xlsx())["xl/styles.xml"].decode()
    formats = f'<cellXfs><xf numFmtId="0"/><xf numFmtId="{number}"/></cellXfs>'
    changed = styles.partition("<cellXfs")[0] + formats + styles.partition("</cellXfs>")[2]
    content = cautions('<c r="A2" t="s"><v>0</v></c><c r="B2" s="1"><v>46086</v></c>', {"xl/styles.xml": changed})
    found = [flaw for flaw in from_xlsx(content).flaws if flaw.table == "cautions"]
    assert the_one(found).message == "cautions!B2 holds a date, 2026-03-05"


def test_a_sheet_that_is_a_chart_is_no_table() -> None:
    """Its name is one of ours, its content is not."""
    relations = unzipped(small_xlsx())[RELATIONS].decode()
    kind, part = "/relationships/worksheet", f"/{part_of('menu')}"
    at = relations.index(part)
    start = relations.rindex("<Relationship ", 0, at)
    changed = relations[:start] + relations[start:].replace(kind, "/relationships/chartsheet", 1)
    flaw = the_one(list(from_xlsx(with_parts(small_xlsx(), {RELATIONS: changed})).flaws))
    assert (flaw.table, flaw.message) == ("menu", "sheet menu: it has no cells")
