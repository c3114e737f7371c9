"""The desk's list of quotes: found by what somebody on the phone can say. A plain form, which a script hurries up."""

import datetime as dt
import re
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from flask import Blueprint, Response, request

from quoter.api.http.paging import MOST_WORDS
from quoter.api.http.services import services
from quoter.engine.refusals import EARLIEST, LATEST
from quoter.pages.frame import not_kept, page, page_wording
from quoter.pages.quote_words import STATES, QuoteWords
from quoter.pages.visitors import for_staff
from quoter.records.quotes import STATES as STATES_OF_QUOTES
from quoter.records.quotes import IssuedQuote, QuoteFilter
from quoter.service.clock import end_of, stamp
from quoter.service.ids import is_id
from quoter.words.erased import erased_text
from quoter.words.wording import Wording

blueprint = Blueprint("desk_quotes", __name__)
blueprint.after_request(not_kept)

ON_A_PAGE = 25
FIELDS = ("number", "customer", "device", "state", "from", "until")

_COUNT = re.compile(r"[0-9]{1,5}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Search:
    """What is looked for, as it was typed; `wrong` names the fields that cannot be read."""

    typed: dict[str, str]
    wanted: QuoteFilter
    wrong: list[str] = field(default_factory=list)

    @property
    def is_open(self) -> bool:
        """Whether nothing is asked for, so that nothing found means nothing there."""
        return not any(self.typed.values())


@blueprint.get("/desk/quotes")
@for_staff
def quotes() -> Response:
    """The quotes that fit, the newest first."""
    search = search_of(request.args.to_dict())
    found = [] if search.wrong else services().quoting.find(search.wanted)
    shown, wording = found[:ON_A_PAGE], page_wording()
    return page(
        "desk/quotes.html",
        search=search,
        states=[(state, wording.text(STATES[state])) for state in STATES_OF_QUOTES],
        rows=[_row(quote, wording) for quote in shown],
        next_page=_next_page(search, shown[-1]) if len(found) > len(shown) else None,
    )


def search_of(sent: dict[str, str]) -> Search:
    """What a form asked for. Days are the shop's."""
    typed = {name: sent.get(name, "").strip()[:MOST_WORDS] for name in FIELDS}
    quoting, shop = services().quoting, services().shelf.named(None).book
    days = {name: _day(typed[name]) for name in ("from", "until")}
    zone, first, last = shop.shop.timezone, days["from"], days["until"]
    after = sent.get("after", "")
    wanted = QuoteFilter(
        number=_whole_number(typed["number"], quoting.today(shop).year) or None,
        customer=typed["customer"] or None,
        words=typed["device"] or None,
        state=typed["state"] if typed["state"] in STATES_OF_QUOTES else None,
        since=stamp(end_of(first - dt.timedelta(days=1), zone)) if first else None,
        until=stamp(end_of(last, zone)) if last else None,
        after=after if is_id(after) else None,
        limit=ON_A_PAGE + 1,
    )
    return Search(typed, wanted, [name for name, day in days.items() if typed[name] and day is None])


def _whole_number(typed: str, year: int) -> str:
    """People say the end of a number of this year."""
    return f"{year}-{int(typed):05d}" if _COUNT.fullmatch(typed) else typed


def _day(typed: str) -> dt.date | None:
    try:
        day = dt.date.fromisoformat(typed)
    except ValueError:
        return None
    return day if EARLIEST <= day <= LATEST else None


def _next_page(search: Search, last: IssuedQuote) -> str:
    return f"{request.path}?{urlencode({**search.typed, 'after': last.id})}"


def _row(quote: IssuedQuote, wording: Wording) -> dict[str, Any]:
    words, contact = QuoteWords(quote, wording, stamp(services().quoting.now())), quote.contact
    return {
        "id": quote.id,
        "number": quote.number,
        "device": words.device,
        "repairs": ", ".join(words.repairs),
        "customer": contact.name or contact.phone or contact.email or erased_text(quote, wording),
        "state": quote.state_at(words.now),
        "state_word": words.state,
        "price": words.gross,
        "issued": words.issued,
        "valid_until": words.valid_until,
    }
