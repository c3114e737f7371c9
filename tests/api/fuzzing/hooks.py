"""What schemathesis is told of this service, and asks of every answer beside its own checks. `st` imports it.

The environment says whose key is sent (QUOTER_FUZZ_SCOPE) and which texts must never be answered (QUOTER_FUZZ_SECRETS).
"""

import os
import re
from typing import Any

import orjson
import schemathesis

import quoter.app  # noqa: F401 - declares every operation
from quoter.api.http.operations import OPERATIONS, Operation
from quoter.api.http.problem_document import CONTENT_TYPE, TITLES

from .internals import internals_in

SCOPE = os.environ.get("QUOTER_FUZZ_SCOPE", "none")
SECRETS = tuple(filter(None, os.environ.get("QUOTER_FUZZ_SECRETS", "").split(os.pathsep)))
UPLOADS = {media_type for declared in OPERATIONS.values() for media_type in declared.upload}

ABOUT_ITSELF = ("describe", "readDocs")
"""Their answers name schemas and files to download, which look like classes and modules."""

WRONG_SCOPE = "this needs a key of scope"


@schemathesis.serializer(*UPLOADS)
def as_it_is(context: Any, value: Any) -> dict[str, Any]:
    """A file that is none, or a file of any bytes."""
    return {"data": value if isinstance(value, bytes) else str(value).encode()}


@schemathesis.check
def no_internals(ctx: Any, response: Any, case: Any) -> None:
    """Neither body nor headers tell how the service is made or where it lies."""
    if response.status_code < 400 and _declared(case).id in ABOUT_ITSELF:
        return
    headers = "\n".join(f"{name}: {value}" for name, values in response.headers.items() for value in values)
    told = internals_in(f"{headers}\n{response.content.decode(errors='replace')}", SECRETS)
    assert not told, f"the answer tells of internals: {told}"


@schemathesis.check
def problems_are_documents(ctx: Any, response: Any, case: Any) -> None:
    """RFC 9457: of a type that has a page, or about HTTP itself; and the status is that of the answer."""
    if response.status_code < 400 or response.request.method == "HEAD":
        return
    assert response.headers["content-type"] == [CONTENT_TYPE]
    body = orjson.loads(response.content)
    assert body["status"] == response.status_code
    assert body["type"] == "about:blank" or TITLES[body["type"].removeprefix("/problems/")] == body["title"]
    for error in body.get("errors", ()):
        assert error["reason"] in TITLES
        assert re.fullmatch(r"(/([^~]|~[01])*)?", error["pointer"], re.DOTALL), "RFC 6901"


@schemathesis.check
def scopes_count(ctx: Any, response: Any, case: Any) -> None:
    """Without a key 401 and how to send one, with one of another scope 403, with the right one neither."""
    declared = _declared(case)
    if response.request.method != declared.method or not declared.scopes or _is_about_http(response):
        return
    if not _is_sent(response.request):
        assert response.status_code == 401, "it was answered without a key"
        assert response.headers["www-authenticate"] == ['Bearer realm="quoter"']
        return
    is_refused = response.status_code == 403 and orjson.loads(response.content)["detail"].startswith(WRONG_SCOPE)
    assert response.status_code != 401, "the key was sent and not believed"
    assert is_refused is (SCOPE not in declared.scopes), f"a key of scope {SCOPE} was answered {response.status_code}"


def _is_sent(request: Any) -> bool:
    """Whether the key went along: some checks leave it out, or send another."""
    sent = request.headers.get("Authorization", "")
    sent = sent.decode("latin-1") if isinstance(sent, bytes) else sent
    return SCOPE != "none" and sent == os.environ["QUOTER_FUZZ_AUTHORIZATION"]


def _is_about_http(response: Any) -> bool:
    """Whether the request did not get as far as an operation: no such path, or too large."""
    return response.status_code in (404, 405, 413, 414, 431) and b'"type":"about:blank"' in response.content


def _declared(case: Any) -> Operation:
    return OPERATIONS[case.operation.definition.raw["operationId"]]
