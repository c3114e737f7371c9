"""The customer's own page: their quote in their language, to read, to accept or to decline.

Who has the link is the customer: there is no account and no cookie. It works without scripts, and shows nothing that is
for the shop alone. What the desk opens is the very same page.
"""

from decimal import Decimal
from typing import Any

from babel import Locale
from flask import Blueprint, Response, render_template, request, url_for

from quoter.api.http.services import services
from quoter.documents.sheet import quote_sheet
from quoter.messages import Message
from quoter.pages.changes import changes_between, compared_with
from quoter.pages.papers import customer_pdf
from quoter.pages.quote_words import QuoteWords
from quoter.pages.visitors import is_own_form, see_other
from quoter.problems import Conflict, QuoteRefused
from quoter.records.quotes import Decision, IssuedQuote
from quoter.service.clock import stamp
from quoter.service.quotes.agreements import agreement_to, ceiling_of, consent_needed, consent_refusals, next_decisions
from quoter.service.quotes.deciding import BY_LINK, LONGEST_NAME, is_name
from quoter.words.catalogues import LANGUAGES
from quoter.words.languages import best_match
from quoter.words.wording import Wording, wording_for

blueprint = Blueprint("customer", __name__)

HEADERS = {"X-Robots-Tag": "noindex, nofollow", "Cache-Control": "no-store", "Referrer-Policy": "no-referrer"}

FORGED = Message("The form did not come from this page. Open the page itself and try again.")
FORGED_STATUS = 403

NAMELESS = Message("Please write your name.")
UNREAD = Message("Please tick that you have read the quote and its terms.")
NOT_AGREED = Message("Please tick that you agree to the higher price.")
CHANGED = Message("The quote has changed while you were reading. Please look at it again before you decide.")


@blueprint.after_request
def _private(response: Response) -> Response:
    """No search engine lists it, no browser keeps it, and no site that it leads to learns its address."""
    response.headers.update(HEADERS)
    return response


@blueprint.get("/q/<token>")
def newest(token: str) -> Response:
    """The quote as it stands."""
    quote = services().quoting.by_link(token)
    return _shown(quote, quote) if quote else _unknown()


@blueprint.get("/q/<token>/<int:revision>")
def revision(token: str, revision: int) -> Response:
    """A certain revision, with the way to the newest."""
    found = _found(token, revision)
    return _shown(*found) if found else _unknown()


@blueprint.get("/q/<token>/<int:revision>/quote.pdf")
def pdf(token: str, revision: int) -> Response:
    """The same as a file to keep."""
    found = _found(token, revision)
    return customer_pdf(found[0], _wording(found[0]), stamp(services().quoting.now())) if found else _unknown()


@blueprint.route("/q/<token>/<int:revision>/<any(accept, decline):step>", methods=["GET", "POST"])
def decide(token: str, revision: int, step: str) -> Response:
    """The last step before a decision counts: a page of its own, and nothing happens by looking at it."""
    found = _found(token, revision)
    if found is None:
        return _unknown()
    shown, latest = found
    decision = "accepted" if step == "accept" else "declined"
    if shown.revision != latest.revision or decision not in _possible(latest):
        return see_other(_address(shown))
    if request.method != "POST":
        return _question(latest, decision)
    return _decided(latest, decision)


def _found(token: str, revision: int) -> tuple[IssuedQuote, IssuedQuote] | None:
    """The revision that was asked for, and the newest."""
    quoting = services().quoting
    latest = quoting.by_link(token)
    if latest is None or not 0 < revision <= latest.revision:
        return None
    return (latest if revision == latest.revision else quoting.revision(latest.id, revision)), latest


def _possible(quote: IssuedQuote) -> tuple[str, ...]:
    """What the customer may decide here. What is over or not theirs to decide goes through the shop."""
    now = stamp(services().quoting.now())
    if quote.state_at(now) == "expired":
        return ()
    possible = [each for each in next_decisions(quote, now) if each in BY_LINK]
    return tuple(each for each in possible if each != "accepted" or not _needs_the_shop(quote))


def _needs_the_shop(quote: IssuedQuote) -> bool:
    """Whether the law wants a consent in another way than by this page."""
    reached = quote.contact.phone or quote.contact.email
    consent = consent_needed(quote)
    by_link = Decision(
        decision="accepted",
        revision=quote.revision,
        name="",
        how="link",
        contact=reached,
        extra=consent.extra if consent else None,
    )
    return bool(consent_refusals(quote, by_link))


def _shown(quote: IssuedQuote, latest: IssuedQuote) -> Response:
    wording = _wording(quote)
    is_newest = quote.revision == latest.revision
    return _page(
        "customer/quote.html",
        quote,
        wording,
        latest=latest,
        is_newest=is_newest,
        possible=_possible(quote) if is_newest else (),
        needs_the_shop=is_newest and _needs_the_shop(quote),
        sheet=quote_sheet(quote, wording, now=stamp(services().quoting.now()), link=""),
        changes=_changes(quote, wording) if is_newest else None,
    )


def _changes(quote: IssuedQuote, wording: Wording) -> dict[str, Any] | None:
    """What is not as the customer knows it; nothing for a first revision."""
    known = compared_with(quote)
    before = next((each for each in services().quoting.revisions(quote.id) if each.revision == known), None)
    return changes_between(before, quote, wording) if before else None


def _question(quote: IssuedQuote, decision: str, status: int = 200, refused: tuple[str, ...] = ()) -> Response:
    wording, consent = _wording(quote), consent_needed(quote)
    words = QuoteWords(quote, wording, stamp(services().quoting.now()))
    agreed, ceiling = agreement_to(quote, "price"), ceiling_of(quote)
    is_above = ceiling is not None and ceiling > Decimal(quote.result["totals"]["gross"])
    return _page(
        "customer/decide.html",
        quote,
        wording,
        status,
        decision=decision,
        refused=refused,
        longest_name=LONGEST_NAME,
        total=quote_sheet(quote, wording, now=words.now, link="")["headline"]["label"],
        extra=consent.extra if consent and decision == "accepted" else None,
        extra_text=words.measured(consent.extra, consent.of) if consent else "",
        written={} if status == FORGED_STATUS else request.form,
        changes=_changes(quote, wording) if consent and decision == "accepted" else None,
        limit=words.money(agreed.limit),
        of=agreed.of,
        ceiling=words.money(ceiling) if ceiling is not None and is_above else None,
    )


def _decided(quote: IssuedQuote, decision: str) -> Response:
    """Keeps what a form says, or shows the form again with what is missing; nothing that was written is lost."""
    wording, consent = _wording(quote), consent_needed(quote) if decision == "accepted" else None
    missing = _missing(decision, consent is not None)
    if missing:
        status = FORGED_STATUS if FORGED in missing else 422
        return _question(quote, decision, status, tuple(wording.text(each) for each in missing))
    if consent is not None and request.form.get("extra") != str(consent.extra):
        return _question(quote, decision, 409, (wording.text(CHANGED),))
    up_to = request.form.get("up_to", "price")
    name, extra = request.form["name"].strip(), consent.extra if consent else None
    try:
        services().quoting.decide_by_link(quote.link, quote.revision, decision, name, extra=extra, up_to=up_to)
    except (Conflict, QuoteRefused):
        if not _is_done_already(quote, decision, name):
            return _question(quote, decision, 409, (wording.text(CHANGED),))
    return see_other(_address(quote))


def _is_done_already(quote: IssuedQuote, decision: str, name: str) -> bool:
    """Whether the very same answer has come a moment before, as when somebody clicks twice."""
    now = services().quoting.get(quote.id)
    made = now.decision
    return now.revision == quote.revision and made is not None and (made.decision, made.name) == (decision, name)


def _missing(decision: str, asks_consent: bool) -> list[Message]:
    """What a form lacks."""
    form = request.form
    if not is_own_form():
        return [FORGED]
    missing = []
    if not is_name(form.get("name", "").strip()):
        missing.append(NAMELESS)
    if decision == "accepted" and "read" not in form:
        missing.append(UNREAD)
    if asks_consent and "agreed" not in form:
        missing.append(NOT_AGREED)
    return missing


def _address(quote: IssuedQuote, step: str = "") -> str:
    """Of a revision's page, or of a step from there, in the language that was chosen."""
    chosen = request.args.get("language")
    query = f"?language={chosen}" if chosen in LANGUAGES else ""
    page = url_for("customer.revision", token=quote.link, revision=quote.revision)
    return f"{page}/{step}{query}" if step else f"{page}{query}"


def _wording(quote: IssuedQuote) -> Wording:
    """Of the language that was chosen on the page, else the customer's own."""
    chosen, own = request.args.get("language", ""), quote.job["locale"]
    if chosen not in LANGUAGES or own.partition("-")[0] == chosen:
        return wording_for(own)
    return wording_for(best_match(request.headers.get("Accept-Language"), chosen, offered=(chosen,)))


def _unknown() -> Response:
    """Of a link that leads nowhere, or no more; nobody learns which."""
    return Response(_drawn("customer/unknown.html", _readers_wording()), 404, content_type="text/html; charset=utf-8")


def _readers_wording() -> Wording:
    return wording_for(best_match(request.headers.get("Accept-Language"), LANGUAGES[0], offered=LANGUAGES))


def _page(name: str, quote: IssuedQuote, wording: Wording, status: int = 200, **shown: Any) -> Response:
    text = _drawn(
        name,
        wording,
        quote=quote,
        words=QuoteWords(quote, wording, stamp(services().quoting.now())),
        shop=quote.result["shop"],
        here=_address,
        languages=[(code, Locale.parse(code).get_display_name(code)) for code in LANGUAGES],
        **shown,
    )
    return Response(text, status, content_type="text/html; charset=utf-8")


def _drawn(name: str, wording: Wording, **shown: Any) -> str:
    return render_template(name, wording=wording, say=wording.say, plural=wording.plural, **shown)
