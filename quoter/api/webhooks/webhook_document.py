"""Webhooks and deliveries as plain data, for the API and the owner's page alike."""

from typing import Any

from quoter.records.webhooks import Delivery, Progress, Webhook

Data = dict[str, Any]


def webhook_data(webhook: Webhook, progress: Progress, now: str) -> Data:
    """A webhook and how deliveries to it stand, without its secret."""
    plain = ("id", "address", "note", "created_at", "created_by", "version", "paused_at", "paused_because")
    until = webhook.old_secret_until
    return {
        **{name: getattr(webhook, name) for name in plain},
        "events": list(webhook.events),
        "health": health(webhook, progress),
        "old_secret_until": until if until and now < until else None,
        "waiting": progress.waiting,
        "dead": progress.dead,
        "last_delivered_at": progress.last_delivered_at,
        "last_attempt": _attempt(progress),
    }


def health(webhook: Webhook, progress: Progress) -> str:
    """How it goes, as `HEALTH` explains: the owner's wish, then the last attempt, then what did not arrive."""
    if webhook.paused_at is not None:
        return "paused"
    if progress.has_failed:
        return "failing"
    return "incomplete" if progress.missed or progress.dead else "healthy"


def delivery_data(delivery: Delivery) -> Data:
    """A delivery as far as it is."""
    plain = ("place", "webhook", "kind", "about", "at", "state", "attempts")
    return {
        **{name: getattr(delivery, name) for name in plain},
        "id": delivery.announcement,
        "next_at": delivery.next_at if delivery.state == "waiting" else None,
        "last_attempt": _attempt(delivery),
    }


def _attempt(made: Progress | Delivery) -> Data | None:
    if made.last_at is None:
        return None
    return {"at": made.last_at, "status": made.last_status, "detail": made.last_detail or ""}
