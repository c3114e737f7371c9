"""The desk: quoting somebody who stands at the counter.

What prices and issues goes through the API with the session's token; the view only says what there is to choose from.
"""

from typing import Any

from babel import Locale
from flask import Blueprint, Response, request

from quoter.api.http.services import services
from quoter.job import CUSTOMER_KINDS, PAYMENTS, URGENCIES
from quoter.pages.asked_wish import wish_of
from quoter.pages.frame import not_kept, page
from quoter.pages.visitors import for_staff, see_other
from quoter.problems import NotFound
from quoter.records.enquiries import Enquiry
from quoter.words.catalogues import LANGUAGES

blueprint = Blueprint("desk", __name__)
blueprint.after_request(not_kept)


@blueprint.get("/desk")
@for_staff
def new_quote() -> Response:
    """A new quote, or the one that answers an enquiry."""
    enquiry = _enquiry(request.args.get("enquiry", ""))
    if enquiry is not None and enquiry.quote is not None:
        return see_other(f"/desk/enquiries/{enquiry.id}")
    return page(
        "desk/new_quote.html",
        books=_books(),
        customer_languages={code: Locale.parse(code).get_display_name(code) for code in LANGUAGES},
        customer_kinds=CUSTOMER_KINDS,
        urgencies=URGENCIES,
        payments=PAYMENTS,
        wish=wish_of(enquiry, services().shelf.named(enquiry.book).book) if enquiry else None,
    )


def _enquiry(enquiry_id: str) -> Enquiry | None:
    """The one that is to be answered; an address that leads to none opens the desk as ever."""
    try:
        return services().enquiring.get(enquiry_id) if enquiry_id else None
    except NotFound:
        return None


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
