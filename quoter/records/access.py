"""Who may come in: keys and sessions, never with their secrets."""

from dataclasses import dataclass

SCOPES = ("desk", "form", "owner")
FORM = "form"
"""The scope of keys that stand in a public page."""

DEMO_NAMES = tuple(f"demo {scope}" for scope in SCOPES)
"""Of the keys that a demo makes at its start; the next start removes them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredKey:
    """An API key as it is kept: never its secret, only the secret's SHA-256.

    `origins` are the sites that a form's key may be used from (RFC 6454), `replaces` the key that it takes over from.
    """

    id: str
    name: str
    scope: str
    sees_economics: bool
    secret_sha256: str
    created_at: str
    expires_at: str | None = None
    revoked_at: str | None = None
    origins: tuple[str, ...] = ()
    last_used_at: str | None = None
    replaces: str | None = None

    @property
    def is_of_demo(self) -> bool:
        """Whether it counts until a demo starts again."""
        return self.name in DEMO_NAMES

    def counts_at(self, now: str) -> bool:
        """Neither revoked nor expired."""
        return self.revoked_at is None and (self.expires_at is None or now < self.expires_at)


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """A sign-in on the pages: the hash of its cookie, whose key it stands for, a token against forged requests."""

    token_sha256: str
    key_id: str
    csrf: str
    created_at: str
    expires_at: str
