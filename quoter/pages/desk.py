"""The desk: quoting somebody who stands at the counter.

What prices and issues goes through the API with the session's token; the view only says what there is to choose from.
"""

from typing import Any

from babel import Locale
from flask import Blueprint, Response

from quoter.api.services import services
from quoter.job import CUSTOMER_KINDS, PAYMENTS, URGENCIES
from quoter.pages.frame import not_kept, page
from quoter.pages.visitors import for_staff
from quoter.problems import NotFound
from quoter.words.catalogues import LANGUAGES

blueprint = Blueprint("desk", __name__)
blueprint.after_request(not_kept)


@blueprint.get("/desk")
@for_staff
def new_quote() -> Response:
    """A new quote."""
    return page(
        "desk/new_quote.html",
        books=_books(),
        customer_languages={code: Locale.parse(code).get_display_name(code) for code in LANGUAGES},
        customer_kinds=CUSTOMER_KINDS,
        urgencies=URGENCIES,
        payments=PAYMENTS,
    )


def _books() -> list[dict[str, Any]]:
    """The rate books that count now, the one that counts where none is named first."""
    shelf, found = services().shelf, []
    for code in dict.fromkeys(filter(None, (shelf.first, *shelf.books.codes()))):
        try:
            book = shelf.named(code).book
        except NotFound:
            continue  # its first version is still waiting
        found.append({"code": code, "title": book.title, "locale": book.locale, "shop": book.shop.name})
    return found
