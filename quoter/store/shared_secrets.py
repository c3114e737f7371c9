"""What the service signs with: made once, kept in the database, so that every process and restart has the same."""

from secrets import token_bytes

from quoter.store.database import Store

LENGTH_BYTES = 32


class Secrets:
    """Secrets by the name of what they are for."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def of(self, name: str) -> bytes:
        """The secret of this name; made where there is none yet, by whoever is first."""
        return self._kept(name) or self._made(name)

    def _made(self, name: str) -> bytes:
        with self._store.write() as database:
            database.execute(
                "insert or ignore into secrets (name, value) values (?, ?)", [name, token_bytes(LENGTH_BYTES)]
            )
        return self._kept(name)

    def _kept(self, name: str) -> bytes:
        row = self._store.row("select value from secrets where name = :name", {"name": name})
        return bytes(row["value"]) if row else b""
