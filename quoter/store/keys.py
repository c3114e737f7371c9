"""API keys at rest: never the secret, only its hash."""

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

    def find(self, key_id: str) -> StoredKey | None:
        """The key with this id, revoked and expired ones included."""
        row = self._store.row("select * from keys where id = :id", {"id": key_id})
        return _key(row) if row else None

    def all(self) -> list[StoredKey]:
        """Every key, oldest first."""
        return [_key(row) for row in self._store.rows("select * from keys order by created_at, id")]

    def revoke(self, key_id: str, at: str) -> bool:
        """Ends a key at once; False where there is no such key in use."""
        with self._store.write() as database:
            changed = database.execute(
                "update keys set revoked_at = :at where id = :id and revoked_at is null", {"at": at, "id": key_id}
            )
            return int(changed.rowcount) == 1


def _key(row: dict[str, Any]) -> StoredKey:
    return StoredKey(
        **row | {"sees_economics": bool(row["sees_economics"]), "origins": tuple(row["origins"].split())},
    )
