"""Use cases of the owner: register a webhook, change it, rotate its secret, try it, send again what did not arrive."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace

from quoter.problems import Conflict, NotFound
from quoter.records.webhooks import Delivery, DeliveryFilter, Progress, Webhook
from quoter.service.clock import Clock, stamp
from quoter.service.ids import time_ordered_id
from quoter.service.ports import Deliveries, KeptWebhooks, Together
from quoter.service.webhooks.addresses import Addresses
from quoter.service.webhooks.announcing import Announcing
from quoter.service.webhooks.signing import new_secret

MOST_WEBHOOKS = 10
"""As many as are spoken to at a time: one that hangs keeps no other waiting."""

ENDED = "the webhook has ended"


@dataclass(frozen=True, slots=True)
class Webhooks:
    """The life of webhooks. `by` is the name of the key that acts."""

    kept: KeptWebhooks
    deliveries: Deliveries
    announcing: Announcing
    addresses: Addresses
    together: Together
    now: Clock

    def all(self) -> list[Webhook]:
        """Those that have not ended, oldest first."""
        return self.kept.all()

    def get(self, webhook_id: str) -> Webhook:
        """A webhook that has not ended. Raises NotFound."""
        found = self.kept.get(webhook_id)
        if found is None or found.ended_at is not None:
            raise NotFound("webhook", webhook_id)
        return found

    def progress(self, webhook: Webhook) -> Progress:
        """How deliveries to it stand."""
        return self.kept.progress(webhook.id)

    def register(self, address: str, events: Iterable[str], note: str, by: str) -> Webhook:
        """A new webhook with its secret. Raises AddressRefused, Conflict where it has one or there are too many."""
        target = self.addresses.target(address)
        moment = self.now()
        webhook = Webhook(
            id=time_ordered_id(moment),
            address=target.written,
            events=_in_order(events),
            secret=new_secret(),
            created_at=stamp(moment),
            created_by=by,
            note=note.strip(),
        )
        self.kept.add(webhook, MOST_WEBHOOKS)
        return webhook

    def change(
        self,
        seen: Webhook,
        *,
        events: Iterable[str] | None = None,
        note: str | None = None,
        paused: bool | None = None,
    ) -> Webhook:
        """Other events, another note, paused or not; what is None stays. Raises ChangedMeanwhile."""
        changed = replace(
            seen,
            events=seen.events if events is None else _in_order(events),
            note=seen.note if note is None else note.strip(),
        )
        if paused is False or (paused and seen.paused_at is None):
            paused_at = stamp(self.now()) if paused else None
            changed = replace(changed, paused_at=paused_at, paused_because=None)
        return seen if changed == seen else self._kept(changed)

    def rotate(self, seen: Webhook, overlap: dt.timedelta) -> Webhook:
        """A new secret; the old one signs as well for a while. Raises ChangedMeanwhile."""
        until = stamp(self.now() + overlap) if overlap else None
        old_secret = seen.secret if overlap else None
        return self._kept(replace(seen, secret=new_secret(), old_secret=old_secret, old_secret_until=until))

    def end(self, seen: Webhook) -> None:
        """Ends it for good: what waits is given up, and its secrets are forgotten. Raises ChangedMeanwhile."""
        now = stamp(self.now())
        with self.together():
            self._kept(replace(seen, secret="", old_secret=None, old_secret_until=None, ended_at=now))
            self.deliveries.give_up(seen.id, now, ENDED)

    def try_out(self, webhook: Webhook) -> Delivery:
        """Something to be told to it at once, which says nothing. Raises Conflict where it is paused."""
        _refuse_paused(webhook)
        return self.announcing.trial(webhook)

    def find(self, wanted: DeliveryFilter) -> list[Delivery]:
        """Deliveries to a webhook, the newest first."""
        return self.deliveries.find(wanted)

    def send_again(self, place: int) -> Delivery:
        """A delivery, whatever has become of it, due at once under the same id. Raises NotFound."""
        found = self.deliveries.get(place)
        if found is None:
            raise NotFound("delivery", str(place))
        self.get(found.webhook)
        self.deliveries.send_again(place, stamp(self.now()))
        return self.deliveries.get(place) or found

    def send_dead_again(self, webhook: Webhook) -> int:
        """Every dead delivery to a webhook, due at once; how many there are."""
        return self.deliveries.send_dead_again(webhook.id, stamp(self.now()))

    def _kept(self, changed: Webhook) -> Webhook:
        after = replace(changed, version=changed.version + 1)
        self.kept.change(after)
        return after


def secrets_at(webhook: Webhook, now: str) -> list[str]:
    """The secrets that sign at a moment: the new one, and the old one as long as it counts."""
    old = webhook.old_secret if webhook.old_secret_until and now < webhook.old_secret_until else None
    return [webhook.secret, *([old] if old else [])]


def _in_order(events: Iterable[str]) -> tuple[str, ...]:
    """Each once, in alphabetical order, so that the same wish is the same text."""
    return tuple(sorted(set(events)))


def _refuse_paused(webhook: Webhook) -> None:
    if webhook.paused_at is not None:
        raise Conflict("the webhook is paused; resume it first")
