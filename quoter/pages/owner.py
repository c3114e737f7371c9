"""The owner's pages: signing in, the rate books, their history, the editor of a draft, calculations.

What changes something goes through the API with the session's token; these views only show, sign in and sign out.
"""

import datetime as dt
import hmac
from typing import Any
from zoneinfo import ZoneInfo

from flask import Blueprint, Response, render_template, request
from markupsafe import Markup

from quoter.api.books import history_data
from quoter.api.operations import json_answer
from quoter.api.services import services
from quoter.books.draft import FILES
from quoter.books.tables import TABLES
from quoter.pages.visitors import (
    SCOPE,
    current_visitor,
    for_owner,
    give_cookie,
    is_own_form,
    see_other,
    take_cookie,
    visitor,
    way_back,
)
from quoter.problems import NotFound
from quoter.records import BookVersion
from quoter.service.clock import stamp
from quoter.service.rates import LONGEST_REASON

blueprint = Blueprint(
    "owner", __name__, template_folder="templates", static_folder="static", static_url_path="/owner/static"
)

WRONG_KEY = "This key does not count. It may be misspelt, expired or ended."
OTHER_SCOPE = "This key counts, but this page is for the owner's key."
FORGED = "The form did not come from this page. Open the page itself and try again."

FILE_TITLES = {"book.toml": "Settings", "tax": "Tax"}


@blueprint.after_request
def _not_kept(response: Response) -> Response:
    """Pages with rates in them are not to be found in a browser after signing out."""
    if request.endpoint != "owner.static":
        response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.errorhandler(NotFound)
def _nothing_there(error: NotFound) -> Response:
    return _page("nothing.html", 404, detail=str(error))


def _page(name: str, status: int = 200, **shown: Any) -> Response:
    page = render_template(f"owner/{name}", visitor=visitor_shown(), longest_reason=LONGEST_REASON, **shown)
    return Response(page, status, content_type="text/html; charset=utf-8")


def visitor_shown() -> dict[str, str] | None:
    """What the frame of a page says about who is signed in."""
    if request.endpoint in ("owner.sign_in_form", "owner.sign_in"):
        return None
    found = current_visitor()
    return {"name": found.key.name, "csrf": found.session.csrf}


@blueprint.app_template_filter("moment")
def moment(text: str, timezone: str) -> Markup:
    """A moment as the shop's clocks show it."""
    local = dt.datetime.fromisoformat(text).astimezone(ZoneInfo(timezone))
    shown = f"{local.day} {local:%b %Y, %H:%M}"
    return Markup('<time datetime="{}" title="{} ({})">{}</time>').format(text, text, timezone, shown)


@blueprint.get("/owner/sign-in")
def sign_in_form() -> Response:
    """The form, unless somebody is signed in already."""
    back = way_back(request.args.get("next", ""))
    return see_other(back) if visitor() else _page("sign_in.html", back=back)


@blueprint.post("/owner/sign-in")
def sign_in() -> Response:
    """A key is exchanged for a session."""
    back = way_back(request.form.get("next", ""))
    if not is_own_form():
        return _page("sign_in.html", 403, back=back, refused=FORGED)
    presented = request.form.get("key", "").strip()
    key = services().keyring.holder(presented)
    if key is not None and key.scope != SCOPE:
        return _page("sign_in.html", 403, back=back, refused=OTHER_SCOPE)
    begun = services().sign_in.begin(presented)
    if begun is None:
        return _page("sign_in.html", 403, back=back, refused=WRONG_KEY)
    response = see_other(back)
    give_cookie(response, begun[0])
    return response


@blueprint.post("/owner/sign-out")
def sign_out() -> Response:
    """The session ends."""
    found = visitor()
    if found is not None:
        sent = request.form.get("csrf", "")
        if not is_own_form() or not hmac.compare_digest(sent.encode(), found.session.csrf.encode()):
            return _page_outside("forged.html", 403)
        services().sign_in.end(found.token)
    response = see_other("/owner/sign-in")
    take_cookie(response)
    return response


def _page_outside(name: str, status: int) -> Response:
    page = render_template(f"owner/{name}", visitor=None, refused=FORGED)
    return Response(page, status, content_type="text/html; charset=utf-8")


@blueprint.get("/owner/session")
def session_token() -> Response:
    """The token of the session as it is now, for a page that has been open while the session was renewed."""
    found = visitor()
    return json_answer({"csrf": found.session.csrf if found else None}, 200 if found else 401)


@blueprint.get("/owner")
@for_owner
def books() -> Response:
    """The rate books."""
    rates = services().rates
    return _page("books.html", books=[_book(code) for code in rates.books.codes()])


def _book(code: str) -> dict[str, Any]:
    rates, now = services().rates, stamp(services().rates.now())
    history, counting, draft = rates.history(code), rates.books.counting(code, now), rates.books.draft(code)
    waiting = [each for each in history if each.counts_from > now]
    return {
        "code": code,
        "title": (counting or history[0]).title,
        "timezone": _timezone(code, history[0]),
        "counting": counting,
        "waiting": waiting,
        "draft": draft,
    }


def _timezone(code: str, newest: BookVersion) -> str:
    return services().shelf.version(code, newest.version).shop.timezone


@blueprint.get("/owner/books/<code>/history")
@for_owner
def history(code: str) -> Response:
    """Every version of a book."""
    versions = history_data(code)
    newest = services().rates.history(code)[0]
    return _page(
        "history.html",
        code=code,
        title=newest.title,
        timezone=_timezone(code, newest),
        versions=versions,
    )


@blueprint.get("/owner/books/<code>")
@for_owner
def editor(code: str) -> Response:
    """The draft of a book, or the way to open one."""
    rates = services().rates
    versions, draft = rates.history(code), rates.books.draft(code)
    shown: dict[str, Any] = {
        "code": code,
        "title": versions[0].title,
        "timezone": _timezone(code, versions[0]),
        "versions": versions,
    }
    if draft is None:
        return _page("no_draft.html", **shown)
    return _page("editor.html", **shown, draft=draft, tables=_tables(draft.draft.files, draft.draft.tables))


def _tables(files: Any, tables: Any) -> list[dict[str, Any]]:
    """What the editor's navigation shows; `columns` tells where a cell is in a spreadsheet."""
    documents = [
        {
            "name": name,
            "title": FILE_TITLES[name],
            "rows": len(files[name]),
            "columns": ["key", "value"],
            "key": ["key"],
        }
        for name in FILES
    ]
    return (
        documents[:1]
        + [
            {
                "name": table.name,
                "title": table.name.capitalize(),
                "rows": len(tables[table.name]),
                "columns": table.header,
                "key": table.key,
            }
            for table in TABLES
        ]
        + documents[1:]
    )


@blueprint.get("/owner/calculations")
@for_owner
def calculations() -> Response:
    """What an owner would otherwise work out on paper."""
    shelf, rates = services().shelf, services().rates
    newest = {code: rates.history(code)[0].version for code in rates.books.codes()}
    currencies = sorted({shelf.version(code, version).currency.code for code, version in newest.items()})
    return _page("calculations.html", currencies=currencies)
