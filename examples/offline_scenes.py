"""Problems that a healthy service with sound books does not show: brought about by themselves."""

import sqlite3
from contextlib import closing
from typing import Any

import orjson

from examples.asking import Asking
from examples.spoiling import Call
from quoter.api.http.problem_document import CONTENT_TYPE, ApiProblem, problem_body
from quoter.problems import (
    ChangedMeanwhile,
    Conflict,
    CurrenciesDiffer,
    EnquiryRefused,
    JobRefused,
    NotAllowed,
    NotFound,
    Problem,
    QuoteRefused,
    Refusal,
    TooLarge,
)

CIRCLE = Refusal("steps-in-a-circle", "/findings", "open and warm wait for each other")
TELL = Refusal("notice-required", "/told", "the customer must be told about data-loss first", ("data-loss",))
CONSENT = Refusal("consent-required", "/extra", "the customer must agree to 18.40 more", ("18.40",))
REACH = Refusal("invalid-value", "/contact", "a phone number or an address of mail is needed")
BEGIN = Refusal("form-unknown", "/token", "this form was not begun here; load it again, and send it once more")

MADE_UP: dict[str, Problem] = {
    "steps-in-a-circle": JobRefused((CIRCLE,)),
    "notice-required": QuoteRefused((TELL,)),
    "quote-refused": QuoteRefused((TELL, CONSENT)),
    "enquiry-refused": EnquiryRefused((REACH, BEGIN)),
    "currencies-differ": CurrenciesDiffer("prices in EUR and in USD have no difference"),
    "too-large": TooLarge("a sheet holds 1048576 rows; parts has 1200000"),
    "not-allowed": NotAllowed("this needs a key of scope owner; yours is desk"),
    "forged": ApiProblem(403, "forged", "send the token of the page as the header X-CSRF-Token"),
}
"""By code a problem that needs a book, a law or a size that no demo has."""

SUPERSEDED = Conflict("only the newest revision of quote 2026-00001 can be revised; ask for it again")
CHANGED = ChangedMeanwhile("enquiry E2026-00001 is not what you have seen: it was changed meanwhile")
NO_BOOK = NotFound("rate book", "", where="/book")

RARE: dict[tuple[str, int], Problem] = {
    ("reviseQuote", 409): SUPERSEDED,
    ("previewRevision", 409): SUPERSEDED,
    ("issueQuote", 412): CHANGED,
    ("readiness", 404): NO_BOOK,
    ("calculateHourlyRate", 404): NO_BOOK,
    ("calculatePriceForMargin", 404): NO_BOOK,
    ("calculateBreakEven", 404): NO_BOOK,
}
"""By operation and status what only somebody meets who asks while another is at it, or a service without books."""


WRONG_KEY = "one-that-nobody-has"


def play_offline(asking: Asking) -> None:
    """A database that is busy elsewhere, and what is made up."""
    with closing(sqlite3.connect(asking.database, isolation_level=None)) as other:
        other.execute("begin immediate")
        answer = asking.send(Call.of("issueQuote"))
    asking.kept.keep_problem("unavailable", orjson.loads(answer.get_data()), status=503)
    asking.kept.keep_problem("too-many-requests", _guessed(asking), status=429)
    asking.kept.keep_problem("not-allowed", problem_body(MADE_UP["not-allowed"]), status=403)
    for (operation, status), problem in RARE.items():
        asking.kept.keep(operation, status, CONTENT_TYPE, problem_body(problem), problem.code)
    for code, problem in MADE_UP.items():
        asking.kept.keep_problem(code, problem_body(problem))


def _guessed(asking: Asking) -> Any:
    """What is answered to somebody who has tried too many wrong keys: the same wherever a key is asked for."""
    for _ in range(asking.wrong_keys_a_minute):
        asking.send(Call.of("listBooks", key=WRONG_KEY))
    return orjson.loads(asking.send(Call.of("listBooks", key=WRONG_KEY)).get_data())
