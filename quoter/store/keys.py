"""API keys at rest: never the secret, only its hash."""

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from quoter.records.access import StoredKey
from quoter.store.database import Store


class Keys:
    """Keys by id."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, key: StoredKey) -> None:
        """Keeps a new key."""
        with self._store.write() as database:
            database.table("keys").insert(asdict(key) | {"origins": " ".join(key.origins)})

    def replace(self, new: StoredKey, old_ends_at: str) -> bool:
        """Keeps a key that takes the place of another, which ends then; False where one has done so before."""
        with self._store.write() as database:
            if self._store.row("select id from keys where replaces = :id", {"id": new.replaces}) is not None:
                return False
            self.add(new)
            database.execute(
                "update keys set expires_at = :at where id = :id and (expires_at is null or expires_at > :at)",
                {"at": old_ends_at, "id": new.replaces},
            )
            return True

    def tie(self, key_id: str, origins: Iterable[str]) -> None:
        """Lets a key be used from these sites, and no others."""
        with self._store.write() as database:
            database.execute(
                "update keys set origins = :origins where id = :id", {"origins": " ".join(origins), "id": key_id}
            )

    def find(self, key_id: str) -> StoredKey | None:
        """The key with this id, revoked and expired ones included."""
        remembered, place = self._store.remembered(), ("key", key_id)
        if place not in remembered:
            row = self._store.row("select * from keys where id = :id", {"id": key_id})
            remembered[place] = _key(row) if row else None
        found: StoredKey | None = remembered[place]
        return found

    def has_site(self, origin: str, now: str) -> bool:
        """Whether a form's key that counts at this moment lists a site. Keys are few, and no origin has a space."""
        found = self._store.row(
            "select 1 from keys where scope = 'form' and instr(' ' || origins || ' ', ' ' || :origin || ' ')"
            " and revoked_at is null and (expires_at is null or expires_at > :now) limit 1",
            {"origin": origin, "now": now},
        )
        return found is not None and " " not in origin

    def all(self) -> list[StoredKey]:
        """Every key, oldest first."""
        return [_key(row) for row in self._store.rows("select * from keys order by created_at, id")]

    def note_use(self, key_id: str, at: str, unless_after: str) -> None:
        """Keeps when a key was used, unless a later use is known. Raises Unavailable at once where others write."""
        self._store.write_unless_busy(
            "update keys set last_used_at = :at"
            " where id = :id and (last_used_at is null or last_used_at <= :unless_after)",
            {"at": at, "id": key_id, "unless_after": unless_after},
        )

    def revoke(self, key_id: str, at: str) -> bool:
        """Ends a key at once; False where there is no such key in use."""
        with self._store.write() as database:
            changed = database.execute(
                "update keys set revoked_at = :at where id = :id and revoked_at is null", {"at": at, "id": key_id}
            )
            return int(changed.rowcount) == 1

    def remove(self, key_id: str) -> None:
        """Keeps nothing of a key."""
        with self._store.write() as database:
            database.execute("delete from keys where id = ?", [key_id])


def _key(row: dict[str, Any]) -> StoredKey:
    return StoredKey(
        **row | {"sees_economics": bool(row["sees_economics"]), "origins": tuple(row["origins"].split())},
    )
