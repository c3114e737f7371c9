"""Which quotes are looked for, as conditions in SQL."""

import re
import unicodedata
from typing import Any

from quoter.records.quotes import Contact, QuoteFilter, ascii_digits

_STROKES = str.maketrans("łøđħŧı", "lodhti")
"""Letters with a stroke, which Unicode does not take apart (and the ı without its dot)."""

NOWHERE = "\x01"
"""Found in no text that is kept: names and devices are lines."""

_NO_NUMBER = re.compile(r"[^0-9\s+()/.\-]", re.ASCII)


def contact_words(contact: Contact) -> str:
    """What a customer is found by: name and address without case and accents, the phone's digits, a line each."""
    return "\n".join((folded(contact.name), folded(contact.email), _digits(contact.phone)))


def folded(text: str) -> str:
    """Without case, accents and strokes, so that who types either finds both."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in apart if not unicodedata.combining(sign)).translate(_STROKES)


def conditions(wanted: QuoteFilter, now: str) -> tuple[list[str], dict[str, Any]]:
    """Conditions that must all hold, and the values that they name."""
    possible = {
        "quotes.id < :after": wanted.after,
        "quotes.number = :number": wanted.number,
        "quotes.book = :book": wanted.book,
        "quotes.device = :device": wanted.device,
        "quotes.issued_at >= :since": wanted.since,
        "quotes.issued_at < :until": wanted.until,
        "quotes.device_words like :words escape '\\'": device_pattern((wanted.words or "").strip()),
        "quotes.contact_words like :customer escape '\\'": customer_pattern((wanted.customer or "").strip()),
    }
    given = {condition: value for condition, value in possible.items() if value is not None}
    values: dict[str, Any] = {condition.split(":")[1].split()[0]: value for condition, value in given.items()}
    if not wanted.state:
        return ["true", *given], values
    values |= {"standing": "issued" if wanted.state == "expired" else wanted.state, "now": now}
    return ["quotes.standing = :standing", _BY_CLOCK.get(wanted.state, "true"), *given], values


_BY_CLOCK = {"issued": "quotes.expires_at > :now", "expired": "quotes.expires_at <= :now"}
"""Two states are told apart by the clock; any other is kept as it is."""


def device_pattern(text: str) -> str | None:
    """For LIKE: part of what a device is called; None where nothing was said."""
    return _anywhere(text.casefold()) if text else None


def customer_pattern(text: str) -> str | None:
    """For LIKE: part of a name or address; of a number its digits, without the zeros dialled before an area."""
    text = ascii_digits(text)
    if _NO_NUMBER.search(text) or not _digits(text):
        return _anywhere(folded(text)) if text else None
    return _anywhere(_digits(text).lstrip("0") or _digits(text))


def _digits(text: str) -> str:
    return "".join(sign for sign in ascii_digits(text) if sign in "0123456789")


def _anywhere(words: str) -> str:
    """A pattern for LIKE. It would end at a NUL, and nothing is found by signs that folding leaves nothing of."""
    if not words or "\0" in words:
        return NOWHERE
    escaped = "".join("\\" + sign if sign in "\\%_" else sign for sign in words)
    return f"%{escaped}%"
