"""Who is looking at a page: the session behind its cookie, and whether a form was sent from a page of this service."""

import ipaddress
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any
from urllib.parse import urlsplit

from flask import Response, current_app, g, redirect, request, url_for

from quoter.api.http.auth import COOKIE
from quoter.api.http.services import services
from quoter.records.access import Session, StoredKey

View = Callable[..., Response]

STAFF = ("desk", "owner")
DEMO_KEY = "DEMO_DESK_KEY"
"""Entry of the app's configuration: id of the key that visitors from this machine are signed in with, in a demo."""


@dataclass(frozen=True, slots=True)
class Visitor:
    """Who is signed in, with the token of the cookie and what the session keeps."""

    key: StoredKey
    session: Session
    token: str

    @property
    def home(self) -> str:
        """The page that they come for."""
        return "/owner" if self.key.scope == "owner" else "/desk"


def visitor() -> Visitor | None:
    """Who is signed in, if anybody."""
    token = request.cookies.get(COOKIE, "")
    found = services().sign_in.holder(token) if token else None
    if found is None or found[0].scope not in STAFF:
        return None
    return Visitor(found[0], found[1], token)


def for_owner(view: View) -> View:
    """Shows a page to who is signed in with an owner's key, others the way to it."""
    return _for_scopes(view, ("owner",))


def for_staff(view: View) -> View:
    """Shows a page to who is signed in with a key of the desk or of the owner, others the way to it."""
    return _for_scopes(view, STAFF)


def _for_scopes(view: View, scopes: tuple[str, ...]) -> View:
    """With a renewed session where it is time."""

    @wraps(view)
    def guarded(**arguments: Any) -> Response:
        found = visitor()
        begun = None if found else _demo_session()
        if begun is not None:
            found = begun
        if found is None or found.key.scope not in scopes:
            return see_other(url_for("signing_in.form", next=request.full_path.rstrip("?")))
        renewed = services().sign_in.renewed(found.token, found.session)
        if renewed is not None:
            found = begun = Visitor(found.key, renewed[1], renewed[0])
        g.visitor = found
        response = view(**arguments)
        if begun is not None:
            give_cookie(response, begun.token)
        return response

    return guarded


def _demo_session() -> Visitor | None:
    """Of a first visit to a demo, from the machine that it runs on."""
    key_id = current_app.config.get(DEMO_KEY)
    is_own = request.headers.get("Sec-Fetch-Site", "none") in ("none", "same-origin")
    if key_id is None or not (is_own and _is_this_machine(request.remote_addr) and _is_this_machine(_host())):
        return None
    begun = services().sign_in.begin_for(key_id)
    if begun is None:
        return None
    key, token, session = begun
    return Visitor(key, session, token)


def _host() -> str:
    """The name by which the browser knows this service; another site's name may lead here too."""
    return urlsplit(f"//{request.host}").hostname or ""


def _is_this_machine(name: str | None) -> bool:
    try:
        return name == "localhost" or ipaddress.ip_address(name or "").is_loopback
    except ValueError:
        return False


def current_visitor() -> Visitor:
    """Of a page that is for somebody who is signed in."""
    found: Visitor = g.visitor
    return found


def give_cookie(response: Response, token: str) -> None:
    """The session's cookie: no script reads it, and no other site's request carries it."""
    response.set_cookie(COOKIE, token, path="/", httponly=True, samesite="Strict", secure=request.is_secure)


def take_cookie(response: Response) -> None:
    """The browser forgets the session."""
    response.delete_cookie(COOKIE, path="/", httponly=True, samesite="Strict", secure=request.is_secure)


def is_own_form() -> bool:
    """Whether a form comes from a page of this service: browsers say where from, and no site can make them lie."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site == "same-origin"
    own = {f"{scheme}://{request.host}" for scheme in ("http", "https")}
    return request.headers.get("Origin") in own


def see_other(address: str) -> Response:
    """Sends the browser on with GET."""
    response = redirect(address, 303, Response)
    assert isinstance(response, Response)
    return response


def way_back(wanted: str) -> str | None:
    """The page that was asked for before signing in, if it is one of this service's for staff; never another site's."""
    plain = wanted.isprintable() and "\\" not in wanted and "//" not in wanted
    inside = any(wanted == page or wanted.startswith((f"{page}/", f"{page}?")) for page in ("/owner", "/desk"))
    return wanted if plain and inside else None
