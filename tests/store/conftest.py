"""A database file."""

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from quoter.store.database import Store


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A new one."""
    with closing(Store(tmp_path / "quoter.db", wait_seconds=0.2)) as opened:
        yield opened
