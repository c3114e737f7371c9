"""Who is asking: keys as bearer tokens (RFC 6750)."""

from flask import g, request

from quoter.api.problem_document import ApiProblem
from quoter.api.services import services
from quoter.problems import NotAllowed
from quoter.records import StoredKey


def require_scope(scopes: tuple[str, ...]) -> None:
    """Lets a request pass whose key has one of the scopes. Every wrong key is answered alike."""
    if not scopes:
        return
    kind, _, presented = request.headers.get("Authorization", "").partition(" ")
    key = services().keyring.holder(presented.strip()) if kind.lower() == "bearer" else None
    if key is None:
        detail = "send a key that counts, as the header Authorization: Bearer KEY"
        raise ApiProblem(401, "key-required", detail, headers={"WWW-Authenticate": 'Bearer realm="quoter"'})
    if key.scope not in scopes:
        raise NotAllowed(f"this needs a key of scope {' or '.join(scopes)}; yours is {key.scope}")
    g.key = key


def current_key() -> StoredKey:
    """The key of this request."""
    key: StoredKey = g.key
    return key
