"""How the program logs: as text for people, or a JSON object a line for programs that collect them."""

import json
import logging
import sys
from datetime import UTC, datetime

FORMATS = ("text", "json")

LEVELS = {"problems": logging.WARNING, "requests": logging.INFO}
"""What is logged: only what somebody must look at, or every request as well."""


class _Lines(logging.Formatter):
    """When, how bad, who says it, what; then what is known of the request."""

    def format(self, record: logging.LogRecord) -> str:
        said = getattr(record, "said", {})
        known = "".join(f" {name}={value}" for name, value in said.items())
        text = f"{_moment(record)} {record.levelname.lower()} {record.name}: {_line(record.getMessage())}{known}"
        return text if record.exc_info is None else f"{text}\n{self.formatException(record.exc_info)}"


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


def set_up(what: str, form: str, names: logging.Filter) -> None:
    """Sends what `quoter` and its server log to the standard error; `names` adds which request it is about."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(_Json() if form == "json" else _Lines())
    handler.addFilter(names)
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(logging.WARNING)
    logging.getLogger("quoter").setLevel(LEVELS[what])


def _moment(record: logging.LogRecord) -> str:
    return datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _line(text: str) -> str:
    """Without line breaks, so that nobody writes lines of their own into the log."""
    return text.encode("unicode_escape").decode() if any(sign in text for sign in "\r\n\x1b") else text
