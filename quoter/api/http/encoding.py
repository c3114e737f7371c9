"""Which coding of its content a reader takes (RFC 9110, 12.5.3): gzip or none.

Brotli and Zstandard would each be one more package for a list that gzip makes fifteen times smaller already.
"""

import re

GZIP, IDENTITY = "gzip", "identity"

LONGEST_HEADER = 500
"""Characters; of a longer one nothing is read, as if it had not been sent."""

_CODING = re.compile(
    r"([!#$%&'*+.^_`|~0-9A-Za-z-]+)(?:[ \t]*;[ \t]*[qQ]=(0(?:\.[0-9]{0,3})?|1(?:\.0{0,3})?))?", re.ASCII
)


def coding_for(accept_encoding: str | None) -> str | None:
    """The better of the two for a reader, gzip where both are as good; None where they take neither.

    Without the header anything may be sent; the plain content is what everybody can read.
    """
    if accept_encoding is None or len(accept_encoding) > LONGEST_HEADER:
        return IDENTITY
    weights = _weights(accept_encoding)
    gzip = max(weights.get(name, -1.0) for name in (GZIP, "x-gzip"))
    if gzip < 0:
        gzip = weights.get("*", 0.0)
    identity = weights.get(IDENTITY, weights.get("*", -1.0))
    if gzip > 0 and gzip >= identity:
        return GZIP
    return None if identity == 0 else IDENTITY


def _weights(header: str) -> dict[str, float]:
    """By coding, in lower case; what is malformed says nothing."""
    matches = [_CODING.fullmatch(element.strip(" \t")) for element in header.split(",")]
    return {match[1].lower(): float(match[2] or 1) for match in matches if match}
