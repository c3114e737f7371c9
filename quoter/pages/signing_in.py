"""Signing in and out: a key is exchanged for a session."""

import hmac

from flask import Blueprint, Response, request

from quoter.api.http.auth import holder_of
from quoter.api.http.operations import json_answer
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.services import services
from quoter.messages import Message
from quoter.pages.frame import not_kept, page, page_wording
from quoter.pages.visitors import (
    STAFF,
    give_cookie,
    is_own_form,
    see_other,
    take_cookie,
    visitor,
    way_back,
)

blueprint = Blueprint("signing_in", __name__)
blueprint.after_request(not_kept)

WRONG_KEY = Message("This key does not count. It may be misspelt, expired or ended.")
OTHER_SCOPE = Message("This key counts, but not for pages: it belongs to a web form.")
OWNERS_PAGE = Message("That page is for the owner's key; you are signed in with a key of the desk.")
TOO_OFTEN = Message("Too many wrong keys came from this network. Wait a minute and try again.")
FORGED = Message("The form did not come from this page. Open the page itself and try again.")


@blueprint.get("/sign-in")
def form() -> Response:
    """The form, unless who is signed in may see the page that was asked for."""
    wanted = request.args.get("next", "")
    found = visitor()
    if found is None:
        return _form(wanted)
    back = way_back(wanted) or found.home
    if back.startswith("/owner") and found.key.scope != "owner":
        return _form(wanted, 403, OWNERS_PAGE)
    return see_other(back)


def _form(wanted: str, status: int = 200, refused: Message | None = None) -> Response:
    text = page_wording().text(refused) if refused else None
    return page("sign_in.html", status, back=way_back(wanted) or "", refused=text)


@blueprint.post("/sign-in")
def sign_in() -> Response:
    """A key is exchanged for a session."""
    wanted = request.form.get("next", "")
    if not is_own_form():
        return _form(wanted, 403, FORGED)
    presented = request.form.get("key", "").strip()
    try:
        key = holder_of(presented)
    except ApiProblem as often:
        return _too_often(wanted, often)
    if key is not None and key.scope not in STAFF:
        return _form(wanted, 403, OTHER_SCOPE)
    begun = services().sign_in.begin(presented)
    if key is None or begun is None:
        return _form(wanted, 403, WRONG_KEY)
    home = "/owner" if key.scope == "owner" else "/desk"
    back = way_back(wanted) or home
    response = see_other(home if back.startswith("/owner") and key.scope != "owner" else back)
    give_cookie(response, begun[0])
    return response


def _too_often(wanted: str, often: ApiProblem) -> Response:
    refused = _form(wanted, often.status, TOO_OFTEN)
    refused.headers.update(often.headers)
    return refused


@blueprint.post("/sign-out")
def sign_out() -> Response:
    """The session ends."""
    found = visitor()
    if found is not None:
        sent = request.form.get("csrf", "")
        if not is_own_form() or not hmac.compare_digest(sent.encode(), found.session.csrf.encode()):
            return page("forged.html", 403, refused=page_wording().text(FORGED))
        services().sign_in.end(found.token)
    response = see_other("/sign-in")
    take_cookie(response)
    return response


@blueprint.get("/session")
def session_token() -> Response:
    """The token of the session as it is now, for a page that has been open while the session was renewed."""
    found = visitor()
    return json_answer({"csrf": found.session.csrf if found else None}, 200 if found else 401)
