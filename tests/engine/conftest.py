"""What `make mutants` needs: to see which test calls what, and not to wait for tests to be found one by one."""

import gc
import os

import pytest

from quoter.book import RateBook
from quoter.engine.light_memory import forget_much

from .cases import forget_outcomes

MUTANT = "MUTANT_UNDER_TEST"
ASKED = pytest.StashKey[dict[str, int]]()


@pytest.fixture(autouse=True)
def nothing_remembered_from_other_tests() -> None:
    """While mutmut watches which test calls which function: what tests share would be worked out in the first alone."""
    if os.environ.get(MUTANT) == "stats":
        forget_outcomes()
        for book in [each for each in gc.get_objects() if isinstance(each, RateBook)]:
            forget_much(book, most=0)


def pytest_configure(config: pytest.Config) -> None:
    """mutmut names a thousand tests, and pytest would look each up among all: it is given their files instead."""
    config.stash[ASKED] = {}
    if MUTANT in os.environ and all("::" in each for each in config.args):
        config.stash[ASKED] = {each: place for place, each in enumerate(config.args)}
        config.args = sorted({each.partition("::")[0] for each in config.args})


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Those that mutmut named, mixed as they were, so that soon one of any kind has run; what takes long comes last."""
    asked = config.stash[ASKED]
    if asked:
        named = [each for each in items if each.nodeid in asked]
        items[:] = sorted(named, key=lambda each: asked[each.nodeid])
    if MUTANT in os.environ:
        items.sort(key=lambda each: each.get_closest_marker("hypothesis") is not None)
