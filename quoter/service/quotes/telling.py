"""What has happened to a quote, told as whole sentences whose words are chosen later."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from decimal import Decimal

from quoter.messages import Message
from quoter.records.quotes import BY_CUSTOMER, BY_TIME, QuoteEvent

Shown = Callable[[Decimal, str], str]

_PRICE = "price"
_CEILING = "ceiling"

ACCEPTED = {
    (_PRICE, False): Message("{name} accepted revision {revision}; recorded by {by}."),
    (_CEILING, False): Message("{name} accepted revision {revision} up to its ceiling; recorded by {by}."),
    (_PRICE, True): Message(
        "{name} accepted revision {revision} and to pay {extra} more than agreed before; recorded by {by}."
    ),
    (_CEILING, True): Message(
        "{name} accepted revision {revision} up to its ceiling and to pay {extra} more than agreed before; "
        "recorded by {by}."
    ),
}
"""By what was accepted, and whether more than before had to be agreed to."""

ACCEPTED_BY_LINK = {
    (_PRICE, False): Message("{name} accepted revision {revision} on the customer's page."),
    (_CEILING, False): Message("{name} accepted revision {revision} up to its ceiling on the customer's page."),
    (_PRICE, True): Message(
        "{name} accepted revision {revision} and to pay {extra} more than agreed before, on the customer's page."
    ),
    (_CEILING, True): Message(
        "{name} accepted revision {revision} up to its ceiling and to pay {extra} more than agreed before, "
        "on the customer's page."
    ),
}
"""The same, written down by nobody."""

SENTENCES = {
    "issued": Message("{by} issued the quote."),
    "revised": Message("{by} issued revision {revision}: {reason}"),
    "covered": Message("{by} issued revision {revision}, which what was agreed to covers: {reason}"),
    "declined": Message("{name} declined revision {revision}; recorded by {by}."),
    "declined-by-link": Message("{name} declined revision {revision} on the customer's page."),
    "withdrawn": Message("{name} withdrew revision {revision}; recorded by {by}."),
    "contact-changed": Message("{by} changed how the customer is reached."),
    "link-replaced": Message("{by} replaced the customer's link; the old one leads nowhere any more."),
    "contact-erased": Message("{by} erased how the customer is reached, names and notes; the link leads nowhere."),
    "erased-in-time": Message(
        "How the customer is reached, names and notes were erased, as their time was over; the link leads nowhere."
    ),
}


def events_told(events: Iterable[QuoteEvent], shown: Shown) -> tuple[Message, ...]:
    """A sentence an event; `shown` writes an amount of the quote's currency that is gross or net."""
    return tuple(_told(event, shown) for event in events)


def _told(event: QuoteEvent, shown: Shown) -> Message:
    data = event.data
    places = {
        "by": event.by,
        "revision": str(event.revision),
        "name": data.get("name", "—"),
        "reason": data.get("reason", "—"),
        "extra": shown(Decimal(data["extra"]), data.get("extra_of", "gross")) if "extra" in data else "",
    }
    return replace(_sentence(event), parameters=places)


def _sentence(event: QuoteEvent) -> Message:
    by_link = event.by == BY_CUSTOMER
    match event.kind:
        case "accepted":
            return (ACCEPTED_BY_LINK if by_link else ACCEPTED)[event.data["up_to"], "extra" in event.data]
        case "declined" if by_link:
            return SENTENCES["declined-by-link"]
        case "contact-erased" if event.by == BY_TIME:
            return SENTENCES["erased-in-time"]
        case "revised" if event.data["covered"]:
            return SENTENCES["covered"]
        case _:
            return SENTENCES[event.kind]
