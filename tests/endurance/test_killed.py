"""A service that is killed at random moments keeps what it has acknowledged, once and whole: some of `make endure`."""

from pathlib import Path

from .rounds import Rounds

ROUNDS, SEED = 12, 12


def test_what_was_acknowledged_is_there_after_it_was_killed(tmp_path: Path):
    """Clients quote, revise, decide, enquire and publish at the same time until the service is gone under them."""
    tally = Rounds(tmp_path, SEED).run(ROUNDS)
    assert tally["kills"] == ROUNDS
    assert tally["acknowledged"] > 0
    assert tally["repeated, done"] > 0
    assert tally["rows of quotes"] > ROUNDS
