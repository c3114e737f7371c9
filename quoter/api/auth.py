"""Who is asking: programs send their key as a bearer token (RFC 6750), pages the cookie of a session."""

import hmac

from flask import g, request

from quoter.api.origins import request_origin
from quoter.api.problem_document import ApiProblem
from quoter.api.services import services
from quoter.problems import NotAllowed
from quoter.records.access import FORM, StoredKey

COOKIE = "quoter_session"
CSRF_HEADER = "X-CSRF-Token"
SAFE_METHODS = ("GET", "HEAD", "OPTIONS")


def require_scope(scopes: tuple[str, ...]) -> None:
    """Lets a request pass whose key has one of the scopes. Every wrong key is answered alike.

    A form's key counts only where the page stands that it was made for: other sites shall not use it, and browsers say
    truly which site a page is of (RFC 6454 section 7).
    """
    if not scopes:
        return
    key = _bearer() if "Authorization" in request.headers else _session_holder()
    if key is None:
        detail = "send a key that counts, as the header Authorization: Bearer KEY"
        raise ApiProblem(401, "key-required", detail, headers={"WWW-Authenticate": 'Bearer realm="quoter"'})
    if key.scope not in scopes:
        raise NotAllowed(f"this needs a key of scope {' or '.join(scopes)}; yours is {key.scope}")
    if key.scope == FORM and request_origin() not in key.origins:
        raise ApiProblem(403, "origin-not-allowed", "this key counts on the pages of certain sites, not on this one")
    g.key = key


def current_key() -> StoredKey:
    """The key of this request."""
    key: StoredKey = g.key
    return key


def _bearer() -> StoredKey | None:
    kind, _, presented = request.headers.get("Authorization", "").partition(" ")
    return services().keyring.holder(presented.strip()) if kind.lower() == "bearer" else None


def _session_holder() -> StoredKey | None:
    """Who is signed in. What changes something must also carry the session's own token, which no other site has."""
    found = services().sign_in.holder(request.cookies.get(COOKIE, ""))
    if found is None:
        return None
    key, session = found
    sent = request.headers.get(CSRF_HEADER, "")
    if request.method not in SAFE_METHODS and not hmac.compare_digest(sent.encode(), session.csrf.encode()):
        raise ApiProblem(403, "forged", f"send the token of the page as the header {CSRF_HEADER}")
    return key
