"""Services to call."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from demo_books import read_once

from .running import Service, a_service

read_once()


@pytest.fixture
def service(tmp_path: Path) -> Iterator[Service]:
    """A service with the demo books and an empty database."""
    with a_service(tmp_path) as running:
        yield running


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """The same for all tests of a module: for tables of requests that leave nothing behind."""
    with a_service(tmp_path_factory.mktemp("shared")) as running:
        yield running
