"""What visitors of the shop's site ask, at the desk: found, looked at, made quotes of, put aside.

What changes something goes through the API with the session's token and the version that was seen; these views show.
"""

import re
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, request

from quoter.api.http.paging import MOST_WORDS, cursor, key_of
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.services import services
from quoter.pages.enquiry_words import REASONS, STANDINGS, EnquiryWords
from quoter.pages.frame import not_kept, page, page_wording
from quoter.pages.visitors import current_visitor, for_staff
from quoter.problems import NotFound, Refused
from quoter.records.enquiries import Enquiry, EnquiryFilter
from quoter.service.ids import is_id
from quoter.service.quotes.notices import notices_of
from quoter.words.catalogues import ENGLISH
from quoter.words.shown import TextOf
from quoter.words.wording import Wording, wording_for

blueprint = Blueprint("desk_enquiries", __name__)
blueprint.after_request(not_kept)

ON_A_PAGE = 25
FIELDS = ("customer", "reference", "device", "standing")
WAITING, ANY = "new", "any"
"""Which ones are listed where nothing is said, and what is said for all of them."""

_COUNT = re.compile(r"[0-9]{1,5}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Search:
    """What is looked for, as it was typed."""

    typed: dict[str, str]
    wanted: EnquiryFilter

    @property
    def is_open(self) -> bool:
        """Whether nothing is asked for but the standing."""
        return not any(text for name, text in self.typed.items() if name != "standing")


@blueprint.errorhandler(NotFound)
def _nothing_there(_: NotFound) -> Response:
    return page("desk/no_enquiry.html", 404)


@blueprint.get("/desk/enquiries")
@for_staff
def enquiries() -> Response:
    """The enquiries that fit, the newest first; those that wait, where nothing else is said."""
    search, wording = search_of(request.args.to_dict()), page_wording()
    found = services().enquiring.find(search.wanted)
    shown = found[:ON_A_PAGE]
    return page(
        "desk/enquiries.html",
        search=search,
        standings=[(standing, wording.text(word)) for standing, word in STANDINGS.items()],
        rows=[_row(enquiry, wording) for enquiry in shown],
        next_page=_next_page(search, shown[-1]) if len(found) > len(shown) else None,
    )


def search_of(sent: dict[str, str]) -> Search:
    """What a form asked for. Who knows the reference finds it whatever it stands at."""
    typed = {name: sent.get(name, "").strip()[:MOST_WORDS] for name in FIELDS}
    typed["standing"] = typed["standing"] if typed["standing"] in (*STANDINGS, ANY) else WAITING
    use = services()
    year = use.quoting.today(use.shelf.named(None).book).year
    wanted = EnquiryFilter(
        reference=_whole_reference(typed["reference"], year) or None,
        customer=typed["customer"] or None,
        words=typed["device"] or None,
        standing=None if typed["standing"] == ANY or typed["reference"] else typed["standing"],
        after=_key(sent.get("after")),
        limit=ON_A_PAGE + 1,
    )
    return Search(typed, wanted)


def _key(after: str | None) -> str | None:
    """Where the page begins; a cursor that is none begins at the beginning."""
    try:
        return key_of(after, is_id)
    except ApiProblem:
        return None


def _whole_reference(typed: str, year: int) -> str:
    """People say the end of a reference of this year."""
    return f"A{year}-{int(typed):05d}" if _COUNT.fullmatch(typed) else typed


def _next_page(search: Search, last: Enquiry) -> str:
    return f"{request.path}?{urlencode({**search.typed, 'after': cursor(last.id)})}"


def _row(enquiry: Enquiry, wording: Wording) -> dict[str, Any]:
    words, contact = EnquiryWords(enquiry, wording), enquiry.contact
    return {
        "id": enquiry.id,
        "reference": enquiry.reference,
        "device": words.device,
        "repairs": ", ".join(words.repairs),
        "customer": contact.name or contact.phone or contact.email or words.erased,
        "standing": enquiry.standing,
        "standing_word": words.standing,
        "told": words.told,
        "received": words.received,
    }


@blueprint.get("/desk/enquiries/<name>")
@for_staff
def enquiry(name: str) -> Response:
    """One enquiry, by its id or its reference."""
    use, wording = services(), page_wording()
    shown = use.enquiring.get(name) if is_id(name) else use.enquiring.by_reference(name.upper())
    if shown is None:
        raise NotFound("enquiry", name)
    words = EnquiryWords(shown, wording)
    quote = use.quoting.get(shown.quote) if shown.quote else None
    return page(
        "desk/enquiry.html",
        enquiry=shown,
        words=words,
        sheet=words.sheet(),
        quote=quote,
        difference=words.difference(quote.result) if quote else "",
        cautions=words.cautions(_noticed_cautions(shown)),
        today=None if quote or shown.erased_at else price_of_today(words),
        language=wording_for(shown.locale).formats.locale.get_display_name(wording.formats.locale) or shown.locale,
        reasons=[(reason, wording.text(word)) for reason, word in REASONS.items()],
    )


def _noticed_cautions(enquiry: Enquiry) -> set[str]:
    """Codes of the cautions that what the visitor noticed brings with it, as the rates in force say."""
    try:
        findings = services().shelf.named(enquiry.book).book.findings
    except NotFound:
        return set()
    return {findings[code].caution or "" for code in enquiry.job["findings"] if code in findings}


def price_of_today(words: EnquiryWords) -> dict[str, Any]:
    """What a quote made now would come to, what must be told first, and what stands in its way."""
    use, enquiry = services(), words.enquiry
    try:
        job = use.enquiring.job(enquiry)
        result, data = use.quoting.price(job, use.shelf.named(enquiry.book))
    except NotFound as missing:
        return {"refused": [str(missing)]}
    except Refused as refused:
        return {"refused": [each.caution or each.detail for each in refused.refusals]}
    return {
        "gross": TextOf(result, data, words.wording).money(result["totals"]["gross"]),
        "difference": words.difference(result),
        "notices": [
            _notice(each["code"], each["texts"], enquiry) for each in notices_of(result) if each["must_be_told"]
        ],
        "needs_owner": [] if current_visitor().key.scope == "owner" else result["needs_owner"],
    }


def _notice(code: str, texts: dict[str, str], enquiry: Enquiry) -> dict[str, str]:
    """In the customer's language, since it is for them to hear."""
    wanted = (enquiry.locale, enquiry.locale.partition("-")[0], ENGLISH, *texts)
    language = next(each for each in wanted if each in texts)
    return {"code": code, "language": language, "text": texts[language]}
