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


@pytest.fixture
def patient_store(store: Store) -> Iterator[Store]:
    """The same file for somebody who waits as long as the service does, while another has it for a while."""
    with closing(Store(store.path)) as opened:
        yield opened
