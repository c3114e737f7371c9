"""What is held on one customer, and what was erased of it."""

import re
import unicodedata
from dataclasses import dataclass

from quoter.records.enquiries import Enquiry
from quoter.records.quotes import IssuedQuote, QuoteEvent, ascii_digits

NAMED_BY = ("email", "phone", "quote", "enquiry")
"""By what a customer is named."""

FEWEST_DIGITS = 4
"""Of a number that somebody can be called at from a town away: who is found by it left no shorter one."""


_PHONE = re.compile(r"\+?[0-9 ()/.\-]+", re.ASCII)


@dataclass(frozen=True, slots=True)
class Who:
    """A customer, named by one thing that must be theirs exactly: a part of it could be somebody else's.

    An email address is theirs whatever its case, a phone number by its digits alone, so that a number with and
    without the code of its country are two. A quote is named by id or number, an enquiry by id or reference.
    """

    named_by: str
    value: str

    def is_reached_at(self, email: str, phone: str) -> bool:
        """Whether one of these is the address or number that was named."""
        if self.named_by == "email":
            return bool(self.value.strip()) and _compared(email) == _compared(self.value)
        digits = digits_of(self.value)
        return self.named_by == "phone" and len(digits) >= FEWEST_DIGITS and digits_of(phone) == digits


def is_phone(text: str) -> bool:
    """Whether somebody can be called at it: enough digits, of whatever script, in one of the ways to write a number."""
    number = ascii_digits(text.strip())
    return _PHONE.fullmatch(number) is not None and sum(sign.isdigit() for sign in number) >= FEWEST_DIGITS


def digits_of(text: str) -> str:
    """The digits of a phone number, of whatever script, as ASCII; an email address has none that count.

    00 before the code of a country is what much of the world dials for + (common practice).
    """
    digits = "" if "@" in text else "".join(sign for sign in ascii_digits(text) if sign in "0123456789")
    return digits.removeprefix("00")


def _compared(email: str) -> str:
    """An address without case, and with accents as one sign each, however they were typed (Unicode 3.13, D145)."""
    apart = unicodedata.normalize("NFD", email.strip()).casefold()
    return unicodedata.normalize("NFC", apart)


@dataclass(frozen=True, slots=True)
class HeldQuote:
    """A quote with every revision, the first one first, and everything that has happened to it."""

    revisions: tuple[IssuedQuote, ...]
    events: tuple[QuoteEvent, ...]

    @property
    def newest(self) -> IssuedQuote:
        """As it stands."""
        return self.revisions[-1]

    @property
    def is_erased(self) -> bool:
        """Whether its contact was erased, with nothing new since."""
        return bool(self.events) and self.events[-1].kind == "contact-erased"


@dataclass(frozen=True, slots=True)
class Held:
    """All that is kept about a customer."""

    who: Who
    quotes: tuple[HeldQuote, ...]
    enquiries: tuple[Enquiry, ...]

    @property
    def is_nothing(self) -> bool:
        """Whether nobody is known by this address or number."""
        return not (self.quotes or self.enquiries)


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """That contact is to be erased: when, by whom, and because it was asked for or because its time is over.

    Quotes that somebody has agreed to are kept unless `accepted`.
    """

    at: str
    by: str
    because: str
    accepted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Erasure:
    """What was erased: numbers of quotes, references of enquiries, and stored answers to requests.

    `kept` are quotes that somebody has agreed to. `before` had been erased already, with nothing new since.
    `is_out_of_file`: no byte of it is left in the database's files; otherwise somebody was still reading or writing,
    and the hourly look or the next erasure sees to it.
    """

    at: str
    quotes: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    enquiries: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    replies: int = 0
    is_out_of_file: bool = True
