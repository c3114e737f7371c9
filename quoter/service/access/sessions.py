"""Sign-in on pages: a key is exchanged for a session, so that the browser never keeps the key."""

import datetime as dt
import hashlib
import secrets
from dataclasses import dataclass

from quoter.records.access import FORM, Session, StoredKey
from quoter.service.access.keys import Keyring
from quoter.service.clock import Clock, stamp
from quoter.service.ports import Keys, Sessions

LASTS = dt.timedelta(hours=12)
RENEWED_AFTER = dt.timedelta(minutes=15)
OLD_TOKEN_LASTS = dt.timedelta(minutes=1)
"""After a renewal, for requests that are under way with the old token."""


@dataclass(frozen=True, slots=True)
class SignIn:
    """Begins, recognises, renews and ends sessions."""

    sessions: Sessions
    keys: Keys
    keyring: Keyring
    now: Clock

    def begin(self, presented: str) -> tuple[str, Session] | None:
        """A session for who holds this key, with the token that is its cookie; None for a key that does not count.

        A form's key is public, so that there is none for it either.
        """
        key = self.keyring.holder(presented)
        if key is None or key.scope == FORM:
            return None
        self.keyring.note_use(key)
        return self._new(key.id)

    def begin_for(self, key_id: str) -> tuple[StoredKey, str, Session] | None:
        """A session for a key that the service itself knows, with its token; None where the key does not count."""
        key = self.keys.find(key_id)
        return (key, *self._new(key.id)) if key and key.scope != FORM and key.counts_at(stamp(self.now())) else None

    def holder(self, token: str) -> tuple[StoredKey, Session] | None:
        """Whose session a token is, if both it and the key still count."""
        now = stamp(self.now())
        session = self.sessions.find(_hash(token))
        if session is None or now >= session.expires_at:
            return None
        key = self.keys.find(session.key_id)
        return (key, session) if key and key.scope != FORM and key.counts_at(now) else None

    def renewed(self, token: str, session: Session) -> tuple[str, Session] | None:
        """Another token for a session that has had its own for a while; None where that is too early, or done."""
        moment = self.now()
        too_early = stamp(moment - RENEWED_AFTER) < session.created_at
        if too_early or session.expires_at <= stamp(moment + OLD_TOKEN_LASTS):
            return None
        self.sessions.end(_hash(token), stamp(moment + OLD_TOKEN_LASTS))
        return self._new(session.key_id)

    def end(self, token: str) -> None:
        """Signs out."""
        self.sessions.end(_hash(token), stamp(self.now()))

    def _new(self, key_id: str) -> tuple[str, Session]:
        moment, token = self.now(), secrets.token_urlsafe(32)
        session = Session(
            token_sha256=_hash(token),
            key_id=key_id,
            csrf=secrets.token_urlsafe(24),
            created_at=stamp(moment),
            expires_at=stamp(moment + LASTS),
        )
        self.sessions.add(session)
        return token, session


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
