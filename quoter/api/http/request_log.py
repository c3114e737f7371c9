"""A line for each request, and a name for it by which who called and who reads the log mean the same.

Lines name the operation, never the address: links of customers are in addresses, and words that were searched for.
"""

import logging
import re
import secrets
import time
from typing import Any

from flask import Flask, Response, g, has_request_context, request

REQUEST_ID = "X-Request-Id"

_PLAIN = re.compile(r"[A-Za-z0-9._-]{8,64}", re.ASCII)

log = logging.getLogger(__name__)


def register(app: Flask) -> None:
    """Names each request of an app and logs its answer."""

    @app.before_request
    def begin() -> None:
        g.began = time.perf_counter()
        g.request_id = _name_of(request.headers.get(REQUEST_ID, ""))

    @app.after_request
    def end(response: Response) -> Response:
        response.headers[REQUEST_ID] = request_id()
        if log.isEnabledFor(logging.INFO):
            log.info("answered", extra={"said": _said(response)})
        return response


def request_id() -> str:
    """The name of the request that is being answered."""
    found: str = g.get("request_id") or _name_of("")
    return found


def _name_of(sent: str) -> str:
    """The caller's, where it can do no harm in a log, or one of our own."""
    return sent if _PLAIN.fullmatch(sent) else secrets.token_hex(8)


def _said(response: Response) -> dict[str, Any]:
    milliseconds = (time.perf_counter() - g.get("began", time.perf_counter())) * 1000
    key = g.get("key")
    answered = {"status": response.status_code, "milliseconds": round(milliseconds, 1)}
    return _asked() | answered | ({"key": key.id} if key else {})


def _asked() -> dict[str, Any]:
    operation = (request.endpoint or "nowhere").rpartition(".")[2]
    return {"request": request_id(), "method": request.method, "operation": operation}


class RequestNames(logging.Filter):
    """Says of every line that is written while a request is answered which one that is."""

    def filter(self, record: logging.LogRecord) -> bool:
        if has_request_context() and not hasattr(record, "said"):
            record.said = _asked()
        return True
