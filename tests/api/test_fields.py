"""What counts as a whole number in a query, and as a moment."""

import datetime as dt

import pytest
from marshmallow import ValidationError

from quoter.api.http.fields import Line, Lines, Mailbox, Moment, Phone, Truth, WholeNumber
from quoter.records.quotes import Contact
from quoter.service.enquiries.asking import Written, refusals_of

from .problems import problem
from .running import Service


@pytest.mark.parametrize(
    "text", ["1_0", " 10", "10 ", "+10", "010", "１０", "1e1", "1.0", "", "0x1", "9" * 5000, "--1"]
)
def test_numbers_in_a_query_are_digits(text: str):
    """Nothing else that Python would take for a number."""
    with pytest.raises(ValidationError):
        WholeNumber().deserialize(text)


@pytest.mark.parametrize(("text", "number"), [("0", 0), ("10", 10), ("-3", -3)])
def test_digits_are_a_number(text: str, number: int):
    """As written."""
    assert WholeNumber().deserialize(text) == number


@pytest.mark.parametrize("query", ["limit=1_0", "limit=+5", "limit=%205", "limit=%EF%BC%95"])
def test_a_limit_is_digits(shared: Service, query: str):
    """Over HTTP."""
    problem(shared.caller("desk").get(f"/v1/quotes?{query}"), 422, "invalid-request")


@pytest.mark.parametrize("field", [Line, Lines, Mailbox, Phone])
@pytest.mark.parametrize("value", [5, True, ["a"], {}])
def test_what_is_no_text_is_said_to_be_none(field: type[Line], value: object):
    """As of every other text: a number has no control characters."""
    with pytest.raises(ValidationError) as refused:
        field().deserialize(value)
    assert refused.value.messages == ["Not a valid string."]


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        (Line, "a\nb", "Not a text of one line."),
        (Lines, "ring\x07", "Not a text: it has control characters."),
        (Mailbox, "nobody", "Not an address such as name@example.org."),
        (Mailbox, "no\u200bbody@example.org", "Not an address such as name@example.org."),
        (Phone, "abc", "Not a phone number of digits, such as +353 1 555 0100."),
        (Phone, "1\n234", "Not a text of one line."),
    ],
)
def test_a_text_with_other_signs_is_told_what_would_be_right(field: type[Line], text: str, said: str):
    """Each kind of text in its own words."""
    with pytest.raises(ValidationError) as refused:
        field().deserialize(text)
    assert refused.value.messages == [said]


@pytest.mark.parametrize(
    ("text", "is_one"),
    [
        ("", True),
        (" ", True),
        (" +353 1 555 0100 ", True),
        ("(0171) 555/12-3.4", True),
        ("\u0660\u0661\u0665\u0665", True),
        ("1234", True),
        ("123", False),
        ("++353 1 555 0100", False),
        ("555 0100 ext 5", False),
        ("----", False),
    ],
)
def test_numbers_of_phones(text: str, is_one: bool):
    """The same for a quote's contact and an enquiry's; blank is none, which may be."""
    asked = Written(contact=Contact(phone=text, email="a@example.org"), may_be_contacted=True)
    assert (refusals_of(asked.tidied(), from_form=False) == ()) == is_one
    if is_one:
        assert Phone().deserialize(text) == text
    else:
        with pytest.raises(ValidationError):
            Phone().deserialize(text)


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2026-11-25T10:00:00Z", dt.datetime(2026, 11, 25, 10, tzinfo=dt.UTC)),
        ("2026-11-25t10:00:00z", dt.datetime(2026, 11, 25, 10, tzinfo=dt.UTC)),
        ("2026-11-25T10:00:00.25+01:00", dt.datetime(2026, 11, 25, 9, 0, 0, 250_000, tzinfo=dt.UTC)),
        ("2026-11-25T10:00:00.123456789-00:00", dt.datetime(2026, 11, 25, 10, 0, 0, 123_456, tzinfo=dt.UTC)),
    ],
)
def test_moments(text: str, moment: dt.datetime):
    """RFC 3339 section 5.6, with its capital or small letters."""
    assert Moment(format="iso").deserialize(text) == moment


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-25",
        "20261125T100000Z",
        "2026-11-25T10Z",
        "2026-11-25T10:00Z",
        "2026-11-25 10:00:00Z",
        "2026-11-25T10:00:00",
        "2026-11-25T10:00:00+0100",
        "2026-11-25T10:00:00,5Z",
        "2026-W48-3T10:00:00Z",
        "2026-02-30T10:00:00Z",
        "2026-11-25T25:00:00Z",
        "2026-11-25T10:00:00Z ",
        1764064800,
    ],
)
def test_other_forms_of_a_moment_are_refused(text: object):
    """ISO 8601 has many; the API says that it takes one."""
    with pytest.raises(ValidationError):
        Moment(format="iso").deserialize(text)


@pytest.mark.parametrize("sign", ["\u202a", "\u202e", "\u2066", "\u2069", "\u0085", "\u009b", "\u2028"])
def test_a_line_is_not_turned_around(sign: str):
    """Unicode Standard Annex 9, section 2: what is read would not be what is kept."""
    with pytest.raises(ValidationError):
        Line().deserialize(f"Quill{sign}feather")
    assert Line().deserialize("\u05d0\u05d1 \u200f(1)") == "\u05d0\u05d1 \u200f(1)"


@pytest.mark.parametrize("text", ["\u200b@\u200b", "a@b\u200b.example", "\ufeffa@b.example", "a\u202e@b.example"])
def test_an_address_of_mail_can_be_seen(text: str):
    """All of it."""
    with pytest.raises(ValidationError):
        Mailbox().deserialize(text)


@pytest.mark.parametrize("text", ["", "name@example.org", "ren\u00e9e@stra\u00dfe.example", "\u7528@\u4f8b.example"])
def test_an_address_of_mail_may_be_in_any_script(text: str):
    """RFC 6531."""
    assert Mailbox().deserialize(text) == text


@pytest.mark.parametrize("value", [0, 1, 0.0, 1.0, "true", "false", "", "on", None, [], {}])
def test_only_true_and_false_are_true_or_false(value: object):
    """Python's 0 == False would let a number pass, which the description forbids."""
    with pytest.raises(ValidationError):
        Truth().deserialize(value)
    assert (Truth().deserialize(True), Truth().deserialize(False)) == (True, False)


@pytest.mark.parametrize("number", [0, 1])
def test_a_number_does_not_pause_a_webhook(service: Service, number: int):
    """Nor end its pause."""
    owner = service.caller("owner")
    made = owner.post("/v1/webhooks", {"address": "https://books.example.org/told", "events": ["quote.issued"]})
    reply = owner.send("PATCH", made.headers["Location"], b'{"paused": %d}' % number, If_Match=made.headers["ETag"])
    assert [each["pointer"] for each in problem(reply, 422, "invalid-value")] == ["/paused"]
