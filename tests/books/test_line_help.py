"""Every line that an owner edits says what it is for."""

import tomllib
from pathlib import Path

import pytest

from quoter.books.flat import flat
from quoter.books.line_help import line_help

RATES = Path(__file__).parents[2] / "rates"

FILES = [
    *(("book.toml", path) for path in sorted(RATES.glob("*/book.toml"))),
    *((kind, path) for kind in ("tax", "law") for path in sorted((RATES / kind).glob("*.toml"))),
]


@pytest.mark.parametrize(("kind", "path"), FILES, ids=lambda part: part.name if isinstance(part, Path) else part)
def test_each_line_of_the_books_and_profiles_that_come_with_the_program_is_explained(kind: str, path: Path) -> None:
    """So is whatever an owner may write into them: they hold every sort of line."""
    keys = list(flat(tomllib.loads(path.read_text("utf-8"))))
    assert keys
    assert [key for key in keys if line_help(kind, key) is None] == []


@pytest.mark.parametrize(
    ("kind", "key", "told"),
    [
        ("book.toml", "labour.bench_rate", "an hour of dwell"),
        ("book.toml", "parts.markup 2.rate", "markup on the slice"),
        ("book.toml", "fx.USD", "book currency for one unit"),
        ("tax", "codes.full.components 1.rate", "a fraction"),
        ("tax", "lines.labour", "the tax code of the lines"),
        ("law", 'notices.withdrawal.texts."pt-BR"', "the notice in a language"),
    ],
)
def test_lines_in_lists_and_under_names_of_the_owner_are_told_apart(kind: str, key: str, told: str) -> None:
    """By what leads to them, not by their last name alone."""
    assert told in (line_help(kind, key) or "")


@pytest.mark.parametrize("key", ["labour", "labour.bench_rates", "rate", "codes.full.rate", "a..b", "", "labour.*"])
@pytest.mark.parametrize("kind", ["book.toml", "tax", "law"])
def test_a_key_that_means_nothing_has_no_explanation(kind: str, key: str) -> None:
    """A slip is not explained as something else."""
    assert line_help(kind, key) is None
