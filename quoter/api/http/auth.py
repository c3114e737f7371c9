"""Who is asking: programs send their key as a bearer token (RFC 6750), pages the cookie of a session."""

import hmac

from flask import Flask, Response, g, request

from quoter.api.http.limits import spend_form, too_often
from quoter.api.http.origins import request_origin, sender_address
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.services import services
from quoter.problems import NotAllowed
from quoter.records.access import FORM, StoredKey

COOKIE = "quoter_session"
CSRF_HEADER = "X-CSRF-Token"
SAFE_METHODS = ("GET", "HEAD", "OPTIONS")

MOST_FORM_BYTES = 20_000
"""Of the body of a request by a form: a job and what a visitor writes are much smaller."""


def require_scope(scopes: tuple[str, ...]) -> None:
    """Lets a request pass whose key has one of the scopes. Every wrong key is answered alike."""
    if not scopes:
        return
    key = _bearer() if "Authorization" in request.headers else _session_holder()
    if key is None:
        detail = "send a key that counts, as the header Authorization: Bearer KEY"
        raise ApiProblem(401, "key-required", detail, headers={"WWW-Authenticate": 'Bearer realm="quoter"'})
    g.presented = key
    if key.scope not in scopes:
        raise NotAllowed(f"this needs a key of scope {' or '.join(scopes)}; yours is {key.scope}")
    if key.scope == FORM:
        _require_form(key)
    services().keyring.note_use(key)
    g.key = key


def register(app: Flask) -> None:
    """What a key has opened is not to be found in a browser by whoever uses it next, with another key or with none."""

    @app.after_request
    def keep_out_of_caches(response: Response) -> Response:
        if "presented" in g:
            response.headers.setdefault("Cache-Control", "no-store")
        return response


def current_key() -> StoredKey:
    """The key of this request."""
    key: StoredKey = g.key
    return key


def holder_of(presented: str) -> StoredKey | None:
    """Whose key this is, if it counts. Raises problem 429 where it does not, and too many such came from there.

    A key is 256 bits that nobody guesses, so one that counts passes whatever else came from the same network.
    """
    key = services().keyring.holder(presented)
    if key is None:
        standing = services().limits.wrong(sender_address())
        if not standing.is_allowed:
            raise too_often(standing)
    return key


def _require_form(key: StoredKey) -> None:
    """A form's key counts only where the page stands that it was made for, so often, and for what is small.

    Other sites shall not use it, and browsers say truly which site a page is of (RFC 6454 section 7).
    """
    if request_origin() not in key.origins:
        raise ApiProblem(403, "origin-not-allowed", "this key counts on the pages of certain sites, not on this one")
    spend_form(key.id)
    request.max_content_length = min(MOST_FORM_BYTES, request.max_content_length or MOST_FORM_BYTES)


def _bearer() -> StoredKey | None:
    kind, _, presented = request.headers.get("Authorization", "").partition(" ")
    return holder_of(presented.strip()) if kind.lower() == "bearer" else None


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
