"""Pages by opaque cursor, with the link to the next in the header (RFC 8288)."""

import base64
import binascii
from collections.abc import Callable
from urllib.parse import urlencode

from flask import request
from marshmallow import fields, validate

from quoter.api.http.fields import WholeNumber
from quoter.api.http.problem_document import ApiProblem
from quoter.api.prices.job_schema import Strict
from quoter.problems import Refusal

MOST = 100
DEFAULT = 20
MOST_WORDS = 200
"""Characters that can be searched for."""

LINK = {"Link": '<...>; rel="next": the next page, where there is one'}


class PageQuery(Strict):
    """Which page."""

    limit = WholeNumber(
        load_default=DEFAULT,
        validate=validate.Range(1, MOST),
        metadata={"description": "How many at most"},
    )
    after = fields.String(load_default=None, metadata={"description": "The cursor in the link to the next page"})


def cursor(key: str) -> str:
    """A cursor after the row with this key."""
    return base64.urlsafe_b64encode(key.encode()).decode().rstrip("=")


def key_of(after: str | None, is_key: Callable[[str], bool]) -> str | None:
    """The key in a cursor. Raises a problem for one that no page of this list has given."""
    if after is None:
        return None
    try:
        key = base64.b64decode(after + "=" * (-len(after) % 4), b"-_", validate=True).decode()
    except (binascii.Error, ValueError):
        key = ""
    if not is_key(key):
        refusal = Refusal("invalid-value", "/after", "not a cursor that a page of this list has given")
        raise ApiProblem(422, "invalid-request", refusal.detail, [refusal])
    return key


def next_link(last_key: str) -> dict[str, str]:
    """The header that leads to the page after the row with this key."""
    query = request.args.to_dict() | {"after": cursor(last_key)}
    return {"Link": f'<{request.path}?{urlencode(query)}>; rel="next"'}
