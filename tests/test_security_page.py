"""The page on threats names the tests that hold each defence; this holds the page."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
NAMED = re.findall(r"`(tests/[\w/]+\.py)::(test_\w+)`", (ROOT / "docs" / "security.md").read_text())


@pytest.mark.parametrize(("file", "test"), NAMED, ids=[test for _, test in NAMED])
def test_a_test_that_is_named_is_there(file: str, test: str):
    """Under this name, in this file."""
    functions = [
        node.name for node in ast.walk(ast.parse((ROOT / file).read_text())) if isinstance(node, ast.FunctionDef)
    ]
    assert test in functions


def test_every_threat_names_a_test():
    """A row of the table without one would be a promise."""
    (table,) = re.findall(r"## Ways in.*?(\| threat .*?)\n\n", (ROOT / "docs" / "security.md").read_text(), re.DOTALL)
    rows = table.splitlines()[2:]
    assert len(rows) >= 18
    assert [row for row in rows if not re.search(r"`tests/[\w/]+\.py::test_\w+` ?.*\|$", row)] == []
