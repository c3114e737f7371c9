"""The site of the demo's shop, with the form in it: how it looks to visitors, without a site of one's own."""

from babel import Locale
from flask import Blueprint, Response, current_app, render_template, request

from quoter.api.http.services import services
from quoter.pages.frame import not_kept
from quoter.words.catalogues import LANGUAGES
from quoter.words.languages import best_match
from quoter.words.wording import wording_for

blueprint = Blueprint("demo_site", __name__)
blueprint.after_request(not_kept)

DEMO_FORM = "DEMO_FORM_KEY"
"""Entry of the app's configuration: the form's key of a demo, as its holder presents it."""


@blueprint.get("/demo/site")
def site() -> Response:
    """The page; there is none outside of a demo."""
    presented = current_app.config.get(DEMO_FORM)
    chosen = request.args.get("language", "")
    accepted = request.headers.get("Accept-Language")
    tag = chosen if chosen in LANGUAGES else best_match(accepted, LANGUAGES[0], offered=LANGUAGES)
    wording = wording_for(tag)
    name = "demo/site.html" if presented else "customer/unknown.html"
    text = render_template(
        name,
        wording=wording,
        say=wording.say,
        plural=wording.plural,
        shop=services().shelf.named(None).book.shop,
        key=presented,
        key_id=presented.split("_")[1] if presented else "",
        languages=[(code, Locale.parse(code).get_display_name(code)) for code in LANGUAGES],
    )
    return Response(text, 200 if presented else 404, content_type="text/html; charset=utf-8")
