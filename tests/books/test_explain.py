"""The declarations explain themselves, and the page for owners says what they say."""

import re
from pathlib import Path

import pytest

from books.conftest import SMALL_BOOK
from quoter.books.cells import number, one_of, some_of, whole
from quoter.books.explain import SECTIONS, settings_markdown, tables_markdown
from quoter.books.settings import BOOK_SECTIONS, TAX_SECTIONS
from quoter.books.tables import TABLE_BY_NAME, TABLES

PAGE = Path(__file__).parents[2] / "docs" / "rate-books.md"

DECLARED = [
    *(pytest.param(column, id=f"{table.name}.{column.name}") for table in TABLES for column in table.columns),
    *(
        pytest.param(setting, id=f"{section.title} {setting.key}")
        for section in SECTIONS
        for setting in section.settings
    ),
    *(pytest.param(section, id=section.key) for section in (*BOOK_SECTIONS, *TAX_SECTIONS)),
]


@pytest.mark.parametrize("declared", DECLARED)
def test_every_column_and_setting_says_what_it_is_for(declared):
    """In its own words, and not by repeating its name."""
    name = getattr(declared, "name", "") or declared.key
    assert len(declared.help) > 3
    assert declared.help not in (name, name.replace("_", " "))


@pytest.mark.parametrize("declared", DECLARED)
def test_every_reader_says_what_it_reads(declared):
    """The documentation and the check never tell different things."""
    assert declared.reads.__doc__


@pytest.mark.parametrize(
    ("reader", "words"),
    [
        (number(), "A number from 0."),
        (number("0", above=True), "A number above 0."),
        (number("0", "1"), "A number from 0 to 1."),
        (number("0.5", "1", below=True), "A number from 0.5 to below 1."),
        (whole(0, 3650), "A whole number from 0 to 3650."),
        (one_of("line", "rate"), "One of line, rate."),
        (some_of("part", "labour"), "A list of some of part, labour."),
    ],
)
def test_a_reader_with_bounds_names_them(reader, words: str):
    """Both of them, and whether they are included."""
    assert reader.__doc__ == words


def test_what_a_column_refers_to_is_a_table():
    """And that table's rows have a single key."""
    for table in TABLES:
        for column in table.columns:
            assert column.refers is None or len(TABLE_BY_NAME[column.refers].key) == 1


def test_a_table_is_keyed_by_its_own_columns():
    """And makes rows whose fields are its columns."""
    for table in TABLES:
        assert set(table.key) <= set(table.header)
        assert set(table.header) <= set(table.row.__dataclass_fields__)


def test_the_markdown_of_the_tables_has_a_row_for_each_column():
    """Below the heading of its table, in the order of the file."""
    for section in re.split(r"(?m)^### ", tables_markdown())[1:]:
        name = section.partition(".csv")[0].strip("`")
        assert tuple(re.findall(r"(?m)^\| `(\w+)`", section)) == TABLE_BY_NAME[name].header
    assert tables_markdown().count("### ") == len(TABLES)


def test_the_markdown_of_the_settings_has_every_key_of_the_small_book():
    """It uses all sections there are."""
    shown = set(re.findall(r"(?m)^\| `([\w.]+)`", settings_markdown()))
    used = {key for name in ("book.toml", "tax/plain.toml") for key in re.findall(r"(?m)^(\w+) =", SMALL_BOOK[name])}
    last_words = {key.rpartition(".")[2] for key in shown}
    assert used - last_words == {
        "USD",
        *(kind for kind in used if kind in "part consumable labour bench risk disposal"),
    }


@pytest.mark.parametrize(
    "row",
    [
        "| `corner_mm` | a number from 0 to 10000 | 0 | radius of its corners, at most half the shorter side |",
        "| `goals` | codes of `steps.csv` separated by spaces | not allowed | the steps that must be done in the end |",
        "| `replaces` | pairs `old:new` of `steps.csv` separated by spaces | nothing |",
        "| `stops` | `yes`, or blank for no | no |",
        "| `device` | a code of `devices.csv` | not allowed | what the shop works on |",
        "| `cash_mode` | one of half-up, half-down, half-even, down, up | half-up |",
        "| `lines` | a list of some of part, consumable, labour, bench, risk, disposal | not allowed |",
        "A row is named by its `device`, `procedure` and `grade`. May be empty.",
        "A row is named by its `device` and `procedure`. Has at least one row.",
    ],
)
def test_a_row_tells_what_it_holds_what_a_blank_means_and_what_it_is_for(row: str):
    """As an owner reads it."""
    assert row in tables_markdown() + settings_markdown()


@pytest.mark.parametrize(("name", "text"), [("tables", tables_markdown()), ("settings", settings_markdown())])
def test_the_page_about_rate_books_is_up_to_date(name: str, text: str):
    """Where it is not, paste the text that this prints between the two comments."""
    page = PAGE.read_text(encoding="utf-8")
    between = re.search(rf"<!-- {name}: .*? -->\n(.*?)\n?<!-- end of {name} -->", page, re.DOTALL)
    assert between
    assert between[1].strip() == text, text


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.name)
def test_the_page_names_every_file(table):
    """In the picture of the folder."""
    assert f"{table.name}.csv" in PAGE.read_text(encoding="utf-8").partition("## Editing")[0]
