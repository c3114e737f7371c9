"""Sessions of pages at rest: never the token, only its hash."""

from dataclasses import asdict

from quoter.records.access import Session
from quoter.store.database import Store


class Sessions:
    """Sessions by the hash of their token."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, session: Session) -> None:
        """Keeps a session, and forgets those that are over."""
        with self._store.write() as database:
            database.execute("delete from sessions where expires_at < ?", [session.created_at])
            database.table("sessions").insert(asdict(session))

    def find(self, token_sha256: str) -> Session | None:
        """The session of a token."""
        row = self._store.row("select * from sessions where token_sha256 = :token", {"token": token_sha256})
        return Session(**row) if row else None

    def end(self, token_sha256: str, at: str) -> None:
        """Lets a session count no longer than to this moment."""
        with self._store.write() as database:
            database.execute(
                "update sessions set expires_at = min(expires_at, ?) where token_sha256 = ?", [at, token_sha256]
            )
