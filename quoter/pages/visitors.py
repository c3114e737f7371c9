"""Who is looking at a page: the session behind its cookie, and whether a form was sent from a page of this service."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any

from flask import Response, g, redirect, request, url_for

from quoter.api.auth import COOKIE
from quoter.api.services import services
from quoter.records import Session, StoredKey

View = Callable[..., Response]

SCOPE = "owner"
FIRST_PAGE = "/owner"


@dataclass(frozen=True, slots=True)
class Visitor:
    """Who is signed in, with the token of the cookie and what the session keeps."""

    key: StoredKey
    session: Session
    token: str


def visitor() -> Visitor | None:
    """Who is signed in with an owner's key, if anybody."""
    token = request.cookies.get(COOKIE, "")
    found = services().sign_in.holder(token) if token else None
    if found is None or found[0].scope != SCOPE:
        return None
    return Visitor(found[0], found[1], token)


def for_owner(view: View) -> View:
    """Shows a page to the owner, with a renewed session where it is time; others are sent to sign in, and back."""

    @wraps(view)
    def guarded(**arguments: Any) -> Response:
        found = visitor()
        if found is None:
            return see_other(url_for("owner.sign_in_form", next=request.full_path.rstrip("?")))
        renewed = services().sign_in.renewed(found.token, found.session)
        if renewed is not None:
            found = Visitor(found.key, renewed[1], renewed[0])
        g.visitor = found
        response = view(**arguments)
        if renewed is not None:
            give_cookie(response, found.token)
        return response

    return guarded


def current_visitor() -> Visitor:
    """Of a page that is for the owner."""
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


def way_back(wanted: str) -> str:
    """The page that was asked for before signing in, if it is one of the owner's; never another site's."""
    plain = wanted.isprintable() and "\\" not in wanted and "//" not in wanted
    inside = wanted == FIRST_PAGE or wanted.startswith((f"{FIRST_PAGE}/", f"{FIRST_PAGE}?"))
    return wanted if plain and inside else FIRST_PAGE
