"""How the program logs: as text for people, or a JSON object a line for programs that collect them."""

import json
import logging
import math
import sys
import textwrap
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime

FORMATS = ("text", "json")

LEVELS = {"problems": logging.WARNING, "requests": logging.INFO}
"""What is logged: only what somebody must look at, or every request as well."""

SELDOM_SECONDS = 60


class _Lines(logging.Formatter):
    """When, how bad, who says it, what; then what is known of the request."""

    def format(self, record: logging.LogRecord) -> str:
        said = getattr(record, "said", {})
        known = "".join(f" {name}={value}" for name, value in said.items())
        text = f"{_moment(record)} {record.levelname.lower()} {record.name}: {_line(record.getMessage())}{known}"
        return text if record.exc_info is None else f"{text}\n{_indented(self.formatException(record.exc_info))}"


class _Json(logging.Formatter):
    """The same as one object."""

    def format(self, record: logging.LogRecord) -> str:
        said = {
            "at": _moment(record),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
            **getattr(record, "said", {}),
        }
        if record.exc_info is not None:
            said["trace"] = self.formatException(record.exc_info)
        return json.dumps(said, ensure_ascii=False, default=str)


class _WithoutAddresses(logging.Filter):
    """The server names the address of an answer that broke off, and links of customers are addresses."""

    def filter(self, record: logging.LogRecord) -> bool:
        for said in ("Exception while serving", "Client disconnected while serving"):
            if record.getMessage().startswith(said):
                record.msg, record.args = f"{said} a request", ()
        return True


class Seldom:
    """A logger that warns once a minute: the server says at each request that others wait, when it has too much to do
    as it is. `ticks` are seconds."""

    def __init__(self, logger: logging.Logger, ticks: Callable[[], float] = time.monotonic) -> None:
        self._logger, self._ticks, self._next_at = logger, ticks, -math.inf

    def warning(self, message: str, *values: object) -> None:
        """Warns, or does nothing."""
        if self._ticks() >= self._next_at:
            self._next_at = self._ticks() + SELDOM_SECONDS
            self._logger.warning(message, *values)


def set_up(what: str, form: str, names: logging.Filter) -> None:
    """Sends what the program and its server log to the standard error; `names` adds which request it is about."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(_Json() if form == "json" else _Lines())
    handler.addFilter(names)
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(logging.WARNING)
    logging.getLogger("quoter").setLevel(LEVELS[what])
    logging.getLogger("waitress").addFilter(_WithoutAddresses())
    threading.excepthook = _thread_ended


def _thread_ended(ended: threading.ExceptHookArgs) -> None:
    """What Python would otherwise print past the log."""
    if ended.exc_value is not None:
        found = (ended.exc_type, ended.exc_value, ended.exc_traceback)
        name = ended.thread.name if ended.thread else "unknown"
        logging.getLogger(__name__).error("the thread %s ended by a fault", name, exc_info=found)


def _indented(trace: str) -> str:
    """So that no line of it can be taken for one of the log."""
    return textwrap.indent(trace, "    ", lambda line: True)


def _moment(record: logging.LogRecord) -> str:
    return datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _line(text: str) -> str:
    """Without line breaks, so that nobody writes lines of their own into the log."""
    return text.encode("unicode_escape").decode() if any(sign in text for sign in "\r\n\x1b") else text
