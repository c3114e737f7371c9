"""What the calls on a quote have in common: who changes it says which version they saw and gets it back as it is then.

Where somebody else was quicker they get 412 and what has happened meanwhile, and nothing is overwritten.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from flask import Response, current_app, request

from quoter.api.http.auth import current_key
from quoter.api.http.conditions import conditional, if_match, matches
from quoter.api.http.locale import reader_locale
from quoter.api.http.measures import measures
from quoter.api.http.operations import json_answer
from quoter.api.http.problem_document import ApiProblem
from quoter.api.http.repeating import once_kept
from quoter.api.http.services import services
from quoter.api.prices.document import audience_of
from quoter.api.quotes.life_document import meanwhile, whole_document
from quoter.problems import ChangedMeanwhile
from quoter.records.quotes import IssuedQuote
from quoter.service.clock import stamp

PUBLIC_ADDRESS = "PUBLIC_ADDRESS"
"""Where the app's configuration keeps the address that customers are given."""

ETAG = {"ETag": "The version of the quote, for If-Match"}
LARGEST_NUMBER = 2**31 - 1


def customer_link(quote: IssuedQuote) -> str:
    """Where the customer of a quote reads this revision; "" where no link leads there."""
    if not quote.link:
        return ""
    address = current_app.config[PUBLIC_ADDRESS] or request.url_root.rstrip("/")
    return f"{address}/q/{quote.link}/{quote.revision}"


def tag_of(quote: IssuedQuote) -> str:
    """What a quote is at a moment, as an entity tag."""
    return f'"{quote.version}"'


def quote_data(quote: IssuedQuote, revisions: Iterable[IssuedQuote], tag: str) -> dict[str, Any]:
    """A quote as the holder of this key may see it."""
    now = stamp(services().quoting.now())
    return whole_document(quote, revisions, now, tag, audience_of(current_key()), customer_link(quote))


def quote_answer(
    quote: IssuedQuote,
    status: int = 200,
    *,
    tag: str | None = None,
    headers: Mapping[str, str] | None = None,
    revisions: Sequence[IssuedQuote] = (),
) -> Response:
    """A quote with everything that has become of it, in a locale or the best for its reader."""
    revisions = revisions or services().quoting.revisions(quote.id)
    shown = quote_data(quote, revisions, tag or reader_locale(quote.job["locale"]))
    answer = json_answer(shown, status, {"ETag": tag_of(quote), "Vary": "Accept-Language", **(headers or {})})
    if shown["state"] == "expired":  # by the clock, which changes no version
        return answer
    return conditional(answer, tag_of(quote))


def issued_answer(quote: IssuedQuote) -> Response:
    """A quote that has just been issued, and where it is; it counts as issued once it is on disk."""
    once_kept(measures().issued.inc)
    headers = {"Location": f"/v1/quotes/{quote.id}"}
    return quote_answer(quote, 201, tag=quote.job["locale"], headers=headers, revisions=(quote,))


@contextmanager
def unchanged_quote(quote_id: str) -> Iterator[IssuedQuote]:
    """The newest revision of a quote, if the caller has seen it as it is. Raises problems 428 and 412."""
    wanted = if_match("quote")
    quote = services().quoting.get(quote_id)
    if not matches(wanted, tag_of(quote)):
        raise _changed(quote, wanted)
    try:
        yield quote
    except ChangedMeanwhile:
        raise _changed(services().quoting.get(quote_id), wanted) from None


def _changed(quote: IssuedQuote, wanted: str) -> ApiProblem:
    seen = wanted.strip('"')
    after = int(seen) if seen.isascii() and seen.isdecimal() and len(seen) < 10 else 0
    events = services().quoting.history(quote.id, after)
    return ApiProblem(
        412,
        "changed-meanwhile",
        f"quote {quote.number} is not what you have seen: it is at version {quote.version}",
        headers={"ETag": tag_of(quote)},
        told=meanwhile(quote, events, reader_locale(quote.job["locale"])),
    )
