"""Edits of a draft, pure: rows keep their ids, and a draft is kept as it is."""

import json

import pytest
from builders import a_raw_book
from hypothesis import given
from hypothesis import strategies as st

from quoter.books.compile import compiled
from quoter.books.draft import (
    MOST_LINES,
    CellChange,
    Draft,
    Edit,
    draft_data,
    draft_from,
    draft_of,
    edited,
    raw_of,
)
from quoter.problems import EditRefused

DRAFT = draft_of(a_raw_book())
IDS = [row.id for row in DRAFT.tables["steps"]]


def order(draft: Draft) -> list[int]:
    """The steps by id."""
    return [row.id for row in draft.tables["steps"]]


def line(key: str, value: str | None = "1", table: str = "book.toml") -> Edit:
    """A line that is set."""
    return Edit(do="set", table=table, key=key, value=value)


def test_a_draft_says_what_its_book_says():
    """To the digest, also after it has been kept as JSON."""
    digest = compiled(a_raw_book()).digest
    assert compiled(raw_of(DRAFT)).digest == digest
    assert compiled(raw_of(draft_from(json.loads(json.dumps(draft_data(DRAFT)))))).digest == digest


def test_ids_are_given_once_in_the_whole_draft():
    """A new row never gets one that another has had."""
    every = [row.id for rows in DRAFT.tables.values() for row in rows]
    assert len(set(every)) == len(every)
    less, _ = edited(DRAFT, [Edit(do="delete", table="steps", row=IDS[0])])
    more, changes = edited(less, [Edit(do="add", table="steps")])
    assert changes[0].row not in every
    assert order(more) == [*IDS[1:], changes[0].row]


@pytest.mark.parametrize(
    ("row", "before", "places"),
    [
        (0, 0, [0, 1, 2, 3, 4]),
        (0, 1, [0, 1, 2, 3, 4]),
        (0, 2, [1, 0, 2, 3, 4]),
        (0, None, [1, 2, 3, 4, 0]),
        (4, 0, [4, 0, 1, 2, 3]),
        (4, None, [0, 1, 2, 3, 4]),
        (2, 4, [0, 1, 3, 2, 4]),
        (2, 1, [0, 2, 1, 3, 4]),
    ],
)
def test_a_row_is_moved_before_another(row: int, before: int | None, places: list[int]):
    """Or to the end; where it stands already nothing is changed."""
    target = None if before is None else IDS[before]
    moved, changes = edited(DRAFT, [Edit(do="move", table="steps", row=IDS[row], before=target)])
    assert order(moved) == [IDS[place] for place in places]
    assert bool(changes) is (places != sorted(places))


@given(st.lists(st.tuples(st.sampled_from(IDS), st.sampled_from([*IDS, None])), max_size=12))
def test_moving_loses_no_row(moves: list[tuple[int, int | None]]):
    """In whatever order."""
    moved, _ = edited(DRAFT, [Edit(do="move", table="steps", row=row, before=before) for row, before in moves])
    assert sorted(order(moved)) == sorted(IDS)


def test_what_is_sent_together_is_made_together_or_not_at_all():
    """The draft itself never changes."""
    before = draft_data(DRAFT)
    with pytest.raises(EditRefused) as refused:
        edited(DRAFT, [line("labour.bench_rate", "9"), Edit(do="delete", table="steps", row=-1), line("a b")])
    assert [each.pointer for each in refused.value.refusals] == ["/edits/1/row", "/edits/2/key"]
    assert draft_data(DRAFT) == before


def test_a_cell_is_kept_without_spaces_around_it():
    """As a file is read."""
    _, changes = edited(DRAFT, [Edit(do="set", table="steps", row=IDS[0], cells={"low": " 9 ", "code": "open"})])
    assert changes == (CellChange("steps", IDS[0], "open", "low", "5", "9"),)


@pytest.mark.parametrize(
    "edits",
    [
        [line("labour")],
        [line("labour.bench_rate.unit")],
        [line('"labour".bench_rate')],
        [line("parts.markup 1")],
        [line("new.a"), line("new")],
        [line("new"), line("new.a")],
    ],
)
def test_a_line_that_would_be_lost_is_refused(edits: list[Edit]):
    """Another says already what stands there: it would be shown, and never count."""
    with pytest.raises(EditRefused, match="contradicts another line"):
        edited(DRAFT, edits)


def test_a_line_takes_the_place_of_one_that_is_deleted_before():
    """In one call."""
    changed, _ = edited(DRAFT, [Edit(do="delete", table="tax", key="combined"), line("combined.a", table="tax")])
    assert changed.files["tax"]["combined.a"] == "1"


def test_a_file_has_only_so_many_lines():
    """And a list only so many entries: a single edit cannot fill the memory."""
    many = [line(f"fx.X{number}") for number in range(MOST_LINES)]
    with pytest.raises(EditRefused, match="which is the most"):
        edited(DRAFT, many)
    with pytest.raises(EditRefused, match="is no key"):
        edited(DRAFT, [line(f"parts.markup {MOST_LINES + 1}.rate")])
