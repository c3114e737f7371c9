"""What is taken for a request: framed so that nobody in front can read it otherwise, and no larger than is kept."""

import json
import re
from http import HTTPStatus
from typing import Any

from waitress.buffers import OverflowableBuffer
from waitress.parser import HTTPRequestParser, ParsingError, TransferEncodingNotImplemented
from waitress.receiver import ChunkedReceiver, FixedStreamReceiver
from waitress.utilities import BadRequest

from quoter.api.http.problem_document import CONTENT_TYPE

VERSIONS = ("1.0", "1.1")

CHUNKED = b"chunked"

LONGEST_CHUNK_LINE, LONGEST_TRAILER = 1_024, 8_192
"""Bytes; the line before a chunk says its length, and what follows the last one says nothing that is asked for."""

LONGEST_DETAIL = 200

DETAILS = {413: "The body is larger than anything that is taken here", 431: "The headers are too long"}
"""In words that say no more than is needed."""

HOST = re.compile(r"(\[[0-9a-f:.]{2,45}\]|[0-9a-z._~!$&'()*+,;=%-]{0,255})(:[0-9]{0,5})?", re.ASCII | re.IGNORECASE)
"""RFC 9110, 7.2: a name or an address, and a port."""

_FRAMING = re.compile(rb"^(host|content-length|transfer-encoding):(.*)$", re.IGNORECASE | re.MULTILINE)

_FOLDED = re.compile(rb"\r\n[ \t]")


class Parser(HTTPRequestParser):  # type: ignore[misc]
    """Reads a request and refuses every one whose end or whose host two programs could see in two places."""

    def __init__(self, adj: Any, most_bytes_kept: int) -> None:
        super().__init__(adj)
        self._error: RefusedUnread | None = None
        self._most_bytes_kept = most_bytes_kept

    @property
    def error(self) -> "RefusedUnread | None":
        """Why it is refused, as a problem document."""
        return self._error

    @error.setter
    def error(self, found: Any) -> None:
        self._error = RefusedUnread(found.code, found.body)

    def parse_header(self, header_plus: bytes) -> None:
        """Raises ParsingError, which is answered with 400, where there is any doubt."""
        framing = _framing(header_plus)
        try:
            super().parse_header(header_plus)
        except TransferEncodingNotImplemented as error:
            raise ParsingError(*error.args) from None
        except ValueError:  # an address or a length that Python cannot read
            raise ParsingError("The first line or a length cannot be read") from None
        self._check_target()
        self._check_framing(framing)
        if self.chunked or self.content_length > 0:
            is_too_much = self.content_length > self._most_bytes_kept
            kept = Kept(0 if is_too_much else self._most_bytes_kept, self.adj.inbuf_overflow)
            self.body_rcv = BriefChunks(kept) if self.chunked else FixedStreamReceiver(self.content_length, kept)

    def _check_target(self) -> None:
        """RFC 9112, 3.2: a path, an address of this service, or * for OPTIONS; the host of an address counts."""
        if self.version not in VERSIONS:
            raise ParsingError("This service speaks HTTP/1.1 and HTTP/1.0")
        if self.proxy_netloc:
            if self.proxy_scheme.lower() not in ("http", "https"):
                raise ParsingError("The target is not an address of this service")
            self.headers["HOST"] = self.proxy_netloc
        elif not (self.path.startswith("/") or (self.command, self.path) == ("OPTIONS", "*")):
            raise ParsingError("The target is neither a path nor an address")

    def _check_framing(self, framing: dict[str, list[bytes]]) -> None:
        """RFC 9112, 3.2 (host), 6.1 and 6.3 (length)."""
        hosts, codings = framing["host"], framing["transfer-encoding"]
        if len(hosts) > 1 or (self.version == "1.1" and not hosts):
            raise ParsingError("One Host is needed, and no more")
        if not HOST.fullmatch(self.headers.get("HOST", "")):
            raise ParsingError("Host is neither a name nor an address")
        if codings and (self.version != "1.1" or codings != [CHUNKED]):
            raise ParsingError("No Transfer-Encoding but chunked is understood, once, in HTTP/1.1")
        if codings and framing["content-length"]:
            raise ParsingError("Transfer-Encoding and Content-Length contradict each other")


def _framing(header_plus: bytes) -> dict[str, list[bytes]]:
    """The values of the headers on which it depends where a request ends and whom it is for, a line each."""
    if _FOLDED.search(header_plus):
        raise ParsingError("A header goes on over several lines")  # RFC 9112, 5.2
    found: dict[str, list[bytes]] = {"host": [], "content-length": [], "transfer-encoding": []}
    for name, value in _FRAMING.findall(header_plus):
        found[name.decode().lower()].append(value.strip(b" \t\r").lower())
    return found


class RefusedUnread:
    """The answer to what is no request that the app could see, as `waitress` asks for it."""

    def __init__(self, code: int, detail: str) -> None:
        plain = "".join(sign for sign in detail if sign.isprintable())
        self.code, self.detail = code, DETAILS.get(code, plain[:LONGEST_DETAIL])

    def to_response(self, ident: object = None) -> tuple[str, list[tuple[str, str]], bytes]:
        """Status, headers and body."""
        title = HTTPStatus(self.code).phrase
        document = {"type": "about:blank", "title": title, "status": self.code, "detail": self.detail}
        headers = [("Content-Type", CONTENT_TYPE), ("Cache-Control", "no-store"), ("X-Content-Type-Options", "nosniff")]
        return f"{self.code} {title}", headers, json.dumps(document).encode()


class Kept(OverflowableBuffer):  # type: ignore[misc]
    """A body, of which no more is kept than the app takes; the rest is counted, so that the app refuses it."""

    def __init__(self, most: int, overflow: int) -> None:
        super().__init__(overflow)
        self._most, self._counted = most, 0

    def append(self, data: bytes) -> None:
        """More of it."""
        self._counted += len(data)
        if self._counted <= self._most:
            super().append(data)

    def __len__(self) -> int:
        """How much has come."""
        return self._counted


class BriefChunks(ChunkedReceiver):  # type: ignore[misc]
    """A body in chunks, without lines that never end."""

    def received(self, data: bytes) -> int:
        """How much of it belongs to the body."""
        taken: int = super().received(data)
        if len(self.control_line) > LONGEST_CHUNK_LINE or len(self.trailer) > LONGEST_TRAILER:
            self.error = BadRequest("A line between chunks is too long")
        return taken
