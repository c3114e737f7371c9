"""Which locale an answer is in: the one asked for, else the best for the reader's browser, else the book's."""

from flask import request

from quoter.api.http.problem_document import ApiProblem
from quoter.problems import Refusal
from quoter.words.languages import best_match
from quoter.words.locales import known_locale

HINT = "a language tag such as en-IE"


def reader_locale(default: str, asked: str | None = None) -> str:
    """The locale for this request; `asked` is its own parameter and must be one that is known."""
    if asked is not None and not known_locale(asked):
        refusal = Refusal("invalid-value", "/locale", f"{asked!r} is not a known locale", (HINT,))
        raise ApiProblem(422, "invalid-request", refusal.detail, [refusal])
    return best_match(request.headers.get("Accept-Language"), default, requested=asked)
