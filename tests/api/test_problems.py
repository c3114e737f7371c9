"""Bad input: each gets a clear problem that names the place, never a stack trace, never a stored half quote."""

from collections.abc import Iterator
from typing import Any

import orjson
import pytest

from quoter.api.http.problem_document import TITLES
from quoter.api.prices.offline import read_json
from quoter.problems import Unreadable

from .problems import has_a_page, pointers, problem
from .running import BATTERY, Caller, Service

JOB_PATHS = ("/v1/prices", "/v1/quotes")


@pytest.fixture(scope="module")
def desk(shared: Service) -> Caller:
    """Somebody at the front desk."""
    return shared.caller("desk")


@pytest.fixture(autouse=True)
def _nothing_is_kept(shared: Service) -> Iterator[None]:
    before = shared.kept()
    yield
    assert shared.kept() == before


def repair(**members: Any) -> dict[str, Any]:
    """A job of one repair."""
    return BATTERY | {"repairs": [{"procedure": "battery"} | members]}


@pytest.mark.parametrize("path", JOB_PATHS)
@pytest.mark.parametrize(
    ("job", "code", "pointer"),
    [
        (BATTERY | {"device": "brick"}, "unknown-code", "/device"),
        (BATTERY | {"device": "kessoway-5\u0000"}, "unknown-code", "/device"),
        (repair(procedure="polish"), "unknown-code", "/repairs/0/procedure"),
        (repair(grade="gold"), "unknown-code", "/repairs/0/grade"),
        (repair(part="X"), "unknown-code", "/repairs/0/part"),
        (BATTERY | {"findings": ["haunted"]}, "unknown-code", "/findings/0"),
        (BATTERY | {"parts": {"engine": None}}, "unknown-code", "/parts/engine"),
        (BATTERY | {"parts": {"a/b~c": "X"}}, "unknown-code", "/parts/a~1b~0c"),
        ({"device": "jelluth-strap", "repairs": [{"procedure": "screen"}]}, "not-offered", "/repairs/0/procedure"),
        (repair(part="QK4-CEL-G"), "part-does-not-fit", "/repairs/0/part"),
        (BATTERY | {"parts": {"seal": "QK4-SEA-G"}}, "part-does-not-fit", "/parts/seal"),
        (repair(grade="reclaimed"), "grade-not-available", "/repairs/0/grade"),
        (BATTERY | {"repairs": BATTERY["repairs"] * 2}, "given-twice", "/repairs/1/procedure"),
        (BATTERY | {"findings": ["liquid", "liquid"]}, "given-twice", "/findings/1"),
        (BATTERY | {"discount": {"rate": "-0.01"}}, "out-of-range", "/discount/rate"),
        (BATTERY | {"discount": {"rate": "1.01"}}, "out-of-range", "/discount/rate"),
        (BATTERY | {"discount": {"rate": "999999999999.99"}}, "out-of-range", "/discount/rate"),
        (BATTERY | {"date": "1969-12-31"}, "out-of-range", "/date"),
        (BATTERY | {"date": "9999-12-31"}, "out-of-range", "/date"),
        (BATTERY | {"date": "0001-01-01"}, "out-of-range", "/date"),
        (BATTERY | {"findings": ["leaking-or-hot-cell"]}, "stopped-by-finding", "/findings/0"),
    ],
)
def test_a_job_that_the_book_refuses(desk: Caller, path: str, job: Any, code: str, pointer: str):
    """A reason and a place, for a price as for a quote."""
    assert pointer in pointers(desk.post(path, job), 422, code)


@pytest.mark.parametrize("path", JOB_PATHS)
@pytest.mark.parametrize(
    ("job", "pointer"),
    [
        (None, ""),
        (7, ""),
        ("battery", ""),
        ({}, "/device"),
        ({}, "/repairs"),
        ({"device": "kessoway-5"}, "/repairs"),
        (BATTERY | {"device": ""}, "/device"),
        (BATTERY | {"device": "x" * 65}, "/device"),
        (BATTERY | {"device": None}, "/device"),
        (BATTERY | {"device": ["kessoway-5"]}, "/device"),
        (BATTERY | {"repairs": []}, "/repairs"),
        (BATTERY | {"repairs": {}}, "/repairs"),
        (BATTERY | {"repairs": None}, "/repairs"),
        (BATTERY | {"repairs": [None]}, "/repairs/0"),
        (BATTERY | {"repairs": [[]]}, "/repairs/0"),
        (BATTERY | {"repairs": ["battery"]}, "/repairs/0"),
        (BATTERY | {"repairs": [{"procedure": "battery"}] * 51}, "/repairs"),
        (repair(procedure=None), "/repairs/0/procedure"),
        (repair(grade=7), "/repairs/0/grade"),
        (BATTERY | {"parts": []}, "/parts"),
        (BATTERY | {"parts": None}, "/parts"),
        (BATTERY | {"parts": {"battery": 7}}, "/parts/battery"),
        (BATTERY | {"parts": {"": "X"}}, "/parts/"),
        (BATTERY | {"parts": {"value": 7}}, "/parts/value"),
        (BATTERY | {"parts": {f"s{n}": None for n in range(51)}}, "/parts"),
        (BATTERY | {"findings": "swollen-cell"}, "/findings"),
        (BATTERY | {"findings": [{}]}, "/findings/0"),
        (BATTERY | {"findings": ["swollen-cell"] * 101}, "/findings"),
        (BATTERY | {"customer": None}, "/customer"),
        (BATTERY | {"customer": "consumer"}, "/customer"),
        (BATTERY | {"customer": {"kind": "friend"}}, "/customer/kind"),
        (BATTERY | {"customer": {"kind": None}}, "/customer/kind"),
        (BATTERY | {"urgency": "yesterday"}, "/urgency"),
        (BATTERY | {"urgency": True}, "/urgency"),
        (BATTERY | {"payment": None}, "/payment"),
        (BATTERY | {"discount": {}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": 0.1}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": 1}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": True}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": None}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": ""}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": "NaN"}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": "Infinity"}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": "1e-1"}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": "1E400"}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": "0,1"}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": " 0.1"}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": "0.1\n"}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": "0_1"}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": "٠.١"}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": "1" * 40}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": "0." + "1" * 40}}, "/discount/rate"),
        (BATTERY | {"discount": {"rate": "0.1", "reason": "x" * 201}}, "/discount/reason"),
        (BATTERY | {"discount": {"rate": "0.1", "reason": 7}}, "/discount/reason"),
        (BATTERY | {"date": "2026-02-30"}, "/date"),
        (BATTERY | {"date": "2026-03-02T10:00:00Z"}, "/date"),
        (BATTERY | {"date": "20260302"}, "/date"),
        (BATTERY | {"date": 20260302}, "/date"),
        (BATTERY | {"locale": "en-ZZ"}, "/locale"),
        (BATTERY | {"locale": "xx"}, "/locale"),
        (BATTERY | {"locale": "../../etc"}, "/locale"),
        (BATTERY | {"locale": 7}, "/locale"),
        (BATTERY | {"value": 1}, "/value"),
        (BATTERY | {"key": 1}, "/key"),
        (BATTERY | {"__proto__": {}}, "/__proto__"),
    ],
)
def test_a_body_that_is_not_of_the_form_of_a_job(desk: Caller, path: str, job: Any, pointer: str):
    """Each wrong value at its own field."""
    assert pointer in pointers(desk.post(path, job), 422, "invalid-value")


@pytest.mark.parametrize("path", JOB_PATHS)
@pytest.mark.parametrize("number", ["9" * 40, "1e300", "0." + "3" * 40])
def test_a_json_number_of_any_length_is_no_rate(desk: Caller, path: str, number: str):
    """It has been a binary float by the time somebody looks at it."""
    content = f'{{"device": "kessoway-5", "repairs": [{{"procedure": "battery"}}], "discount": {{"rate": {number}}}}}'
    assert pointers(desk.send("POST", path, content.encode()), 422, "invalid-value") == ["/discount/rate"]


def test_a_list_of_lists_is_refused_job_by_job(desk: Caller):
    """A list is no job; alone or in a list."""
    (inner,) = desk.post("/v1/prices", [[BATTERY]]).body
    assert inner["errors"][0]["pointer"] == ""
    assert pointers(desk.post("/v1/quotes", [BATTERY]), 422, "invalid-value") == [""]


def test_an_unknown_field_is_told_the_fields_that_there_are(desk: Caller):
    """Somebody has misspelt one."""
    (error,) = problem(desk.post("/v1/quotes", BATTERY | {"repair": []}), 422, "invalid-value")
    for field in ("device", "repairs", "parts", "findings", "customer", "urgency", "discount", "payment", "date"):
        assert field in error["detail"]
        assert field in error["allowed"]


@pytest.mark.parametrize("path", JOB_PATHS)
@pytest.mark.parametrize(
    "content",
    [
        b"",
        b" ",
        b"{",
        b"battery",
        b"{'device': 1}",
        b'{"device": "kessoway-5",}',
        b'{"discount": {"rate": NaN}}',
        b'{"discount": {"rate": Infinity}}',
        b'{"discount": {"rate": 1e400}}',
        b'{"discount": {"rate": ' + b"9" * 400 + b"}}",
        b'{"discount": {"rate": 0x10}}',
        b"\xef\xbb\xbf{}",
        b"\xff\xfe{\x00}\x00",
        b'{"device": "\xff"}',
        b'{"device": "\\ud800"}',
        b'{"device": "a\nb"}',
        b"[" * 200_000,
        b'{"a":' * 200_000,
        b"[" * 100_000 + b"]" * 100_000,
        b'{"device": "kessoway-5"} {}',
        b"\x00",
    ],
    ids=lambda content: repr(content[:24]),
)
def test_a_body_that_is_not_json(desk: Caller, path: str, content: bytes):
    """Malformed, empty, not UTF-8, with a byte-order mark, a half surrogate, nested without end, or no number."""
    problem(desk.send("POST", path, content), 400, "unreadable")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (
            b'{"device":\n  kessoway}',
            "not JSON in UTF-8: unexpected character, expected a JSON value: line 2 column 3 (char 13)",
        ),
        (b"{", "not JSON in UTF-8: unexpected end of data: line 1 column 2 (char 1)"),
        (b'{"a":\n' + b"9" * 6000 + b"}", "a number is too long or too large: line 2 column 1 (char 6)"),
        (b"[1e400]", "a number is too long or too large: line 1 column 2 (char 1)"),
        (b'{"device": "a", "discount": 5, "discount": 50}', 'an object has the name "discount" twice'),
        (b'{"%s": 1, "%s": 2}' % (2 * (b"x" * 5000,)), f'an object has the name "{"x" * 60}" twice'),
        (b"{%s}" % b",".join(b'"k%d":1' % (i % 60_000) for i in range(60_001)), 'an object has the name "k0" twice'),
        (b"[" * 1000 + b"]" * 1000, "its lists and objects lie in each other too deep"),
        (b'[{"job": {"\\u0061": 1, "a": [1, 2.5e3]}}]', 'an object has the name "a" twice'),
    ],
    ids=lambda each: repr(each[:12]),
)
def test_where_a_body_is_not_json_is_said(desk: Caller, content: bytes, said: str):
    """As on the command line. A number of any length is JSON (RFC 8259, section 6), though not one that is taken; names
    are unique by I-JSON (RFC 7493, section 2.3), also where one is written with an escape."""
    refused = desk.send("POST", "/v1/prices", content)
    problem(refused, 400, "unreadable")
    assert refused.body["detail"] == f"the body: {said}"
    with pytest.raises(Unreadable) as told:
        read_json(content, "the body")
    assert str(told.value) == f"the body: {said}"


@pytest.mark.parametrize("path", JOB_PATHS)
@pytest.mark.parametrize(
    "content_type",
    [
        "text/plain",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "application/xml",
        "",
        "json",
    ],
)
def test_a_body_of_another_content_type(desk: Caller, path: str, content_type: str):
    """Only JSON is read."""
    problem(desk.send("POST", path, orjson.dumps(BATTERY), Content_Type=content_type), 415, "wrong-content-type")


@pytest.mark.parametrize("path", JOB_PATHS)
@pytest.mark.parametrize("size", [2_000_001, 10_000_000])
def test_a_body_that_is_too_large(desk: Caller, path: str, size: int):
    """It is not even looked at; how large it may be is said."""
    reply = desk.send("POST", path, b" " * size)
    problem(reply, 413, None)
    assert "2000000 bytes" in reply.body["detail"]


def test_a_body_of_the_largest_size_is_read(desk: Caller):
    """Both sides of the boundary."""
    content = orjson.dumps(BATTERY)
    assert desk.send("POST", "/v1/prices", content + b" " * (2_000_000 - len(content))).status == 200


@pytest.mark.parametrize(
    ("query", "pointers_expected"),
    [
        ("limit=0", ["/limit"]),
        ("limit=101", ["/limit"]),
        ("limit=-1", ["/limit"]),
        ("limit=1.5", ["/limit"]),
        ("limit=ten", ["/limit"]),
        ("limit=NaN", ["/limit"]),
        ("limit=" + "9" * 40, ["/limit"]),
        ("limit=" + "9" * 5000, ["/limit"]),
        ("limit=1&limit=2", ["/limit"]),
        ("limit", ["/limit"]),
        ("after=", ["/after"]),
        ("after=garbage!", ["/after"]),
        ("after=%FF%00", ["/after"]),
        ("after=" + "A" * 1000, ["/after"]),
        ("after=YWJj", ["/after"]),
        ("after=_-_-", ["/after"]),
        ("state=lost", ["/state"]),
        ("since=today", ["/since"]),
        ("since=2026-13-01", ["/since"]),
        ("until=9999-12-31", ["/until"]),
        ("since=0001-01-01", ["/since"]),
        ("words=" + "x" * 201, ["/words"]),
        ("words=" + "%25" * 60_000, ["/words"]),
        ("device=" + "x" * 65, ["/device"]),
        ("page=2", ["/page"]),
        ("page=2&state=lost&limit=0&number=1&number=2", ["/limit", "/number", "/page", "/state"]),
    ],
    ids=lambda value: str(value)[:30],
)
def test_parameters_that_are_not_right(desk: Caller, query: str, pointers_expected: list[str]):
    """All of them at once: unknown ones, repeated ones, those out of range."""
    assert sorted(pointers(desk.get(f"/v1/quotes?{query}"), 422, "invalid-request")) == pointers_expected


def test_a_wrong_state_is_told_the_states(desk: Caller):
    """The values that would be right."""
    (error,) = problem(desk.get("/v1/quotes?state=lost"), 422, "invalid-request")
    assert error["allowed"] == ["issued", "accepted", "declined", "withdrawn", "expired"]


@pytest.mark.parametrize("path", ["/v1/prices", "/v1/devices", "/v1/devices/kessoway-5"])
def test_an_unknown_parameter_is_refused_everywhere(desk: Caller, path: str):
    """Somebody thinks that it has an effect."""
    reply = desk.get(f"{path}?colour=red") if "devices" in path else desk.post(f"{path}?colour=red", BATTERY)
    assert pointers(reply, 422, "invalid-request") == ["/colour"]


@pytest.mark.parametrize(
    ("method", "path", "allow"),
    [
        ("GET", "/v1/prices", {"POST", "OPTIONS"}),
        ("DELETE", "/v1/quotes", {"GET", "HEAD", "POST", "OPTIONS"}),
        ("PUT", "/v1/quotes/1", {"GET", "HEAD", "OPTIONS"}),
        ("PATCH", "/v1/devices", {"GET", "HEAD", "OPTIONS"}),
        ("POST", "/healthz", {"GET", "HEAD", "OPTIONS"}),
        ("BREW", "/v1/prices", {"POST", "OPTIONS"}),
    ],
)
def test_another_method_is_told_those_that_are_allowed(desk: Caller, method: str, path: str, allow: set[str]):
    """RFC 9110 section 15.5.6: a 405 has the header Allow."""
    reply = desk.send(method, path)
    problem(reply, 405, None)
    assert reply.body["detail"] == f"{method} is not among the methods of {path}: {', '.join(sorted(allow))}"
    assert {each.strip() for each in reply.headers["Allow"].split(",")} == allow


@pytest.mark.parametrize(
    "path",
    ["/v1", "/v2/prices", "/v1/prices/", "/V1/prices", "/v1/quote", "/static/none.css", "/static/../app.py", "/%00"],
)
def test_a_path_that_leads_nowhere(desk: Caller, path: str):
    """404 as a problem, not as a page, that says where to look."""
    reply = desk.get(path)
    problem(reply, 404, None)
    there = f"no {path}" if path.startswith("/v1") else "nothing at this address"
    assert reply.body["detail"] == f"there is {there}; /openapi.json lists all calls"


def test_of_what_is_asked_for_a_problem_repeats_little(desk: Caller):
    """Its beginning, written as in an address, of a path (RFC 3986 section 2.1) as of a method."""
    reply = desk.get("/v1/%0A%3Cb%3E" + "x" * 5000)
    problem(reply, 404, None)
    assert reply.body["detail"] == f"there is no /v1/%0A%3Cb%3E{'x' * 46}…; /openapi.json lists all calls"
    reply = desk.send("X" * 200, "/v1/prices")
    problem(reply, 405, None)
    assert reply.body["detail"] == f"{'X' * 60}… is not among the methods of /v1/prices: OPTIONS, POST"


@pytest.mark.parametrize("path", ["/v1/quotes/none", "/v1/quotes/%00", "/v1/quotes/" + "x" * 5000, "/v1/quotes/%FF"])
def test_a_quote_that_is_not_there(desk: Caller, path: str):
    """404, whatever the id looks like."""
    problem(desk.get(path), 404, "not-found")


def test_a_device_that_is_not_there_is_told_those_that_are(desk: Caller):
    """404, with codes that would be right."""
    (error,) = problem(desk.get("/v1/devices/brick"), 404, "not-found")
    assert "kessoway-5" in error["allowed"]


def test_a_head_is_answered_without_a_body(desk: Caller):
    """The same headers as of GET."""
    head, get = desk.send("HEAD", "/v1/devices"), desk.get("/v1/devices")
    assert (head.status, head.text) == (200, "")
    assert head.headers["Content-Length"] == get.headers["Content-Length"]


@pytest.mark.parametrize("header", ["garbage;;;", "q=", "de;q=2", "x" * 10_000, "de," * 3_000, "*;q=0", "en-ZZ", ""])
def test_a_language_that_cannot_be_read_counts_as_none(desk: Caller, header: str):
    """Then the book's locale is used; nobody is refused for a header that a browser wrote."""
    assert desk.post("/v1/prices", BATTERY, Accept_Language=header).body["locale"] == "en-IE"


@pytest.mark.parametrize("code", TITLES)
def test_every_type_of_problem_has_a_page(shared: Service, code: str):
    """At the address that is its type."""
    assert has_a_page(shared.caller(None), code)


def test_an_unknown_type_of_problem_has_none(shared: Service):
    """And says which there are."""
    (error,) = problem(shared.caller(None).get("/problems/none"), 404, "not-found")
    assert error["allowed"] == list(TITLES)
