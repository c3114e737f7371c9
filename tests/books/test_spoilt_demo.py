"""The demo book with cells changed: flaws that name their place, or a book that prices everything that it offers."""

from dataclasses import replace
from typing import Any

from builders import a_job
from hypothesis import given, settings
from hypothesis import strategies as st

from books.sheets.made import demo_book
from quoter.books.check import flaws
from quoter.books.compile import compiled
from quoter.books.raw import RawRow
from quoter.books.tables import TABLE_BY_NAME
from quoter.engine.compose import quote_for
from quoter.job import Repair
from quoter.problems import JobRefused

CELLS = ["", "0", "1", "-1", "0.01", "999999", "1e9", "1,5", "yes", "x", "\0", "genuine", "battery", "kessoway-5"]


@st.composite
def changes(draw: Any) -> tuple[str, int, str, str]:
    """A table, a row of it, a column and what stands there instead: a nasty word, or what stands elsewhere."""
    tables = demo_book("ballyquarn").tables
    table = draw(st.sampled_from(sorted(name for name, rows in tables.items() if rows)))
    place = draw(st.integers(0, len(tables[table]) - 1))
    column = draw(st.sampled_from(sorted(tables[table][place].cells)))
    others = sorted({row.cells.get(column) or "" for row in tables[table]})
    return table, place, column, draw(st.sampled_from(CELLS) | st.sampled_from(others))


@settings(max_examples=60)
@given(st.lists(changes(), min_size=1, max_size=3))
def test_a_changed_cell_is_a_flaw_at_a_place_or_prices_stay_sound(changed: list[tuple[str, int, str, str]]):
    """What passes the check prices every procedure on every device: lines and taxes add up, or the job is refused."""
    raw = demo_book("ballyquarn")
    tables = {name: list(rows) for name, rows in raw.tables.items()}
    for table, place, column, value in changed:
        row = tables[table][place]
        tables[table][place] = RawRow(row.number, {**row.cells, column: value})
    spoilt = replace(raw, tables={name: tuple(rows) for name, rows in tables.items()})
    found = flaws(spoilt)
    for flaw in found:
        assert flaw.table in {*TABLE_BY_NAME, "book.toml"} or flaw.table.startswith(("tax/", "law/"))
        assert flaw.row is not None or flaw.table not in TABLE_BY_NAME or not flaw.column
    if not found:
        all_add_up(compiled(spoilt))


def all_add_up(book: Any) -> None:
    """Each thing that the book offers, by itself."""
    for device, procedures in book.offered.items():
        for procedure in procedures:
            try:
                quote = quote_for(a_job(device=device, repairs=[Repair(procedure)]), book)
            except JobRefused:
                continue
            assert quote.totals.net == sum(line.charge.net for line in quote.lines)
            assert quote.totals.net + sum(row.tax for row in quote.tax) == quote.totals.gross
