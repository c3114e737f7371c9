"""What an owner asks who wants a program to be told what happens."""

from typing import Any

from examples.asking import Asking
from quoter.service.webhooks.webhooks import MOST_WEBHOOKS

CLOSED = {"address": "https://192.168.0.7/told", "events": ["quote.issued"]}

NAMED = {"Idempotency-Key": '"4d1b8c52-93de-4b3c-8a53-0f6b2c7e9a10"'}
"""The name of the request that registers, which no other may have."""

OPEN = {"address": "https://books.example.org/told", "events": ["quote.issued"]}


def play_webhooks(asking: Asking) -> None:
    """From an address to the end of its webhook. Nothing is ever sent: what would be is asked for, and waits."""
    asking.fail("registerWebhook", 422, "address-refused", body=CLOSED)
    registered = asking.succeed("registerWebhook", headers=NAMED)
    at = {"webhook_id": registered.get_json()["id"]}
    _deliver(asking, at)
    asking.succeed("listWebhooks", brief=True)
    tag = str(asking.succeed("readWebhook", path=at).headers["ETag"])
    tag = str(asking.succeed("rotateWebhookSecret", path=at, match=tag).headers["ETag"])
    tag = str(asking.succeed("changeWebhook", path=at, match=tag).headers["ETag"])
    asking.fail("tryWebhook", 409, "conflict", path=at)
    asking.succeed("endWebhook", path=at, match=tag)
    for number in range(MOST_WEBHOOKS):
        asking.succeed("registerWebhook", spoil=False, body=OPEN | {"address": f"{OPEN['address']}/{number}"})
    asking.fail("registerWebhook", 409, "conflict", body=OPEN)


def _deliver(asking: Asking, at: dict[str, Any]) -> None:
    asking.fail("tryWebhook", 422, "idempotency-key-reused", path=at, headers=NAMED)
    asking.succeed("tryWebhook", path=at)
    (delivery,) = asking.succeed("listDeliveries", path=at, query={"state": "waiting"}).get_json()["deliveries"]
    place = {"place": delivery["place"]}
    for operation, which in (("sendAgain", place), ("sendDeadAgain", at)):
        asking.fail(operation, 422, "idempotency-key-reused", path=which, headers=NAMED)
        asking.succeed(operation, path=which)
