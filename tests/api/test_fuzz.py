"""Schemathesis against the running service: whatever is sent, the answers are as the description says.

Bounded here, the same on every run; `make fuzz` goes on for as long as one likes.
"""

from pathlib import Path

import pytest
import schemathesis.checks
from schemathesis.checks import CHECKS

from .fuzzing.afterwards import read_everything
from .fuzzing.internals import ROOT, internals_in
from .fuzzing.runs import LEFT_OUT, SCOPES, Wish, fuzzed
from .fuzzing.serving import listening

SEED = 20260302

BRIEFLY = {
    "owner": Wish("owner", ("coverage", "fuzzing"), examples=1, sequences=0, seed=SEED, brief=True),
    "desk": Wish("desk", ("fuzzing", "stateful"), examples=1, sequences=15, seed=SEED, brief=True),
    "form": Wish("form", ("fuzzing",), examples=1, sequences=0, seed=SEED, brief=True),
    "none": Wish("none", ("fuzzing",), examples=1, sequences=0, seed=SEED, brief=True),
}
"""Every value of each field is tried by who may do everything; others mostly learn what they may not."""


def test_every_answer_is_as_described(tmp_path: Path):
    """No fault of the server, nothing that is not described, no internals, no way past the scopes; and what is kept
    afterwards is whole.

    One test for all scopes, so that each meets what those before it have made, in whichever process it runs.
    """
    with listening(tmp_path) as running:
        for scope in SCOPES:
            run = fuzzed(running, BRIEFLY[scope], tmp_path, show=None)
            assert run.status == 0, run.output
            read_everything(running.service)


def test_what_is_left_out_is_a_check_that_there_is():
    """One that schemathesis renames, or no longer has, is not left out by mistake."""
    schemathesis.checks.load_all_checks()
    assert set(LEFT_OUT) <= set(CHECKS.get_all_names())


@pytest.mark.parametrize(
    "text",
    [
        "Traceback (most recent call last):",
        'File "app.py", line 3, in view',
        "quoter.store.quotes",
        "sqlite3.IntegrityError",
        "KeyError: 'device'",
        "SELECT id FROM quotes WHERE id = 'x'",
        "UNIQUE constraint failed",
        "<class 'dict'>",
        "Decimal('1.0')",
        "/usr/lib/python3",
        str(ROOT),
        "here is the secret",
    ],
)
def test_internals_are_noticed(text: str):
    """The check that every answer goes through can fail."""
    assert internals_in(text, ["the secret"])


@pytest.mark.parametrize(
    "text", ["/v1/quotes/1", "Not a decimal number as text", "https://shop.example/tmp", "select a part"]
)
def test_what_answers_say_is_no_internal(text: str):
    """And it does not fail at everything."""
    assert not internals_in(text)
