"""What `make mutants` needs to see which test calls what."""

import gc
import os

import pytest

from quoter.book import RateBook
from quoter.engine.light_memory import forget_much

from .cases import forget_outcomes


@pytest.fixture(autouse=True)
def nothing_remembered_from_other_tests() -> None:
    """While mutmut watches which test calls which function: what tests share would be worked out in the first alone."""
    if os.environ.get("MUTANT_UNDER_TEST") == "stats":
        forget_outcomes()
        for book in [each for each in gc.get_objects() if isinstance(each, RateBook)]:
            forget_much(book, most=0)
