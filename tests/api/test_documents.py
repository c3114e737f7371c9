"""The papers of a quote over HTTP: which type, for whom, in which words."""

import pytest

from .problems import problem
from .running import BATTERY, Caller, Service

PDF, HTML, JSON = "application/pdf", "text/html", "application/json"


@pytest.fixture
def desk(service: Service) -> Caller:
    """Somebody at the front desk."""
    return service.caller("desk")


def issued(caller: Caller, query: str = "", **job: object) -> str:
    """Where the papers of a new quote are."""
    reply = caller.post(f"/v1/quotes{query}", {**BATTERY, **job})
    assert reply.status == 201, reply.text
    return f"/v1/quotes/{reply.body['id']}/document"


@pytest.mark.parametrize(
    ("accept", "content_type"),
    [
        (PDF, PDF),
        (HTML, HTML),
        (JSON, JSON),
        ("*/*", PDF),
        ("text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", HTML),
        ("application/pdf;q=0.5, application/json", JSON),
        ("text/*, image/png", HTML),
    ],
)
def test_the_header_accept_decides(desk: Caller, accept: str, content_type: str):
    """RFC 9110 section 12.5.1: the type with the highest weight that there is."""
    reply = desk.get(issued(desk), Accept=accept)
    assert (reply.status, reply.headers["Content-Type"].partition(";")[0]) == (200, content_type)
    assert "Accept" in reply.headers["Vary"]


def test_who_says_nothing_gets_the_pdf_with_the_number_in_its_name(desk: Caller):
    """A browser shows it and keeps it under that name."""
    path = issued(desk)
    reply = desk.get(path)
    assert reply.content.startswith(b"%PDF-")
    assert reply.headers["Content-Disposition"] == 'inline; filename="customer-2026-00001.pdf"'
    bench = desk.get(f"{path}?copy=bench")
    assert bench.headers["Content-Disposition"] == 'inline; filename="bench-2026-00001.pdf"'
    assert bench.content != reply.content


def test_other_types_are_refused_with_those_that_there_are(desk: Caller):
    """RFC 9110 section 15.5.7."""
    (error,) = problem(desk.get(issued(desk), Accept="image/png"), 406, "not-acceptable")
    assert error["allowed"] == [PDF, HTML, JSON]


def test_the_same_quote_is_the_same_file_whenever_it_is_asked_for(service: Service, desk: Caller):
    """To the byte, a week later."""
    path = issued(desk)
    first = desk.get(path).content
    service.clock.forward(days=7)
    assert desk.get(path).content == first


def test_a_customers_copy_speaks_the_quotes_language_and_a_bench_copy_the_readers(desk: Caller):
    """Unless another is asked for."""
    path = issued(desk, locale="de-DE")
    asked = {"Accept": JSON, "Accept_Language": "fr-FR"}
    assert desk.get(path, **asked).body["locale"] == "de-DE"
    assert desk.get(f"{path}?copy=bench", **asked).body["locale"] == "fr-FR"
    assert desk.get(f"{path}?locale=ja-JP", **asked).body["locale"] == "ja-JP"


@pytest.mark.parametrize("query", ["paper=a3", "copy=tax-office", "locale=xx-XX", "colour=red", "paper=a4&paper=a4"])
def test_parameters_that_make_no_sense_are_refused(desk: Caller, query: str):
    """By name."""
    assert problem(desk.get(f"{issued(desk)}?{query}"), 422, "invalid-request")


@pytest.mark.parametrize(
    ("book", "query", "size"),
    [
        ("ballyquarn", "", b"595.27"),
        ("peddrick-mills", "", b"612"),
        ("ballyquarn", "?paper=letter", b"612"),
        ("peddrick-mills", "?paper=a4", b"595.27"),
    ],
)
def test_the_paper_is_what_is_usual_where_the_currency_is(desk: Caller, book: str, query: str, size: bytes):
    """Unless the other is asked for: A4 is 595 points wide, Letter 612."""
    path = issued(desk, f"?book={book}")
    assert b"/MediaBox[0 0 " + size in desk.get(path + query).content


def test_a_page_of_it_is_kept_to_the_policy_of_the_service(service: Service, desk: Caller):
    """It needs no exception, and its style sheet is there."""
    reply = desk.get(issued(desk), Accept=HTML)
    assert reply.headers["Content-Security-Policy"].startswith("default-src 'self'")
    with service.app.test_client().get("/static/paper.css") as style_sheet:
        assert (style_sheet.status_code, style_sheet.mimetype) == (200, "text/css")


def test_a_customers_copy_has_nothing_of_the_shops_own_even_for_the_owner(service: Service):
    """It is made to be given away."""
    owner = service.caller("owner")
    text = owner.get(issued(owner), Accept=JSON).text
    internal = ('"economics"', '"margin"', '"because"', '"needs_owner"', '"plan"', '"consumption"', '"parts"', '"cuts"')
    assert [member for member in internal if member in text] == []


def test_a_customers_copy_says_for_whom_it_is_and_leads_to_their_page(desk: Caller):
    """To the revision that it is of."""
    quote = desk.post("/v1/quotes", {**BATTERY, "contact": {"name": "A. Example"}}).body
    sheet = desk.get(f"/v1/quotes/{quote['id']}/document", Accept=JSON).body
    assert sheet["customer"]["text"] == "A. Example"
    assert sheet["online"]["text"] == quote["link"]
    assert quote["link"].endswith("/1")


def test_an_older_revision_is_printed_as_it_was_and_says_that_it_is_over(desk: Caller):
    """The newest is what is given without a wish."""
    quote = desk.post("/v1/quotes", BATTERY).body
    path = f"/v1/quotes/{quote['id']}"
    change = {"reason": "The bench found liquid", "job": {"findings": ["liquid"]}}
    assert desk.post(f"{path}/revisions", change, If_Match='"1"').status == 201
    newest = desk.get(f"{path}/document", Accept=JSON).body
    older = desk.get(f"{path}/document?revision=1", Accept=JSON).body
    assert (newest["notice"], older["headline"]["text"]) == ("", quote["formatted"]["totals"]["gross"])
    assert older["notice"] == "This is no longer valid: a newer revision has taken its place."
    named = desk.get(f"{path}/document").headers["Content-Disposition"]
    assert named == 'inline; filename="customer-2026-00001-2.pdf"'
    problem(desk.get(f"{path}/document?revision=3"), 404, "not-found")


def test_without_a_quote_there_are_no_papers(desk: Caller):
    """Not even empty ones."""
    problem(desk.get("/v1/quotes/nothing/document"), 404, "not-found")
