"""GET /v1/price-list: every price of a book, for the shop's own site and for whoever compares prices."""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from threading import BoundedSemaphore
from typing import Any

import orjson
from flask import Blueprint, Response, request
from marshmallow import fields, validate

from quoter.api.http.encoding import GZIP, coding_for
from quoter.api.http.fields import OneOf, WholeNumber, code
from quoter.api.http.locale import reader_locale
from quoter.api.http.operations import Answer, Operation, operation
from quoter.api.http.paging import LINK, MOST_WORDS, key_of, next_link
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.services import services
from quoter.api.prices.price_list_schemas import PriceListSchema
from quoter.api.prices.prices import BookQuery
from quoter.documents.price_list import EDITION, WRITERS, Reader
from quoter.problems import Refusal
from quoter.service.rates.price_lists import SMALL_LIST, Packed, PricedList, Wanted, check_wanted
from quoter.words.wording import wording_for

blueprint = Blueprint("price_list", __name__)

JSON, CSV, LINKED_DATA = "application/json", "text/csv", "application/ld+json"
TYPES = {JSON: "json", CSV: "csv", LINKED_DATA: "jsonld"}
TABLE = f"{CSV}; charset=utf-8; header=present"
CONTENT_TYPES = {"json": JSON, "csv": TABLE, "csv-bom": TABLE, "jsonld": LINKED_DATA}
"""By format; the parameters of CSV are those of RFC 4180, 3."""

MOST_ENTRIES = 10_000

TRY_AGAIN_SECONDS = "5"


class PriceListQuery(BookQuery):
    """Which prices, as what, in which words."""

    format = fields.String(
        load_default=None,
        validate=OneOf(tuple(WRITERS)),
        metadata={
            "description": "Instead of the header Accept, where only an address can be given; csv-bom is for Excel"
        },
    )
    locale = fields.String(load_default=None, metadata={"description": "BCP 47 tag; else as the browser likes it"})
    device = code(load_default=None, metadata={"description": "Code of the one device"})
    kind = code(load_default=None, metadata={"description": "phone, tablet, wearable"})
    procedure = code(load_default=None, metadata={"description": "Code of the one procedure"})
    grade = code(load_default=None, metadata={"description": "The one grade of part"})
    words = fields.String(
        load_default="",
        validate=validate.Length(max=MOST_WORDS),
        metadata={"description": "Of the device, as in GET /v1/devices; the best match first"},
    )
    limit = WholeNumber(
        load_default=None,
        validate=validate.Range(1, MOST_ENTRIES),
        metadata={"description": "How many entries at most; all of them, if absent"},
    )
    after = fields.String(load_default=None, metadata={"description": "The cursor in the link to the next page"})


@dataclass(frozen=True, slots=True)
class _Asked:
    """A request for a list that is understood: what decides the bytes of its answer."""

    of: PricedList
    wanted: Wanted
    format: str
    tag: str
    limit: int | None
    after: str | None

    @property
    def key(self) -> str:
        """The same for the same bytes: content of the book, tax rates in force, format, words, what is wanted."""
        book, since = self.of.book, self.of.period.since
        wanted = self.wanted
        parts = (EDITION, book.code, book.digest, str(since), str(self.of.period.until), self.format, self.tag)
        filters = (wanted.device, wanted.kind, wanted.procedure, wanted.grade, wanted.words, self.limit, self.after)
        return hashlib.sha256(orjson.dumps([*parts, *filters])).hexdigest()[:32]


@operation(
    blueprint,
    Operation(
        id="readPriceList",
        method="GET",
        path="/v1/price-list",
        summary="Every price",
        description=(
            "One entry for each device, procedure and grade of part, for a consumer and without findings, priced with "
            "the tax rates of the day. The header Accept decides: application/json, text/csv or application/ld+json "
            "(schema.org, for a page's script element). Entries that cannot be priced say why, and are left out of the "
            "linked data. With `limit`, the header Link leads to the next page. The ETag changes when a price may "
            "have: send it as If-None-Match, and nothing is worked out or sent again."
        ),
        scopes=("desk", "form", "owner"),
        query=PriceListQuery(),
        answers={
            200: Answer(
                "The price list, or a page of it",
                PriceListSchema(),
                other_types=(CSV, LINKED_DATA),
                headers={**LINK, "ETag": "Of these bytes, for If-None-Match"},
            ),
            304: Answer("It is what you have", headers={"ETag": "As it was"}),
        },
        problems=(404, 406, 422),
    ),
)
def read_price_list(query: dict[str, Any]) -> Response:
    """The list, from what is kept of it as far as possible."""
    asked = _asked(query)
    coding = coding_for(request.headers.get("Accept-Encoding"))
    if coding is None:
        raise ApiProblem(406, "not-acceptable", "it comes as gzip or plain; the header Accept-Encoding takes neither")
    answer = Response(headers=_headers(asked, query))
    answer.set_etag(f"{asked.key}-gzip" if coding == GZIP else asked.key)
    if request.if_none_match.contains_weak(answer.get_etag()[0] or ""):
        answer.status_code = 304
        del answer.headers["Content-Type"]
        return answer
    places = asked.of.places(asked.wanted)
    page = _page(asked, places)
    if asked.limit is not None and page and page[-1] != places[-1]:
        answer.headers.extend(next_link(_cursor_key(asked, page[-1])))
    packed = _packed(asked, page, len(places))
    return _filled(answer, packed, coding, asked.format)


def _asked(query: Mapping[str, Any]) -> _Asked:
    book = services().shelf.named(query["book"]).book
    listed = services().price_lists.of(book, services().quoting.today(book))
    wanted = Wanted(**{name: query[name] for name in ("device", "kind", "procedure", "grade", "words")})
    tag = reader_locale(book.locale, query["locale"])
    check_wanted(wanted, book)
    return _Asked(listed, wanted, query["format"] or _wanted_format(), tag, query["limit"], query["after"])


def _wanted_format() -> str:
    """The best of the header Accept; who takes anything gets JSON."""
    if not request.accept_mimetypes:
        return "json"
    best = request.accept_mimetypes.best_match(TYPES)
    if best is None:
        detail = f"a price list comes as {', '.join(TYPES)}; the header Accept takes none of them"
        raise ApiProblem(406, "not-acceptable", detail, [Refusal("not-acceptable", "", detail, tuple(TYPES))])
    return TYPES[best]


def _headers(asked: _Asked, query: Mapping[str, Any]) -> dict[str, str]:
    """What holds for the list and for the word that it has not changed alike (RFC 9110, 15.4.5)."""
    varies = ("Accept", query["format"]), ("Accept-Language", query["locale"])
    return {
        "Cache-Control": "private, no-cache",
        "Content-Language": asked.tag,
        "Vary": ", ".join(["Accept-Encoding", *(header for header, instead in varies if instead is None)]),
    }


def _page(asked: _Asked, places: Sequence[int]) -> Sequence[int]:
    """The places that are asked for of those that are wanted."""
    start = 0
    if asked.after is not None:
        by_key = {_cursor_key(asked, place): index for index, place in enumerate(places)}
        start = by_key[key_of(asked.after, by_key.__contains__) or ""] + 1
    return places[start:] if asked.limit is None else places[start : start + asked.limit]


def _cursor_key(asked: _Asked, place: int) -> str:
    """What names an entry in any version of the book; codes have no blanks."""
    return " ".join(each or "" for each in asked.of.entries[place])


def _packed(asked: _Asked, page: Sequence[int], count: int) -> Packed:
    lists = services().price_lists
    kept = lists.kept_answer(asked.key)
    if kept is not None:
        return kept
    reader = Reader(asked.of, page, count, wording_for(asked.tag))
    with _turn(lists.at_work) if len(page) > SMALL_LIST else nullcontext():
        return lists.answer(asked.key, lambda: WRITERS[asked.format](reader))


@contextmanager
def _turn(at_work: BoundedSemaphore) -> Iterator[None]:
    """Keeps large lists from taking every thread of the service. Raises problem 503 where too many are asked for."""
    if not at_work.acquire(blocking=False):
        detail = "The price list is being worked out, and others are waiting for it already; try again in a moment."
        raise ApiProblem(503, "unavailable", detail, headers={"Retry-After": TRY_AGAIN_SECONDS})
    try:
        yield
    finally:
        at_work.release()


def _filled(answer: Response, packed: Packed, coding: str, name: str) -> Response:
    if coding == GZIP:
        answer.data = packed.gzip
        answer.headers["Content-Encoding"] = GZIP
    else:
        answer.response = packed.plain()
        answer.content_length = packed.length
    answer.content_type = CONTENT_TYPES[name]
    if CONTENT_TYPES[name] == TABLE:
        answer.headers["Content-Disposition"] = 'attachment; filename="price-list.csv"'
    return answer
