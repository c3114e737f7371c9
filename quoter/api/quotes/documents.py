"""The papers of a quote: the customer's copy and the bench copy, as PDF, as a page, or as the data of both."""

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response, request
from marshmallow import fields

from quoter.api.http.fields import OneOf
from quoter.api.http.locale import reader_locale
from quoter.api.http.operations import Answer, Operation, json_answer, operation
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.services import services
from quoter.api.quotes.quoted import customer_link
from quoter.api.quotes.quotes import STAFF, RevisionQuery
from quoter.documents.bench_sheet import bench_sheet
from quoter.documents.sheet import quote_sheet
from quoter.printing.html import html_of
from quoter.printing.pdf import PAPERS, pdf_of
from quoter.problems import Refusal
from quoter.records.quotes import IssuedQuote
from quoter.service.clock import stamp
from quoter.words.wording import wording_for

blueprint = Blueprint("documents", __name__)

PDF, HTML, JSON = "application/pdf", "text/html", "application/json"

COPIES = ("customer", "bench")

LETTER_CURRENCIES = frozenset({"USD", "CAD", "MXN", "PHP", "CLP", "COP", "CRC", "GTQ", "NIO", "PAB", "VES", "BZD"})
"""Of the places where paper is cut to US Letter (CLDR, supplemental data, measurementData)."""


class DocumentQuery(RevisionQuery):
    """Which paper, in which words, for whom."""

    paper = fields.String(
        load_default=None,
        validate=OneOf(tuple(PAPERS)),
        metadata={"description": "What a PDF is cut to; what is usual where the currency is, if absent"},
    )
    copy = fields.String(
        load_default="customer",
        validate=OneOf(COPIES),
        metadata={
            "description": "customer: what is agreed; bench: steps, parts and what to cut, no price but what is agreed"
        },
    )


@operation(
    blueprint,
    Operation(
        id="readQuoteDocument",
        method="GET",
        path="/v1/quotes/{quote_id}/document",
        summary="The papers of a quote",
        description=(
            "The header Accept decides: application/pdf (tagged, to print and to send), text/html (a page to read and "
            "to print, without scripts) or application/json (the texts that both are drawn from). A customer's copy is "
            "in the quote's locale and a bench copy in the reader's, unless `locale` says otherwise."
        ),
        scopes=STAFF,
        query=DocumentQuery(),
        answers={
            200: Answer(
                "The document",
                content_type=PDF,
                other_types=(HTML, JSON),
                headers={"Content-Disposition": "The name of the file, with the number of the quote"},
            )
        },
        problems=(404, 406, 422),
    ),
)
def read_quote_document(quote_id: str, query: dict[str, Any]) -> Response:
    """One paper."""
    content_type = _wanted_type()
    quoting = services().quoting
    quote = quoting.get(quote_id) if query["revision"] is None else quoting.revision(quote_id, query["revision"])
    sheet = _sheet(quote, query, stamp(quoting.now()))
    match content_type:
        case "text/html":
            answer = Response(html_of(sheet), content_type=f"{HTML}; charset=utf-8")
        case "application/json":
            answer = json_answer(sheet)
        case _:
            answer = Response(pdf_of(sheet, paper=query["paper"] or _usual_paper(quote), made_at=quote.issued_at))
            answer.content_type = PDF
            answer.headers["Content-Disposition"] = f'inline; filename="{_file_name(quote, query)}"'
    answer.headers["Vary"] = "Accept, Accept-Language"
    return answer


def _wanted_type() -> str:
    """The best of the header Accept; who takes anything gets the PDF."""
    offered = (PDF, HTML, JSON)
    if not request.accept_mimetypes:
        return PDF
    best = request.accept_mimetypes.best_match(offered)
    if best is None:
        detail = f"a document comes as {PDF}, {HTML} or {JSON}; the header Accept takes none of them"
        raise ApiProblem(406, "not-acceptable", detail, [Refusal("not-acceptable", "", detail, offered)])
    return best


def _sheet(quote: IssuedQuote, query: Mapping[str, Any], now: str) -> dict[str, Any]:
    default, asked = quote.job["locale"], query["locale"]
    if query["copy"] == "bench":
        return bench_sheet(quote, wording_for(reader_locale(default, asked)))
    return quote_sheet(quote, wording_for(reader_locale(default, asked or default)), now=now, link=_link(quote))


def _link(quote: IssuedQuote) -> str:
    """Where the customer reads it; nothing for a quote without a link."""
    return customer_link(quote) if quote.link else ""


def _file_name(quote: IssuedQuote, query: Mapping[str, Any]) -> str:
    """The kind of copy and the number; that of a revision also says which it is."""
    revision = f"-{quote.revision}" if quote.revision > 1 else ""
    return f"{query['copy']}-{quote.number}{revision}.pdf"


def _usual_paper(quote: IssuedQuote) -> str:
    return "letter" if quote.result["currency"] in LETTER_CURRENCIES else "a4"
