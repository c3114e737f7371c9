"""How a webhook is, in one word: the table of cases."""

import pytest

from quoter.api.webhooks.webhook_document import health
from quoter.api.webhooks.webhook_schemas import HEALTH
from quoter.records.webhooks import Progress, Webhook

AT = "2026-03-02T09:30:00.000000Z"
NOTHING = {}
ARRIVED = {"last_at": AT, "last_status": 204}
REFUSED = {"last_at": AT, "last_status": 500, "last_detail": "it answered 500"}
SILENT = {"last_at": AT, "last_detail": "no answer in time"}

CASES = [
    # the last attempt, waiting, of these after an attempt, dead
    (NOTHING, 0, 0, 0, "healthy"),
    (NOTHING, 2, 0, 0, "healthy"),
    (ARRIVED, 0, 0, 0, "healthy"),
    (ARRIVED, 2, 0, 0, "healthy"),
    (ARRIVED, 1, 1, 0, "incomplete"),
    (ARRIVED, 0, 0, 1, "incomplete"),
    (REFUSED, 1, 1, 0, "failing"),
    (REFUSED, 0, 0, 1, "failing"),
    (SILENT, 0, 0, 1, "failing"),
    (SILENT, 1, 0, 0, "failing"),  # a dead one that is sent again begins anew
]


@pytest.mark.parametrize("paused", [False, True])
@pytest.mark.parametrize(("last", "waiting", "missed", "dead", "state"), CASES)
def test_the_last_attempt_and_what_did_not_arrive_decide(
    last: dict, waiting: int, missed: int, dead: int, state: str, paused: bool
):
    """Never healthy where the last attempt failed or something is dead; never failing where the last one arrived."""
    webhook = Webhook(
        id="w", address="", events=(), secret="", created_at=AT, created_by="", paused_at=AT if paused else None
    )
    progress = Progress(waiting=waiting, missed=missed, dead=dead, **last)
    assert health(webhook, progress) == ("paused" if paused else state)


def test_every_state_has_its_case():
    """And is explained in the description of the API."""
    assert {state for *_, state in CASES} | {"paused"} == set(HEALTH)
