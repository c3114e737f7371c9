"""API keys: made, shown once, recognised, rotated, ended."""

import datetime as dt
import hashlib
import hmac
import secrets
from collections.abc import Iterable
from dataclasses import dataclass, replace

from quoter.problems import Conflict, NotFound, Unavailable
from quoter.records.access import FORM, StoredKey
from quoter.service.access.origins import LONGEST, origin_of
from quoter.service.clock import Clock, stamp
from quoter.service.ports import Keys

PREFIX = "quoter"
OVERLAP = dt.timedelta(hours=24)
"""For how long a key that is rotated goes on counting, where nobody says otherwise."""

USE_NOTED_EVERY = dt.timedelta(minutes=10)

_NOBODY = StoredKey(
    id="", name="", scope="", sees_economics=False, secret_sha256=hashlib.sha256(b"nobody").hexdigest(), created_at=""
)


@dataclass(frozen=True, slots=True)
class Keyring:
    """Makes keys and tells whose a presented one is."""

    keys: Keys
    now: Clock

    def new(
        self,
        name: str,
        scope: str,
        *,
        sees_economics: bool = False,
        days: int | None = None,
        until: dt.datetime | None = None,
        origins: Iterable[str] = (),
    ) -> tuple[str, StoredKey]:
        """A key as its holder presents it, shown this once, and what is kept of it. Owners always see economics.

        It counts for so many `days`, or `until` a moment, or without end. A form's key stands in a page for all to
        see, so it is tied to the `origins` of those pages; no other key is.
        """
        sites = _sites(origins)
        if (scope == FORM) is not bool(sites):
            raise ValueError("a key of scope form is tied to origins, and no other is")
        moment = self.now()
        ends = moment + dt.timedelta(days=days) if days is not None else until
        presented, key = _made(
            StoredKey(
                id="",
                name=name,
                scope=scope,
                sees_economics=scope == "owner" or (sees_economics and scope != FORM),
                secret_sha256="",
                created_at=stamp(moment),
                expires_at=stamp(ends) if ends is not None else None,
                origins=sites,
            )
        )
        self.keys.add(key)
        return presented, key

    def holder(self, presented: str) -> StoredKey | None:
        """Whose key this is, if it counts. Takes as long for an unknown id as for a wrong secret."""
        prefix, _, rest = presented.partition("_")
        key_id, _, secret = rest.partition("_")
        key = self.keys.find(key_id) or _NOBODY
        matches = hmac.compare_digest(_hash(secret), key.secret_sha256)
        counts = key.counts_at(stamp(self.now()))
        return key if matches and counts and prefix == PREFIX and key.id else None

    def note_use(self, key: StoredKey) -> None:
        """Keeps when a key was last used, to some minutes. Never waits, and never fails what the key is used for."""
        moment = self.now()
        if key.last_used_at is None or key.last_used_at <= stamp(moment - USE_NOTED_EVERY):
            try:
                self.keys.note_use(key.id, stamp(moment), stamp(moment - USE_NOTED_EVERY))
            except Unavailable:  # locked, full or read-only: the next request tries again
                return

    def has_site(self, origin: str) -> bool:
        """Whether some form's key that counts may be used on the pages of a site."""
        return len(origin) <= LONGEST and self.keys.has_site(origin, stamp(self.now()))

    def rotate(
        self, key_id: str, *, overlap: dt.timedelta = OVERLAP, until: dt.datetime | None = None
    ) -> tuple[str, StoredKey, StoredKey]:
        """Another key in the place of one, which ends after the overlap and never later than it would have: the new one
        as its holder presents it, what is kept of it, and the old one as it is then.

        The new one counts as long as the old one was made for, from now, unless `until` says otherwise.
        Raises NotFound, and Conflict where it has been rotated before.
        """
        moment = self.now()
        old = self._in_use(key_id)
        ends = min(each for each in (stamp(moment + overlap), old.expires_at) if each is not None)
        presented, new = _made(
            replace(
                old,
                created_at=stamp(moment),
                expires_at=stamp(until) if until is not None else _as_long(old, moment),
                last_used_at=None,
                replaces=old.id,
            )
        )
        if not self.keys.replace(new, ends):
            raise Conflict(f"the key {key_id} has been rotated already; rotate the one that took its place")
        return presented, new, replace(old, expires_at=ends)

    def tie(self, key_id: str, origins: Iterable[str]) -> StoredKey:
        """Ties a form's key to other sites; the old ones end at once."""
        sites = _sites(origins)
        key = self._in_use(key_id)
        if key.scope != FORM or not sites:
            raise Conflict(f"the key {key_id} is of scope {key.scope}; only a form's key is tied to sites")
        self.keys.tie(key_id, sites)
        return replace(key, origins=sites)

    def revoke(self, key_id: str) -> None:
        """Ends a key at once."""
        if not self.keys.revoke(key_id, stamp(self.now())):
            raise NotFound("key in use", key_id)

    def forget_demo(self) -> None:
        """Ends the keys of earlier starts of a demo and keeps nothing of them: they were shown to anybody."""
        for key in self.keys.all():
            if key.is_of_demo:
                self.keys.remove(key.id)

    def _in_use(self, key_id: str) -> StoredKey:
        key = self.keys.find(key_id)
        if key is None or not key.counts_at(stamp(self.now())):
            raise NotFound("key in use", key_id)
        return key


def _made(plan: StoredKey) -> tuple[str, StoredKey]:
    """A key with an id and a secret of its own."""
    secret = secrets.token_urlsafe(32)
    key = replace(plan, id=secrets.token_hex(6), secret_sha256=_hash(secret))
    return f"{PREFIX}_{key.id}_{secret}", key


def _as_long(old: StoredKey, moment: dt.datetime) -> str | None:
    if old.expires_at is None:
        return None
    made, ends = (dt.datetime.fromisoformat(at) for at in (old.created_at, old.expires_at))
    return stamp(moment + (ends - made))


def _sites(origins: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(map(origin_of, origins)))


def _hash(secret: str) -> str:
    """SHA-256 is enough for 32 random bytes: there is nothing to guess."""
    return hashlib.sha256(secret.encode()).hexdigest()
