"""What every page has in common: its frame, its language, the files that it loads, the word lists of its scripts."""

import datetime as dt
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from babel import Locale
from flask import Blueprint, Response, g, render_template, request
from markupsafe import Markup

from quoter.api.http.operations import json_answer
from quoter.api.http.services import services
from quoter.pages.visitors import Visitor, see_other, visitor
from quoter.words.catalogues import ENGLISH, LANGUAGES, language_of
from quoter.words.languages import best_match
from quoter.words.script import script_words
from quoter.words.wording import Wording, wording_for

blueprint = Blueprint("frame", __name__, template_folder="templates", static_folder="static", static_url_path="/assets")

LANGUAGE_COOKIE = "quoter_language"
A_YEAR = 365 * 24 * 3600


def page_wording() -> Wording:
    """Of who looks: the language chosen on a page, else the best for the browser."""
    chosen = request.cookies.get(LANGUAGE_COOKIE, "")
    accepted = request.headers.get("Accept-Language")
    if chosen in LANGUAGES:
        # The browser's own variant of the language knows better how dates are written.
        liked = best_match(accepted, chosen, offered=(chosen,))
        return wording_for(liked)
    return wording_for(best_match(accepted, ENGLISH, offered=LANGUAGES))


def page(name: str, status: int = 200, *, wording: Wording | None = None, **shown: Any) -> Response:
    """A template with the frame around it, in the reader's language; `wording` is another one."""
    spoken, found = wording or page_wording(), g.get("visitor") or visitor()
    text = render_template(
        name,
        wording=spoken,
        say=spoken.say,
        plural=spoken.plural,
        visitor=_shown(found),
        waiting=_waiting(spoken) if found else "",
        languages=[(code, Locale.parse(code).get_display_name(code)) for code in LANGUAGES],
        **shown,
    )
    return Response(text, status, content_type="text/html; charset=utf-8")


def _shown(found: Visitor | None) -> dict[str, str] | None:
    """What the frame says about who is signed in."""
    if found is None:
        return None
    return {"name": found.key.name, "scope": found.key.scope, "csrf": found.session.csrf}


def _waiting(wording: Wording) -> str:
    """How many enquiries wait for the desk; blank for none."""
    count = services().enquiring.waiting()
    return wording.formats.number(Decimal(count)) if count else ""


def not_kept(response: Response) -> Response:
    """Pages of people at work are not to be found in a browser after signing out."""
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.app_template_filter("moment")
def moment(text: str, timezone: str) -> Markup:
    """A moment as the shop's clocks show it."""
    local = dt.datetime.fromisoformat(text).astimezone(ZoneInfo(timezone))
    shown = f"{local.day} {local:%b %Y, %H:%M}"
    return Markup('<time datetime="{}" title="{} ({})">{}</time>').format(text, text, timezone, shown)


@blueprint.get("/")
def front() -> Response:
    """The desk is where most work is done."""
    return see_other("/desk")


@blueprint.get("/words/<language>.json")
def words(language: str) -> Response:
    """The word list of a page's scripts."""
    answer = json_answer(script_words(language_of(language)))
    answer.headers["Cache-Control"] = "no-cache"
    answer.add_etag()
    return answer.make_conditional(request)  # type: ignore[return-value]


@blueprint.post("/language")
def choose_language() -> Response:
    """Keeps the language of the pages for this browser, and returns to the page."""
    back = request.form.get("next", "/")
    chosen = request.form.get("language", "")
    is_own = back.startswith("/") and back.isprintable() and "//" not in back and "\\" not in back
    response = see_other(back if is_own else "/")
    if chosen in LANGUAGES:
        response.set_cookie(LANGUAGE_COOKIE, chosen, max_age=A_YEAR, path="/", samesite="Lax", secure=request.is_secure)
    return response
