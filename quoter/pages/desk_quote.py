"""One quote at the desk: as it stands, what can be decided, what has happened, and the form of its next revision.

What changes something goes through the API with the session's token and the version that was seen; these views show.
"""

from decimal import Decimal
from typing import Any

from flask import Blueprint, Response, request

from quoter.api.http.services import services
from quoter.documents.sheet import quote_sheet
from quoter.pages.enquiry_words import EnquiryWords
from quoter.pages.frame import not_kept, page, page_wording
from quoter.pages.papers import customer_address, customer_pdf
from quoter.pages.proof import proofs
from quoter.pages.quote_words import STATES, WAYS, QuoteWords, law_of
from quoter.pages.revising import revision_form
from quoter.pages.visitors import for_staff
from quoter.printing.qr import qr_svg
from quoter.problems import NotFound
from quoter.records.quotes import IssuedQuote
from quoter.service.clock import stamp
from quoter.service.quotes.agreements import agreement_to, ceiling_of, consent_needed, consent_ways, next_decisions
from quoter.service.quotes.telling import events_told
from quoter.words.wording import Wording, wording_for

blueprint = Blueprint("desk_quote", __name__)
blueprint.after_request(not_kept)

AT_THE_DESK = ("counter", "phone", "message")
"""How a decision reaches who records it; by the link customers record their own."""


@blueprint.errorhandler(NotFound)
def _nothing_there(_: NotFound) -> Response:
    return page("desk/no_quote.html", 404)


@blueprint.get("/desk/quotes/<quote_id>")
@for_staff
def quote(quote_id: str) -> Response:
    """The newest revision, or an older one as it was."""
    quoting = services().quoting
    newest = quoting.get(quote_id)
    number = request.args.get("revision", type=int) or newest.revision
    shown = newest if number == newest.revision else quoting.revision(quote_id, number)
    wording = page_wording()
    words = QuoteWords(shown, wording, stamp(quoting.now()))
    history = _history(quote_id, words)
    return page(
        "desk/quote.html",
        quote=shown,
        newest=newest,
        words=words,
        sheet=quote_sheet(shown, wording, now=words.now, link=""),
        cautions=_cautions(shown, wording),
        language=_language(shown.job["locale"], wording),
        customer_page=customer_address(newest),
        revisions=[_revision(each, wording) for each in reversed(quoting.revisions(quote_id))],
        proof=_proof(shown, history),
        history=history,
        deciding=_deciding(newest, wording),
        enquiry=_enquiry(newest, wording),
    )


def _enquiry(quote: IssuedQuote, wording: Wording) -> dict[str, str] | None:
    """What the quote was made of, and how its newest price differs from what the visitor was told."""
    found = services().enquiring.of_quote(quote.id)
    if found is None:
        return None
    words = EnquiryWords(found, wording)
    difference = words.difference(quote.result)
    return {"id": found.id, "reference": found.reference, "told": words.told, "difference": difference}


def _cautions(quote: IssuedQuote, wording: Wording) -> list[str]:
    """As the shop says them to its own people."""
    spoken = wording.with_glossary(quote.result.get("translations", {}))
    return [spoken.of_book(each["text"]) for each in quote.result["cautions"]]


def _language(tag: str, wording: Wording) -> str:
    """What the reader calls the language of the customer."""
    return wording_for(tag).formats.locale.get_display_name(wording.formats.locale) or tag


def _revision(quote: IssuedQuote, wording: Wording) -> dict[str, Any]:
    words = QuoteWords(quote, wording, stamp(services().quoting.now()))
    return {
        "number": quote.revision,
        "state": quote.state_at(words.now),
        "state_word": words.state,
        "issued": words.issued,
        "by": quote.issued_by,
        "reason": quote.reason,
        "gross": words.gross,
        "book_version": quote.book_version,
        "decided": words.decided(quote.decision) if quote.decision else None,
    }


def _history(quote_id: str, words: QuoteWords) -> list[dict[str, Any]]:
    """The newest event first; a decision with what it rests on."""
    quoting, wording = services().quoting, words.wording
    events = quoting.history(quote_id)
    told = events_told(events, words.measured)
    rests_on = proofs(events, quoting.revisions(quote_id), wording, words.now)
    shown = [
        {
            "at": event.at,
            "revision": event.revision,
            "moment": words.moment(event.at),
            "text": wording.text(message),
            "proof": proof,
        }
        for event, message, proof in zip(events, told, rests_on, strict=True)
    ]
    return shown[::-1]


def _proof(quote: IssuedQuote, history: list[dict[str, Any]]) -> list[dict[str, str]]:
    """What the last decision about this revision rests on."""
    rests_on = (each["proof"] for each in history if each["revision"] == quote.revision and each["proof"])
    return next(rests_on, []) if quote.decision else []


def _deciding(quote: IssuedQuote, wording: Wording) -> dict[str, Any]:
    """What the form of a decision offers and asks for."""
    words = QuoteWords(quote, wording, stamp(services().quoting.now()))
    consent, ceiling = consent_needed(quote), ceiling_of(quote)
    return {
        "next": [(each, wording.text(STATES[each])) for each in next_decisions(quote, words.now)],
        "ways": [(way, wording.text(WAYS[way])) for way in AT_THE_DESK],
        "extra": str(consent.extra) if consent else None,
        "extra_text": words.measured(consent.extra, consent.of) if consent else None,
        "consent_ways": consent_ways(quote) if consent else WAYS,
        "number_asked": bool(consent and (law_of(quote).get("consent") or {}).get("number")),
        "price": _reach(quote, "price", words),
        "ceiling": _reach(quote, "ceiling", words) if _is_above(ceiling, quote) else None,
        "is_over": quote.is_over_at(words.now),
    }


def _is_above(ceiling: Decimal | None, quote: IssuedQuote) -> bool:
    return ceiling is not None and ceiling > Decimal(quote.result["totals"]["gross"])


def _reach(quote: IssuedQuote, up_to: str, words: QuoteWords) -> dict[str, str]:
    """How far an acceptance goes."""
    agreement = agreement_to(quote, up_to)
    return {"gross": words.gross, "limit": words.money(agreement.limit), "of": agreement.of}


@blueprint.get("/desk/quotes/<quote_id>/revise")
@for_staff
def revise(quote_id: str) -> Response:
    """The form of the next revision, filled with the newest job."""
    quoting = services().quoting
    newest = quoting.get(quote_id)
    which = "current" if request.args.get("book") == "current" else "pinned"
    current = quoting.rates_of(newest, "current")
    published = current if which == "current" else quoting.rates_of(newest, "pinned")
    wording = page_wording()
    return page(
        "desk/quote_revise.html",
        quote=newest,
        words=QuoteWords(newest, wording, stamp(quoting.now())),
        form=revision_form(newest, published.book, wording.tag),
        which=which,
        current_version=current.version,
    )


@blueprint.get("/desk/quotes/<quote_id>/<int:revision>/quote.pdf")
@for_staff
def pdf(quote_id: str, revision: int) -> Response:
    """The customer's copy of a revision, in the customer's language."""
    quoting = services().quoting
    shown = quoting.revision(quote_id, revision)
    return customer_pdf(shown, wording_for(shown.job["locale"]), stamp(quoting.now()))


@blueprint.get("/desk/quotes/<quote_id>/qr.svg")
@for_staff
def qr(quote_id: str) -> Response:
    """The address of the customer's page as a QR code."""
    address = customer_address(services().quoting.get(quote_id))
    if not address:
        raise NotFound("link", quote_id)
    return Response(qr_svg(address), content_type="image/svg+xml")
