"""What nobody sends who means well, by what is wrong with it."""

import gzip
import json
import zlib

from .raw import BATTERY, Running

JOB = json.dumps(BATTERY).encode()
HOST = b"Host: 127.0.0.1\r\n"
KEEP = b"GET /healthz HTTP/1.1\r\n"
POST = b"POST /v1/prices HTTP/1.1\r\n"
ANOTHER = b"GET /v1/devices HTTP/1.1\r\n" + HOST + b"\r\n"
"""What a proxy in front would not know to be a request of its own."""

FRAMED_IN_TWO_WAYS = {
    "two lengths": POST + HOST + b"Content-Length: 5\r\nContent-Length: 6\r\n\r\nabcdef",
    "one length twice": POST + HOST + b"Content-Length: 5\r\nContent-Length: 5\r\n\r\nabcde",
    "lengths in a list": POST + HOST + b"Content-Length: 5, 6\r\n\r\nabcdef",
    "length with a sign": POST + HOST + b"Content-Length: +5\r\n\r\nabcde",
    "negative length": POST + HOST + b"Content-Length: -1\r\n\r\n",
    "length in hexadecimal": POST + HOST + b"Content-Length: 0x5\r\n\r\nabcde",
    "length with an underscore": POST + HOST + b"Content-Length: 1_0\r\n\r\n0123456789",
    "empty length": POST + HOST + b"Content-Length:\r\n\r\n",
    "length of 10,000 digits": POST + HOST + b"Content-Length: " + b"9" * 10_000 + b"\r\n\r\n",
    "length in Arabic digits": POST + HOST + "Content-Length: ٥".encode() + b"\r\n\r\nabcde",
    "length and chunks": POST + HOST + b"Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n" + ANOTHER,
    "chunks and length": POST + HOST + b"Transfer-Encoding: chunked\r\nContent-Length: 99\r\n\r\n0\r\n\r\n",
    "chunks in HTTP/1.0": b"POST /v1/prices HTTP/1.0\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
    "chunked twice": POST + HOST + b"Transfer-Encoding: chunked\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
    "chunked in a list": POST + HOST + b"Transfer-Encoding: chunked, chunked\r\n\r\n0\r\n\r\n",
    "identity": POST + HOST + b"Transfer-Encoding: identity\r\nContent-Length: 5\r\n\r\nabcde",
    "another coding": POST + HOST + b"Transfer-Encoding: gzip\r\n\r\n",
    "chunks within another coding": POST + HOST + b"Transfer-Encoding: chunked, gzip\r\n\r\n0\r\n\r\n",
    "chunked with a tab in it": POST + HOST + b"Transfer-Encoding: \x0bchunked\r\n\r\n0\r\n\r\n",
    "chunked on the next line": POST + HOST + b"Transfer-Encoding:\r\n chunked\r\n\r\n0\r\n\r\n",
    "a blank before the colon": POST + HOST + b"Content-Length : 5\r\n\r\nabcde",
    "chunk of a wrong size": POST + HOST + b"Transfer-Encoding: chunked\r\n\r\n3\r\nabcdef\r\n0\r\n\r\n",
    "chunk size that is no number": POST + HOST + b"Transfer-Encoding: chunked\r\n\r\nzz\r\nabc\r\n0\r\n\r\n",
    "negative chunk": POST + HOST + b"Transfer-Encoding: chunked\r\n\r\n-1\r\n\r\n0\r\n\r\n",
    "chunk size with 0x": POST + HOST + b"Transfer-Encoding: chunked\r\n\r\n0x3\r\nabc\r\n0\r\n\r\n",
    "chunk line without end": POST + HOST + b"Transfer-Encoding: chunked\r\n\r\n" + b"1" * 50_000,
    "chunk extension without end": POST + HOST + b"Transfer-Encoding: chunked\r\n\r\n1;" + b"a" * 50_000,
    "trailer without end": POST + HOST + b"Transfer-Encoding: chunked\r\n\r\n0\r\n" + b"X-A: b\r\n" * 5_000,
    "no host": KEEP + b"\r\n",
    "two hosts": KEEP + HOST + b"Host: shop.example\r\n\r\n",
    "host that is a sentence": KEEP + b"Host: a b c\r\n\r\n",
    "host with a path": KEEP + b"Host: shop.example/v1\r\n\r\n",
    "host with a user": KEEP + b"Host: user@shop.example\r\n\r\n",
    "host with quotes": KEEP + b'Host: "><script>\r\n\r\n',
    "host that is not ASCII": KEEP + "Host: schöner.example".encode() + b"\r\n\r\n",
    "host with a wrong port": KEEP + b"Host: 127.0.0.1:http\r\n\r\n",
    "host of 100 kB": KEEP + b"Host: " + b"a" * 100_000 + b"\r\n\r\n",
    "folded header": KEEP + HOST + b"X-Long: a\r\n b\r\n\r\n",
    "folded first header": KEEP + b" Host: a\r\n\r\n",
    "bare line feed": KEEP + HOST + b"X-A: b\nX-C: d\r\n\r\n",
    "bare carriage return": KEEP + HOST + b"X-A: b\rX-C: d\r\n\r\n",
    "null in a value": KEEP + HOST + b"X-A: b\x00c\r\n\r\n",
    "bell in a value": KEEP + HOST + b"X-A: b\x07c\r\n\r\n",
    "escape in a name": KEEP + HOST + b"X-\x1b[2J: b\r\n\r\n",
    "name that is not ASCII": KEEP + HOST + "Größe: 1".encode() + b"\r\n\r\n",
    "no name": KEEP + HOST + b": b\r\n\r\n",
    "no colon": KEEP + HOST + b"nonsense\r\n\r\n",
    "method in small letters": b"get /healthz HTTP/1.1\r\n" + HOST + b"\r\n",
    "method with a comma": b"GE,T /healthz HTTP/1.1\r\n" + HOST + b"\r\n",
    "no method": b"/healthz HTTP/1.1\r\n" + HOST + b"\r\n",
    "no version": b"GET /healthz\r\n" + HOST + b"\r\n",
    "HTTP/2.0": b"GET /healthz HTTP/2.0\r\n" + HOST + b"\r\n",
    "HTTP/9.9": b"GET /healthz HTTP/9.9\r\n" + HOST + b"\r\n",
    "preface of HTTP/2": b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
    "blank in the target": b"GET /health z HTTP/1.1\r\n" + HOST + b"\r\n",
    "target that is a word": b"GET healthz HTTP/1.1\r\n" + HOST + b"\r\n",
    "target of a tunnel": b"CONNECT shop.example:443 HTTP/1.1\r\n" + HOST + b"\r\n",
    "star for GET": b"GET * HTTP/1.1\r\n" + HOST + b"\r\n",
    "address that is none": b"GET http://[::1/healthz HTTP/1.1\r\n" + HOST + b"\r\n",
    "address of another scheme": b"GET ftp://127.0.0.1/healthz HTTP/1.1\r\n" + HOST + b"\r\n",
    "address with a user": b"GET http://user@127.0.0.1/healthz HTTP/1.1\r\n" + HOST + b"\r\n",
    "TLS": b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(range(256)) + b"\r\n\r\n",
    "nothing but noughts": b"\0" * 1_000 + b"\r\n\r\n",
}
"""Refused with 400 and the end of the connection: RFC 9112, 3.2 (host), 5.1 and 5.2 (lines), 6.1 and 6.3 (length)."""

TARGETS = [
    b"http://127.0.0.1/healthz",
    b"http://shop.example:99/healthz",
    b"//shop.example/healthz",
    b"/%00",
    b"/%2e%2e/%2e%2e/etc/passwd",
    b"/..%2f..%2f..%2fetc%2fpasswd",
    b"/../../../../etc/passwd",
    b"/static/..%2f..%2fapp.py",
    b"/static/%2e%2e/%2e%2e/config.py",
    b"/static/js/..%5c..%5cconfig.py",
    b"/static//etc/passwd",
    b"/static/%00.js",
    b"/%c0%ae%c0%ae/%c0%afetc",
    b"/%ff%fe",
    b"/%ed%a0%80",
    b"/%",
    b"/%zz",
    b"/\xff\xfe",
    b"/%0d%0aSet-Cookie:%20a=b",
    b"/docs%0d%0aX-A:%20b",
    b"/v1/quotes/%00",
    b"/v1/quotes/..%2f..%2fhealthz",
    b"/v1/quotes/%ed%a0%80",
    b"/v1/quotes?number=%00",
    b"/v1/quotes?number=%ff",
    b"/v1/quotes?limit=" + b"9" * 10_000,
    b"/v1/quotes?limit=1e400",
    b"/v1/quotes?limit=NaN",
    b"/v1/quotes?cursor=" + b"A" * 10_000,
    b"/v1/quotes?" + b"a=b&" * 5_000,
    b"/v1/quotes?" + b"&" * 20_000,
    b"/v1/quotes?number=1&number=2",
    b"/v1/devices?q=" + b"%F0%9F%98%80" * 1_000,
    b"/v1/devices?q=%22%2A%20OR%201%3D1",
    b"/v1/devices?book=..%2f..%2fetc",
    b"/q/" + b"A" * 10_000,
    b"/q/%00",
    b"/ask/%00",
    b"/ask/..%2f..",
    b"/problems/..%2f..%2fconfig",
    b"/problems/%00",
    b"/form.js?v=%00",
    b"/sign-in?next=//shop.example",
    b"/sign-in?next=%0d%0aX-A:b",
]

HEADERS = [
    (name, value)
    for name in (b"Idempotency-Key", b"If-Match", b"If-None-Match", b"Accept", b"Accept-Language", b"Accept-Encoding")
    for value in (
        b"",
        b",",
        b";;;;=",
        b'"',
        b'"\\"',
        b'W/"1"',
        b"*, *, *",
        b"\xff\xfe\xfd",
        "ключ".encode(),
        b"a" * 20_000,
        b",".join([b"en;q=0.1"] * 2_000),
        b"*/*;q=" + b"9" * 5_000,
        b'"' + b"9" * 5_000 + b'"',
        b"en-" + b"-".join([b"x"] * 5_000),
        b"x" * 9 + b"-" + b"y" * 9,
        b"../../etc/passwd",
        b"%00%0d%0a",
        b"zh_Hant@x=y.UTF-8",
    )
] + [
    (b"Cookie", b"session=" + b"A" * 20_000),
    (b"Cookie", b"session=\xff\xfe; ; =; a"),
    (b"Cookie", b"; ".join(b"a%d=b" % number for number in range(2_000))),
    (b"Cookie", b'session="\\000\\012\\777"'),
    (b"Authorization", b"Bearer"),
    (b"Authorization", b"Bearer " + b"\xff" * 1_000),
    (b"Authorization", b"Basic OjpA"),
    (b"Authorization", b"Digest " + b'a="b",' * 3_000),
    (b"Origin", b"null"),
    (b"Origin", b"http://[::1"),
    (b"Origin", b"\xff://x:99999"),
    (b"Referer", b"http://[::1"),
    (b"Access-Control-Request-Method", b"\xff"),
    (b"Range", b"bytes=0-" + b"9" * 5_000),
    (b"Range", b"bytes=" + b"0-1," * 3_000),
    (b"If-Modified-Since", b"Mon, 99 Foo 99999 99:99:99 GMT"),
    (b"If-Range", b"\xff"),
    (b"Date", b"9" * 5_000),
    (b"Expect", b"200-ok"),
    (b"Connection", b"upgrade, keep-alive, close"),
    (b"Upgrade", b"h2c"),
    (b"TE", b"trailers, deflate;q=0.5"),
    (b"Max-Forwards", b"9" * 5_000),
    (b"X-Request-Id", b"\xff\x80" + b"a" * 5_000),
    (b"X-HTTP-Method-Override", b"DELETE"),
    (b"Sec-Fetch-Site", b"\xff"),
    (b"Content-Encoding", b"\xff"),
    (b"Proxy", b"http://shop.example"),
    (b"Forwarded", b'for="[::1";proto=;host=a b'),
]

FORWARDED = [
    b":.5",
    b":",
    b"",
    b" ",
    b",",
    b".:",
    b"[",
    b"]",
    b"[]",
    b"[]:80",
    b"[:]",
    b"::.",
    b'"',
    b'""',
    b'"\\"',
    b'"a',
    b'a"',
    b"1.2.3.4:",
    b"1.2.3.4:99999999",
    b":1.2.3.4",
    b"999.999.999.999",
    b"1.2.3.4, :.5",
    b":.5, 1.2.3.4",
    b"fe80::1%eth0",
    b"fe80::1%\xff",
    b"\xff\xfe",
    b"unknown",
    b"_hidden",
    b"a" * 20_000,
    b"1.2.3.4," * 3_000,
    b":." * 10_000,
]
"""What a caller may have said of others, and a proxy passes on."""


def bomb(size: int) -> bytes:
    """Blanks that are JSON, a thousandth of their size."""
    return gzip.compress(b"[" + b" " * size + b"]")


def nested(depth: int, opens: bytes, closes: bytes) -> bytes:
    """JSON within JSON."""
    return opens * depth + b"1" + closes * depth


def job(**values: str) -> bytes:
    """The job, with values as they are written."""
    members = [f'"{name}": {value}' for name, value in values.items()]
    return ('{"device": "kessoway-5", "repairs": [{"procedure": "battery"}], ' + ", ".join(members) + "}").encode()


BODIES = {
    "empty": b"",
    "a word": b"word",
    "half": JOB[:-5],
    "two documents": JOB + JOB,
    "a byte order mark": b"\xef\xbb\xbf" + JOB,
    "UTF-16": JOB.decode().encode("utf-16"),
    "UTF-16, little end first": JOB.decode().encode("utf-16-le"),
    "UTF-32": JOB.decode().encode("utf-32"),
    "UTF-7": b'{"device": +AGEAYg-}',
    "Latin-1": '{"device": "ö"}'.encode("latin-1"),
    "a null": b'{"device": "a\x00b"}',
    "an escaped null": b'{"device": "a\\u0000b", "repairs": []}',
    "overlong UTF-8": b'{"device": "\xc0\xaf"}',
    "a surrogate in UTF-8": b'{"device": "\xed\xa0\x80"}',
    "UTF-8 beyond Unicode": b'{"device": "\xf4\x90\x80\x80"}',
    "a lone surrogate": b'{"device": "\\ud800", "repairs": []}',
    "a lone surrogate as a name": b'{"\\udfff": 1}',
    "surrogates the wrong way round": b'{"device": "\\udc00\\ud800", "repairs": []}',
    "a name twice": b'{"device": "kessoway-5", "device": "dunnec-21", "repairs": [{"procedure": "battery"}]}',
    "lists 100,000 deep": nested(100_000, b"[", b"]"),
    "objects 100,000 deep": nested(100_000, b'{"a":', b"}"),
    "lists 100,000 deep without end": b"[" * 100_000,
    "a deep value": job(customer="[" * 5_000 + "]" * 5_000),
    "10,000 digits": job(urgency="1" * 10_000),
    "10,000 digits for a rate": job(discount='{"rate": ' + "0." + "1" * 10_000 + "}"),
    "10,000 digits in a text": job(discount='{"rate": "' + "1" * 10_000 + '"}'),
    "1e400": job(discount='{"rate": 1e400}'),
    "1e400 in a text": job(discount='{"rate": "1e400"}'),
    "1e999999999 in a text": job(discount='{"rate": "1e999999999"}'),
    "1e-999999999 in a text": job(discount='{"rate": "1e-999999999"}'),
    "NaN": job(discount='{"rate": NaN}'),
    "NaN in a text": job(discount='{"rate": "NaN"}'),
    "sNaN in a text": job(discount='{"rate": "sNaN"}'),
    "Infinity": job(discount='{"rate": -Infinity}'),
    "Infinity in a text": job(discount='{"rate": "-Infinity"}'),
    "minus nought": job(discount='{"rate": -0.0}'),
    "a list of nothing": b"[" + b"null," * 999 + b"null]",
    "many names": b"{" + b",".join(b'"a%d": 1' % number for number in range(50_000)) + b"}",
    "a name of 1 MB": b'{"' + b"a" * 1_000_000 + b'": 1}',
    "a text of 1 MB": job(customer='"' + "a" * 1_000_000 + '"'),
    "a day that never was": job(date='"2026-02-30"'),
    "year 99999": job(date='"99999-01-01"'),
    "turned text": job(customer='"\\u202e\\u2066"'),
}

CODED = {
    "gzip": (gzip.compress(JOB), b"gzip"),
    "a bomb": (bomb(10_000_000), b"gzip"),
    "deflate": (zlib.compress(JOB), b"deflate"),
    "Brotli": (b"\x0b\x02\x80", b"br"),
    "gzip twice": (gzip.compress(gzip.compress(JOB)), b"gzip, gzip"),
    "no gzip": (JOB, b"gzip"),
    "an unknown one": (JOB, b"x-nonsense"),
}

TYPES = [
    b"text/plain",
    b"application/xml",
    b"application/json; charset=utf-16",
    b"application/json; charset=latin-1",
    b"application/json; charset=nonsense",
    b"application/json; charset=" + b"x" * 10_000,
    b"application/json;;;=;",
    b"application/x-www-form-urlencoded",
    b"multipart/form-data",
    b"multipart/form-data; boundary=",
    b"multipart/form-data; boundary=" + b"-" * 5_000,
    b"\xff/\xfe",
    b"*/*",
    b"",
]


def of_group(service: Running, group: str) -> dict[str, bytes]:
    """Requests that are odd in one way, with what is odd about each."""
    if group == "target":
        return {f"{target[:40]!r}": service.request("GET " + target.decode("latin-1")) for target in TARGETS}
    if group == "header":
        lines = [name + b": " + value for name, value in HEADERS]
        return {f"{line[:40]!r} {len(line)}": service.posted(JOB, JSON, line) for line in lines}
    if group == "body":
        return {what: service.posted(body) for what, body in BODIES.items()}
    if group == "type":
        return {f"{kind[:40]!r}": service.posted(JOB, b"Content-Type: " + kind) for kind in TYPES}
    return {what: service.posted(body, JSON, b"Content-Encoding: " + coding) for what, (body, coding) in CODED.items()}


JSON = b"Content-Type: application/json"
