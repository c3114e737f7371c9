"""Events as sentences: each whole, each place filled."""

from string import Formatter

import pytest

from quoter.messages import Message
from quoter.records.quotes import BY_CUSTOMER, BY_TIME, EVENT_KINDS, QuoteEvent
from quoter.service.quotes.telling import ACCEPTED, ACCEPTED_BY_LINK, SENTENCES, events_told


def event(kind: str, by: str = "front desk", **data: object) -> QuoteEvent:
    """An event of the second revision."""
    return QuoteEvent(quote="1", version=2, kind=kind, revision=2, at="", by=by, data=data)


@pytest.mark.parametrize(
    ("happened", "told"),
    [
        (event("issued"), "front desk issued the quote."),
        (event("revised", covered=False, reason="swollen"), "front desk issued revision 2: swollen"),
        (
            event("revised", covered=True, reason="swollen"),
            "front desk issued revision 2, which what was agreed to covers: swollen",
        ),
        (event("accepted", up_to="price", name="A"), "A accepted revision 2; recorded by front desk."),
        (
            event("accepted", up_to="ceiling", name="A", extra="42.00"),
            "A accepted revision 2 up to its ceiling and to pay € 42.00 more than agreed before; "
            "recorded by front desk.",
        ),
        (event("accepted", BY_CUSTOMER, up_to="price", name="A"), "A accepted revision 2 on the customer's page."),
        (
            event("accepted", BY_CUSTOMER, up_to="ceiling", name="A", extra="42.00"),
            "A accepted revision 2 up to its ceiling and to pay € 42.00 more than agreed before, "
            "on the customer's page.",
        ),
        (event("declined", BY_CUSTOMER, name="A"), "A declined revision 2 on the customer's page."),
        (event("declined", name="A"), "A declined revision 2; recorded by front desk."),
        (event("declined"), "— declined revision 2; recorded by front desk."),
        (event("withdrawn", name="B"), "B withdrew revision 2; recorded by front desk."),
        (event("contact-changed", fields=["name"]), "front desk changed how the customer is reached."),
        (
            event("link-replaced"),
            "front desk replaced the customer's link; the old one leads nowhere any more.",
        ),
        (
            event("contact-erased", because="asked"),
            "front desk erased how the customer is reached, names and notes; the link leads nowhere.",
        ),
        (
            event("contact-erased", BY_TIME, because="time"),
            "How the customer is reached, names and notes were erased, as their time was over; the link leads nowhere.",
        ),
    ],
)
def test_an_event_is_told_in_a_sentence(happened: QuoteEvent, told: str):
    """Also where the name has been erased since."""
    (message,) = events_told([happened], lambda amount, of: f"€ {amount}")
    assert message.text.format_map(message.parameters) == told


def test_every_kind_has_a_sentence():
    """Accepted has one for each way of accepting, and some kinds have a second one."""
    assert {*SENTENCES, "accepted"} == {*EVENT_KINDS, "covered", "declined-by-link", "erased-in-time"}


@pytest.mark.parametrize(
    "sentence", [*SENTENCES.values(), *ACCEPTED.values(), *ACCEPTED_BY_LINK.values()], ids=lambda each: each.text
)
def test_a_sentence_has_no_other_places_than_there_are(sentence: Message):
    """And says who did it, or on which page; nobody did what time alone does."""
    places = {name for _, name, _, _ in Formatter().parse(sentence.text) if name}
    assert places <= {"by", "name", "revision", "reason", "extra"}
    is_by_nobody = sentence is SENTENCES["erased-in-time"] or sentence.text.endswith("on the customer's page.")
    assert ("by" in places) != is_by_nobody
