"""The owner's pages: the rate books, their history, the editor of a draft, calculations.

What changes something goes through the API with the session's token; these views only show.
"""

from typing import Any

from flask import Blueprint, Response

from quoter.api.http.services import services
from quoter.api.rates.books import history_data
from quoter.books.draft import FILES, Draft, raw_of
from quoter.books.tables import TABLES
from quoter.pages.frame import not_kept, page
from quoter.pages.visitors import for_owner
from quoter.problems import NotFound
from quoter.records.rates import BookVersion
from quoter.service.clock import stamp
from quoter.service.rates.rates import LONGEST_REASON
from quoter.words.catalogues import ENGLISH
from quoter.words.wording import wording_for

blueprint = Blueprint("owner", __name__)
blueprint.after_request(not_kept)

FILE_TITLES = {"book.toml": "Settings", "tax": "Tax", "law": "Law"}


@blueprint.errorhandler(NotFound)
def _nothing_there(error: NotFound) -> Response:
    return _page("nothing.html", 404, detail=str(error))


def _page(name: str, status: int = 200, **shown: Any) -> Response:
    """The owner's pages are in English."""
    wording = wording_for(ENGLISH)
    return page(f"owner/{name}", status, wording=wording, longest_reason=LONGEST_REASON, **shown)


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
    return _page("editor.html", **shown, draft=draft, tables=_tables(draft.draft))


def _tables(draft: Draft) -> list[dict[str, Any]]:
    """What the editor's navigation shows; `columns` tells where a cell is in a spreadsheet."""
    documents = [
        {
            "name": name,
            "title": FILE_TITLES[name],
            "rows": len(draft.files[name]),
            "columns": ["key", "value"],
            "key": ["key"],
        }
        for name in FILES
        if name != "law" or raw_of(draft).has_law
    ]
    return (
        documents[:1]
        + [
            {
                "name": table.name,
                "title": table.name.capitalize(),
                "rows": len(draft.tables[table.name]),
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
