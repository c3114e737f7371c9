"""API keys: made, shown once, recognised."""

import datetime as dt
import hashlib
import hmac
import secrets
from collections.abc import Iterable
from dataclasses import dataclass

from quoter.problems import NotFound
from quoter.records.access import FORM, StoredKey
from quoter.service.clock import Clock, stamp
from quoter.service.origins import origin_of
from quoter.service.ports import Keys

PREFIX = "quoter"
_NOBODY = hashlib.sha256(b"nobody").hexdigest()


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
        origins: Iterable[str] = (),
    ) -> tuple[str, StoredKey]:
        """A key as its holder presents it, shown this once, and what is kept of it. Owners always see economics.

        A form's key stands in a page for all to see, so it is tied to the `origins` of those pages; no other key is.
        """
        sites = tuple(dict.fromkeys(map(origin_of, origins)))
        if (scope == FORM) is not bool(sites):
            raise ValueError("a key of scope form is tied to origins, and no other is")
        moment = self.now()
        secret = secrets.token_urlsafe(32)
        key = StoredKey(
            id=secrets.token_hex(6),
            name=name,
            scope=scope,
            sees_economics=scope == "owner" or (sees_economics and scope != FORM),
            secret_sha256=_hash(secret),
            created_at=stamp(moment),
            expires_at=stamp(moment + dt.timedelta(days=days)) if days is not None else None,
            origins=sites,
        )
        self.keys.add(key)
        return f"{PREFIX}_{key.id}_{secret}", key

    def holder(self, presented: str) -> StoredKey | None:
        """Whose key this is, if it counts. Takes as long for an unknown id as for a wrong secret."""
        prefix, _, rest = presented.partition("_")
        key_id, _, secret = rest.partition("_")
        key = self.keys.find(key_id) if prefix == PREFIX else None
        matches = hmac.compare_digest(_hash(secret), key.secret_sha256 if key else _NOBODY)
        return key if key and matches and key.counts_at(stamp(self.now())) else None

    def revoke(self, key_id: str) -> None:
        """Ends a key at once."""
        if not self.keys.revoke(key_id, stamp(self.now())):
            raise NotFound("key in use", key_id)


def _hash(secret: str) -> str:
    """SHA-256 is enough for 32 random bytes: there is nothing to guess."""
    return hashlib.sha256(secret.encode()).hexdigest()
