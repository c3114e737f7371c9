"""Webhooks by id: who is told what, and how it goes."""

from dataclasses import asdict
from typing import Any

from quoter.problems import ChangedMeanwhile, Conflict
from quoter.records.webhooks import Progress, Webhook
from quoter.store.database import Store
from quoter.store.replies import empty_replies


class KeptWebhooks:
    """Webhooks with their secrets: a signature cannot be made from a hash."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, webhook: Webhook, most: int) -> None:
        """Keeps a new one. Raises Conflict where its address has one, or where there are `most` already."""
        with self._store.write() as database:
            others = self.all()
            for other in others:
                if other.address == webhook.address:
                    raise Conflict(f"the webhook {other.id} has this address already: it can be told of other events")
            if len(others) >= most:
                raise Conflict(f"there are {most} webhooks already; end one that is not needed")
            database.table("webhooks").insert(webhook_row(webhook))

    def change(self, changed: Webhook) -> None:
        """Keeps one as it is now. Raises ChangedMeanwhile where it is not at the version before any more.

        Where it has another secret, answers that show the one before are forgotten.
        """
        with self._store.write() as database:
            (row,) = database.query("select version, secret from webhooks where id = ?", [changed.id])
            if row["version"] != changed.version - 1:
                raise ChangedMeanwhile("the webhook is not what you have seen: it has been changed meanwhile")
            database.table("webhooks").update(changed.id, webhook_row(changed))
            if row["secret"] != changed.secret:
                empty_replies(database, f"/v1/webhooks/{changed.id}")

    def get(self, webhook_id: str) -> Webhook | None:
        """A webhook, ended ones included."""
        row = self._store.row("select * from webhooks where id = :id", {"id": webhook_id})
        return webhook_from(row) if row else None

    def all(self) -> list[Webhook]:
        """Those that have not ended, oldest first."""
        return [
            webhook_from(row) for row in self._store.rows("select * from webhooks where ended_at is null order by id")
        ]

    def progress(self, webhook_id: str) -> Progress:
        """How deliveries to it stand: two indexes are all that is read."""
        sql = """
            select
                (select count(*) from deliveries where webhook = :id and state = 'waiting') as waiting,
                (select count(*) from deliveries where webhook = :id and state = 'dead') as dead,
                (select count(*) from deliveries
                    where webhook = :id and state = 'waiting' and attempts > 0) as missed,
                (select max(last_at) from deliveries where webhook = :id and state = 'delivered') as last_delivered_at
        """
        counts = self._store.row(sql, {"id": webhook_id}) or {}
        sql = """
            select last_at, last_status, last_detail from deliveries
            where webhook = :id and last_at is not null order by last_at desc, place desc limit 1
        """
        return Progress(**counts | (self._store.row(sql, {"id": webhook_id}) or {}))


def webhook_row(webhook: Webhook) -> dict[str, Any]:
    """A webhook as a row; its events are words apart by blanks."""
    return asdict(webhook) | {"events": " ".join(webhook.events)}


def webhook_from(row: dict[str, Any]) -> Webhook:
    """A row as a webhook."""
    return Webhook(**row | {"events": tuple(row["events"].split())})
