"""Which coding of its content a reader takes."""

import pytest

from quoter.api.http.encoding import LONGEST_HEADER, coding_for


@pytest.mark.parametrize(
    ("header", "coding"),
    [
        # RFC 9110, 12.5.3: "If no Accept-Encoding header field is in the request, any content coding is acceptable"
        (None, "identity"),
        # "an Accept-Encoding header field with a field value that is empty implies that the user agent does not want
        # any content coding"
        ("", "identity"),
        # the examples there
        ("compress, gzip", "gzip"),
        ("*", "gzip"),
        ("compress;q=0.5, gzip;q=1.0", "gzip"),
        ("gzip;q=1.0, identity; q=0.5, *;q=0", "gzip"),
        # what browsers send
        ("gzip, deflate, br, zstd", "gzip"),
        # RFC 9110, 8.4.1.3: x-gzip is equivalent to gzip; 8.4.1: codings are case-insensitive
        ("x-gzip", "gzip"),
        ("GZip;Q=0.8", "gzip"),
        # q=0 is "not acceptable", for gzip itself or for all that are not named
        ("gzip;q=0", "identity"),
        ("*;q=0, identity", "identity"),
        ("gzip;q=0, *", "identity"),
        ("br", "identity"),
        ("br;q=1.0, *;q=0.1", "gzip"),
        # the higher weight wins, gzip where they are equal
        ("gzip;q=0.5, identity", "identity"),
        ("gzip;q=0.5, identity;q=0.5", "gzip"),
        ("gzip;q=0.001", "gzip"),
        # identity is acceptable "unless specifically excluded": by its name, or by * without it
        ("identity;q=0", None),
        ("*;q=0", None),
        ("gzip;q=0, identity;q=0", None),
        ("gzip;q=0, *;q=0", None),
        ("br, identity;q=0", None),
        ("gzip, identity;q=0", "gzip"),
        ("gzip, *;q=0", "gzip"),
        # blanks, and what is malformed says nothing
        (" gzip ; q=0.5 ,\tidentity;q=0.4", "gzip"),
        ("gzip;q=2", "identity"),
        ("gzip;level=9", "identity"),
        (",,;q=1,", "identity"),
        ("gzip" + " " * LONGEST_HEADER, "identity"),
    ],
)
def test_the_coding_is_what_the_header_takes(header: str | None, coding: str | None):
    """RFC 9110, 12.5.3."""
    assert coding_for(header) == coding
