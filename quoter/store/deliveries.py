"""Deliveries: in order for each subject and webhook, and taken by one worker at a time, across all processes."""

from typing import Any

from sqlite_utils import Database

from quoter.records.webhooks import Claim, Delivery, DeliveryFilter, Outcome
from quoter.store.database import Store
from quoter.store.webhooks import webhook_from

LARGEST_PLACE = 2**63 - 1
"""The largest number that SQLite knows."""

_DELIVERY = """
    select deliveries.place, deliveries.announcement, deliveries.webhook, deliveries.about, deliveries.state,
        deliveries.attempts, deliveries.next_at, deliveries.last_at, deliveries.last_status, deliveries.last_detail,
        announcements.kind, announcements.at
    from deliveries join announcements on announcements.id = deliveries.announcement
"""

_NEXT = """
    select place from deliveries join webhooks on webhooks.id = deliveries.webhook
    where state = 'waiting' and next_at <= :now
    and webhooks.paused_at is null and webhooks.ended_at is null
    and webhook not in (select webhook from deliveries where state = 'waiting' and claimed_until > :now)
    and not exists (
        select 1 from deliveries as earlier
        where earlier.webhook = deliveries.webhook and earlier.about = deliveries.about
        and earlier.place < deliveries.place and earlier.state = 'waiting')
    order by next_at, place limit 1
"""
"""Due, its webhook neither paused nor being spoken to, and nothing earlier about the same subject on its way."""

_FRESH = "state = 'waiting', attempts = 0, next_at = :now"
_LAST = """
    last_at = (select max(last_at) from deliveries as others where others.webhook = deliveries.webhook)
    and exists (select 1 from webhooks where webhooks.id = deliveries.webhook and ended_at is null)
"""
_PRUNED = "select 1 from deliveries where deliveries.announcement = announcements.id"


class Deliveries:
    """Deliveries by place."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def get(self, place: int) -> Delivery | None:
        """A delivery as far as it is."""
        if not 0 < place <= LARGEST_PLACE:
            return None
        row = self._store.row(f"{_DELIVERY} where place = :place", {"place": place})
        return Delivery(**row) if row else None

    def find(self, wanted: DeliveryFilter) -> list[Delivery]:
        """Of a webhook, the newest first, at most `wanted.limit`."""
        state = "" if wanted.state is None else "and state = :state"
        sql = f"{_DELIVERY} where webhook = :webhook and place < :before {state} order by place desc limit :limit"
        values = {"webhook": wanted.webhook, "state": wanted.state, "limit": wanted.limit}
        before = LARGEST_PLACE if wanted.before is None else wanted.before
        return [Delivery(**row) for row in self._store.rows(sql, values | {"before": before})]

    def claim(self, now: str, until: str) -> Claim | None:
        """The next one to attempt. Nobody else gets it before `until`, nor another one to the same webhook."""
        if self._store.row(_NEXT, {"now": now}) is None:  # looking makes nobody wait
            return None
        with self._store.write() as database:
            found = next(iter(database.query(_NEXT, {"now": now})), None)
            if found is None:
                return None
            sql = "update deliveries set claimed_until = :until where place = :place"
            database.execute(sql, {"until": until, "place": found["place"]})
            return self._claim(found["place"], until)

    def _claim(self, place: int, until: str) -> Claim:
        (row,) = self._store.rows(f"{_DELIVERY} where place = :place", {"place": place})
        delivery = Delivery(**row)
        (webhook,) = self._store.rows("select * from webhooks where id = :id", {"id": delivery.webhook})
        sql = "select body from announcements where id = :id"
        (announcement,) = self._store.rows(sql, {"id": delivery.announcement})
        return Claim(delivery=delivery, webhook=webhook_from(webhook), body=announcement["body"], until=until)

    def done(self, claim: Claim, outcome: Outcome, now: str) -> None:
        """It has arrived."""
        with self._store.write() as database:
            _attempted(database, claim, outcome, now, "state = 'delivered'")

    def put_off(self, claim: Claim, outcome: Outcome, now: str, next_at: str | None) -> None:
        """It has not arrived, and is tried again at `next_at`; without that it is dead."""
        change = "state = 'dead'" if next_at is None else "next_at = :next_at"
        with self._store.write() as database:
            _attempted(database, claim, outcome, now, change, next_at=next_at)

    def pause(self, claim: Claim, outcome: Outcome, now: str, because: str) -> None:
        """It has not arrived, and its webhook is told nothing more for now."""
        with self._store.write() as database:
            _attempted(database, claim, outcome, now, "next_at = :now")
            sql = """
                update webhooks set paused_at = :now, paused_because = :because, version = version + 1
                where id = :id and paused_at is null and ended_at is null
            """
            database.execute(sql, {"now": now, "because": because, "id": claim.webhook.id})

    def send_again(self, place: int, now: str) -> None:
        """Due at once, as if it had never been attempted."""
        with self._store.write() as database:
            database.execute(f"update deliveries set {_FRESH} where place = :place", {"now": now, "place": place})

    def send_dead_again(self, webhook_id: str, now: str) -> int:
        """The same for every dead one of a webhook; how many there were."""
        sql = f"update deliveries set {_FRESH} where webhook = :id and state = 'dead'"
        with self._store.write() as database:
            return int(database.execute(sql, {"now": now, "id": webhook_id}).rowcount)

    def give_up(self, webhook_id: str, now: str, detail: str) -> None:
        """Whatever still waits for a webhook is dead."""
        sql = """
            update deliveries set state = 'dead', claimed_until = null, last_at = :now, last_detail = :detail
            where webhook = :id and state = 'waiting'
        """
        with self._store.write() as database:
            database.execute(sql, {"now": now, "detail": detail, "id": webhook_id})

    def forget(self, delivered_before: str, dead_before: str) -> None:
        """Removes what was delivered, or given up, long ago; the last thing that a webhook was sent tells how it is."""
        old = f"""
            (state = 'delivered' and last_at < :delivered_before and not ({_LAST}))
            or (state = 'dead' and last_at < :dead_before)
        """
        values = {"delivered_before": delivered_before, "dead_before": dead_before}
        if self._store.row(f"select 1 from deliveries where {old} limit 1", values) is None:
            return
        with self._store.write() as database:
            database.execute(f"delete from deliveries where {old}", values)
            database.execute(f"delete from announcements where not exists ({_PRUNED})")


def _attempted(database: Database, claim: Claim, outcome: Outcome, now: str, change: str, **values: Any) -> None:
    """Keeps what came of an attempt, unless somebody else has taken the delivery on since."""
    sql = f"""
        update deliveries set {change}, claimed_until = null, attempts = attempts + 1,
            last_at = :now, last_status = :status, last_detail = :detail
        where place = :place and claimed_until = :until
    """
    said = {"now": now, "status": outcome.status, "detail": outcome.detail}
    database.execute(sql, said | values | {"place": claim.delivery.place, "until": claim.until})
