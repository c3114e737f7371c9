"""What a visitor asks, and whether it is said so that the shop can answer."""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Self

from quoter.job import Job
from quoter.problems import Refusal
from quoter.records.customers import is_phone
from quoter.records.quotes import TURNING, Contact
from quoter.service.rates.shelf import Published

LONGEST_NAME, LONGEST_PHONE, LONGEST_EMAIL, LONGEST_NOTICED = 100, 50, 254, 2000
"""Characters. 254 are the most that a mailbox may have (RFC 5321 with erratum 1690)."""

_EMAIL = re.compile(r"[^\s@]+@[^\s@.]+(\.[^\s@.]+)+")
"""With a whole domain: mail from outside does not reach a name that counts only in somebody's own network."""

_MAY_STAND_IN_LINES = "\n\r\t"


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What somebody writes into a form beside the job: their own words, how they are reached, and its `token`.

    `homepage` is a field that no visitor sees, so that only programs fill it in.
    """

    contact: Contact = Contact()  # noqa: RUF009 - it never changes
    noticed: str = ""
    may_be_contacted: bool = False
    token: str = ""
    homepage: str = ""

    def tidied(self) -> Self:
        """Without blanks around, and with the contact as it is kept."""
        return replace(self, contact=self.contact.tidied(), noticed=self.noticed.strip())


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked(Written):
    """A filled-in form with the job that is priced from a book. `address` is the network's."""

    job: Job
    published: Published
    origin: str = ""
    address: str = ""


def refusals_of(asked: Written, *, from_form: bool) -> tuple[Refusal, ...]:
    """Everything that is not right, each at its field and with what would be. A form must have asked for consent."""
    if asked.homepage.strip():
        detail = "the field homepage must stay blank: something has filled it in. Empty it, and send the form once more"
        return (Refusal("looks-automatic", "/homepage", detail),)
    return (*_of_texts(asked), *_of_contact(asked.contact), *(_of_form(asked) if from_form else ()))


def _of_texts(asked: Written) -> Iterator[Refusal]:
    contact = asked.contact
    for pointer, text, most, allowed in (
        ("/noticed", asked.noticed, LONGEST_NOTICED, _MAY_STAND_IN_LINES),
        ("/contact/name", contact.name, LONGEST_NAME, ""),
        ("/contact/phone", contact.phone, LONGEST_PHONE, ""),
        ("/contact/email", contact.email, LONGEST_EMAIL, ""),
    ):
        if len(text) > most:
            yield _wrong(pointer, f"at most {most} characters; these are {len(text)}")
        if any(unicodedata.category(sign) == "Cc" and sign not in allowed for sign in text):
            yield _wrong(pointer, "a text without control characters")
        if any(sign in TURNING for sign in text):
            yield _wrong(pointer, "a text without signs that turn its direction around")


def _of_contact(contact: Contact) -> Iterator[Refusal]:
    if not (contact.phone or contact.email):
        yield _wrong("/contact", "a phone number or an address of mail, so that the shop can answer")
    if contact.phone and not is_phone(contact.phone):
        yield _wrong("/contact/phone", "a phone number of digits, such as +353 1 555 0100")
    if contact.email and not (_EMAIL.fullmatch(contact.email) and contact.email.isprintable()):
        yield _wrong("/contact/email", "an address with one @, a whole domain and no blanks, such as name@example.org")


def _of_form(asked: Written) -> Iterator[Refusal]:
    if not asked.may_be_contacted:
        yield _wrong("/may_be_contacted", "true: the visitor must agree that the shop may answer them")
    if not asked.token:
        yield _wrong("/token", "the token that the form was begun with")


def _wrong(pointer: str, right: str) -> Refusal:
    return Refusal("invalid-value", pointer, right)
