"""The desk: quoting somebody who stands at the counter."""

from flask import Blueprint, Response

from quoter.pages.frame import not_kept, page
from quoter.pages.visitors import for_staff

blueprint = Blueprint("desk", __name__)
blueprint.after_request(not_kept)


@blueprint.get("/desk")
@for_staff
def new_quote() -> Response:
    """A new quote."""
    return page("desk/new_quote.html")
