"""The form without scripts: the same questions as pages of the service, one after the other.

What has been chosen travels in the address, what was written only in what is sent; there is no account and no cookie.
The id of the form's key stands in the address, never the key.
"""

import re
from typing import Any

from babel import Locale
from flask import Blueprint, Response, render_template, request, url_for

from quoter.api.http.limits import spend_form
from quoter.api.http.origins import own_origin, sender_address
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.services import services
from quoter.api.prices.devices import offer_of
from quoter.pages.ask_words import erasure_sentence, fault_sentence, lost_sentence, price_words, refused_sentence
from quoter.pages.form_script import kept_days
from quoter.pages.visitors import is_own_form, see_other
from quoter.pages.visitors_wish import Wish, wish_in
from quoter.problems import EnquiryRefused, JobRefused, NotFound, Refusal, TooManyRequests
from quoter.records.access import FORM, StoredKey
from quoter.records.quotes import Contact
from quoter.service.clock import stamp
from quoter.service.enquiries.asking import LONGEST_EMAIL, LONGEST_NAME, LONGEST_NOTICED, LONGEST_PHONE, Asked
from quoter.service.rates.devices import devices_matching
from quoter.service.rates.shelf import Published
from quoter.words.catalogues import LANGUAGES, language_of
from quoter.words.languages import best_match
from quoter.words.wording import Wording, wording_for

blueprint = Blueprint("asking", __name__)

HEADERS = {"X-Robots-Tag": "noindex, nofollow", "Cache-Control": "no-store", "Referrer-Policy": "no-referrer"}

MOST_DEVICES = 20
LONGEST_WORDS = 200
"""Characters of what is looked for, as in the API."""

LONGEST = {"name": LONGEST_NAME, "phone": LONGEST_PHONE, "email": LONGEST_EMAIL, "noticed": LONGEST_NOTICED}
"""Characters of what is written, by field."""

RENEWED = ("form-expired", "form-unknown", "form-used")
"""Reasons for which another token is needed."""

_REFERENCE = re.compile(r"A\d{4}-\d{5,9}", re.ASCII)


@blueprint.after_request
def _private(response: Response) -> Response:
    """No search engine lists it, no browser keeps what was written."""
    response.headers.update(HEADERS)
    return response


@blueprint.get("/ask/<key_id>")
def ask(key_id: str) -> Response:
    """The next question: which device, what about it, and how the visitor is reached."""
    found = _form_of(key_id)
    if found is None:
        return _unknown()
    key, published = found
    spend_form(key.id)
    wish, wording = wish_in(request.args, published.book), _wording(published)
    if wish.device is None:
        return _devices(published, wording, wish)
    if request.args.get("step") == "price" and not wish.unknown:
        return _price(key, published, wording, wish)
    return _choices(published, wording, wish)


@blueprint.post("/ask/<key_id>")
def send(key_id: str) -> Response:
    """Makes the enquiry, or shows the form again with what is wrong; nothing that was written is lost."""
    found = _form_of(key_id)
    if found is None:
        return _unknown()
    key, published = found
    wish, wording = wish_in(request.form, published.book), _wording(published)
    try:
        spend_form(key.id)
    except ApiProblem as refused:
        return _later(_unpriced(key, published, wording, wish, 429, _too_many(refused)), refused)
    if wish.device is None or not wish.repairs:
        return _choices(published, wording, wish) if wish.device else _devices(published, wording, wish)
    if not is_own_form():
        return _unpriced(key, published, wording, wish, 403, Refusal("forged", "", ""))
    return _made(key, published, wording, wish)


def _made(key: StoredKey, published: Published, wording: Wording, wish: Wish) -> Response:
    """What came of making the enquiry."""
    try:
        made = services().enquiring.make(_asked(published, wording, wish), key)
    except (EnquiryRefused, JobRefused) as refused:
        return _price(key, published, wording, wish, 422, refused.refusals)
    except TooManyRequests as refused:
        return _later(_unpriced(key, published, wording, wish, 429, _too_many(refused)), refused)
    kept = wish.query(request.form) | {"reference": made.reference, "form": made.filled_sha256}
    return see_other(url_for("asking.sent", key_id=key.id, **kept))


@blueprint.errorhandler(ApiProblem)
def too_often(problem: ApiProblem) -> Response:
    """Who asks too often is told when to come back; there is nothing written that could be lost."""
    wording = _readers_wording()
    return _later(
        _drawn("asking/later.html", wording, 429, told=refused_sentence((_too_many(problem),), wording)), problem
    )


@blueprint.get("/ask/<key_id>/sent")
def sent(key_id: str) -> Response:
    """That it has arrived. Who opens it again sends nothing, and nobody is told so of an enquiry that there is not."""
    found = _form_of(key_id)
    if found is None or not _has_arrived():
        return _unknown()
    key, published = found
    spend_form(key.id)
    wish, wording = wish_in(request.args, published.book), _wording(published)
    try:
        price = price_words(*_priced(published, wording, wish), wording)
    except JobRefused:
        price = None
    return _page("asking/sent.html", published, wording, wish, price=price, reference=request.args["reference"])


def _has_arrived() -> bool:
    """Whether the address is the one that the form was sent on to: references count up, hashes of tokens do not."""
    reference, form = (request.args.get(name, "") for name in ("reference", "form"))
    enquiry = services().enquiring.by_reference(reference) if _REFERENCE.fullmatch(reference) else None
    return enquiry is not None and bool(form) and enquiry.filled_sha256 == form


def _form_of(key_id: str) -> tuple[StoredKey, Published] | None:
    """The form's key, if it counts, and the rates that are asked for. Nobody learns what else there is."""
    key = services().keyring.keys.find(key_id)
    if key is None or key.scope != FORM or not key.counts_at(stamp(services().keyring.now())):
        return None
    try:
        return key, services().shelf.named(request.values.get("book") or None)
    except NotFound:
        return None


def _devices(published: Published, wording: Wording, wish: Wish) -> Response:
    words = request.values.get("words", "")[:LONGEST_WORDS]
    found = devices_matching(words, None, published.book)[:MOST_DEVICES]
    return _page("asking/device.html", published, wording, wish, found=found, lost=lost_sentence(wish.unknown, wording))


def _choices(published: Published, wording: Wording, wish: Wish, faults: tuple[str, ...] = ()) -> Response:
    device = published.book.devices[wish.device or ""]
    offer = offer_of(device, published.book, wording.tag)
    status, lost = 422 if faults else 200, lost_sentence(wish.unknown, wording)
    return _page("asking/choices.html", published, wording, wish, status, offer=offer, faults=faults, lost=lost)


def _price(
    key: StoredKey,
    published: Published,
    wording: Wording,
    wish: Wish,
    status: int = 200,
    refusals: tuple[Refusal, ...] = (),
) -> Response:
    """The price with the form to send, or why there is none."""
    if not wish.repairs:
        return _choices(published, wording, wish, (wording.say("Please tick what shall be repaired."),))
    offer = offer_of(published.book.devices[wish.device or ""], published.book, wording.tag)
    stops = [each for each in offer["findings"] if each["stops"] and each["code"] in wish.findings]
    if stops:
        return _page("asking/stopped.html", published, wording, wish, stops=stops)
    try:
        price = price_words(*_priced(published, wording, wish), wording)
    except JobRefused as refused:
        faults = tuple(dict.fromkeys(fault_sentence(each, wording) for each in refused.refusals))
        return _choices(published, wording, wish, faults)
    return _form_page(key, published, wording, wish, status, refusals, price)


def _unpriced(
    key: StoredKey, published: Published, wording: Wording, wish: Wish, status: int, refusal: Refusal
) -> Response:
    """The form as it was sent, without the price: who is refused does not make the service work it out."""
    if wish.device is None or not wish.repairs:
        return _drawn("asking/later.html", wording, status, told=refused_sentence((refusal,), wording))
    return _form_page(key, published, wording, wish, status, (refusal,), None)


def _form_page(
    key: StoredKey,
    published: Published,
    wording: Wording,
    wish: Wish,
    status: int,
    refusals: tuple[Refusal, ...],
    price: dict[str, Any] | None,
) -> Response:
    return _page(
        "asking/price.html",
        published,
        wording,
        wish,
        status,
        price=price,
        token=_token(key, refusals),
        longest=LONGEST,
        erasure=erasure_sentence(kept_days(), wording),
        written=request.form,
        told=refused_sentence(refusals, wording),
        faults={each.pointer: fault_sentence(each, wording) for each in refusals if each.pointer},
    )


def _token(key: StoredKey, refusals: tuple[Refusal, ...]) -> str:
    """That of this filling-in, as long as it may be used."""
    given = request.form.get("token", "")
    is_used_up = any(each.reason in RENEWED for each in refusals)
    return given if given and not is_used_up else services().enquiring.begin(key).token


def _priced(published: Published, wording: Wording, wish: Wish) -> tuple[dict[str, Any], dict[str, Any]]:
    quoting = services().quoting
    return quoting.price(wish.job(quoting.today(published.book), wording.tag), published)


def _asked(published: Published, wording: Wording, wish: Wish) -> Asked:
    form = request.form
    return Asked(
        job=wish.job(services().quoting.today(published.book), wording.tag),
        published=published,
        contact=Contact(**{name: form.get(name, "") for name in ("name", "phone", "email")}),
        noticed=form.get("noticed", "").replace("\r\n", "\n"),
        may_be_contacted="agreed" in form,
        token=form.get("token", ""),
        homepage=form.get("homepage", ""),
        origin=own_origin(),
        address=sender_address(),
    )


def _wording(published: Published) -> Wording:
    """Of the language that was chosen on the page, else the best for the browser, else the shop's."""
    accepted, own = request.headers.get("Accept-Language"), published.book.locale
    chosen = request.values.get("language", "")
    if chosen not in LANGUAGES:
        return wording_for(best_match(accepted, own, offered=LANGUAGES))
    return wording_for(best_match(accepted, own if language_of(own) == chosen else chosen, offered=(chosen,)))


def _readers_wording() -> Wording:
    return wording_for(best_match(request.headers.get("Accept-Language"), LANGUAGES[0], offered=LANGUAGES))


def _unknown() -> Response:
    """Of a key that is no form's, or no more: how the shop is reached, whatever was asked for."""
    try:
        shop = services().shelf.named(None).book.shop
    except NotFound:
        shop = None
    return _drawn("customer/unknown.html", _readers_wording(), 404, shop=shop)


def _too_many(problem: TooManyRequests | ApiProblem) -> Refusal:
    """With the seconds to wait in the place of words."""
    return Refusal("too-many-requests", "", _wait_seconds(problem))


def _later(response: Response, problem: TooManyRequests | ApiProblem) -> Response:
    response.headers["Retry-After"] = _wait_seconds(problem)
    return response


def _wait_seconds(problem: TooManyRequests | ApiProblem) -> str:
    return str(problem.wait_seconds) if isinstance(problem, TooManyRequests) else problem.headers["Retry-After"]


def _page(name: str, published: Published, wording: Wording, wish: Wish, status: int = 200, **shown: Any) -> Response:
    key_id = (request.view_args or {})["key_id"]
    kept = wish.query(request.values)
    return _drawn(
        name,
        wording,
        status,
        shop=published.book.shop,
        wish=wish,
        kept=kept,
        form=url_for("asking.ask", key_id=key_id),
        here=lambda **more: url_for("asking.ask", key_id=key_id, **(kept | more)),
        languages=[(code, Locale.parse(code).get_display_name(code)) for code in LANGUAGES],
        **shown,
    )


def _drawn(name: str, wording: Wording, status: int, **shown: Any) -> Response:
    text = render_template(name, wording=wording, say=wording.say, plural=wording.plural, **shown)
    return Response(text, status, content_type="text/html; charset=utf-8")
