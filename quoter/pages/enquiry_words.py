"""What an enquiry asks, what the visitor was told and what became of it, in one reader's words."""

import datetime as dt
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from urllib.parse import quote

from quoter.documents.sheet import quote_sheet
from quoter.messages import Message
from quoter.records.enquiries import ERASED, Enquiry
from quoter.records.quotes import IssuedQuote
from quoter.words.erased import erased_text
from quoter.words.shown import TextOf
from quoter.words.wording import Wording

STANDINGS = {
    "new": Message("Unanswered"),
    "quoted": Message("Has a quote"),
    "closed": Message("Put aside"),
}

ERASED_WORD = Message("Erased")

REASONS = {
    "reached": Message("Settled by phone or mail"),
    "no-answer": Message("The visitor does not answer"),
    "not-done-here": Message("Not done here"),
    "junk": Message("Not meant seriously"),
}

URGENCIES = {"standard": Message("Standard"), "express": Message("Express")}
CUSTOMERS = {"consumer": Message("Private"), "business": Message("Business"), "exempt": Message("Tax-exempt")}


@dataclass(frozen=True, slots=True)
class EnquiryWords:
    """Of one enquiry."""

    enquiry: Enquiry
    wording: Wording

    @property
    def standing(self) -> str:
        """In a word or two."""
        is_erased = self.enquiry.closed_because == ERASED
        return self.wording.text(ERASED_WORD if is_erased else STANDINGS[self.enquiry.standing])

    @property
    def reason(self) -> str:
        """Why it was put aside; blank where it was not, and where only an erasure closed it."""
        because = self.enquiry.closed_because
        return self.wording.text(REASONS[because]) if because in REASONS else ""

    @property
    def erased(self) -> str:
        """On which day the contact was erased; blank where it was not."""
        return erased_text(self.enquiry, self.wording)

    @property
    def received(self) -> str:
        """Day and minute on the shop's clocks."""
        moment = dt.datetime.fromisoformat(self.enquiry.received_at)
        return self.wording.formats.moment(moment, self.enquiry.result["shop"]["timezone"])

    @property
    def device(self) -> str:
        """Maker and model."""
        device: str = self.enquiry.result["titles"]["device"]
        return device

    @property
    def repairs(self) -> list[str]:
        """What is to be repaired, as far as the owner has translated it."""
        text = TextOf(self.enquiry.result, self.enquiry.job, self.wording)
        return [text.procedure(repair["procedure"]) for repair in self.enquiry.job["repairs"]]

    def cautions(self, first: Collection[str] = ()) -> list[str]:
        """As the shop says them to its own people; those with a code in `first` come first."""
        spoken = self.wording.with_glossary(self.enquiry.result.get("translations", {}))
        in_order = sorted(self.enquiry.result["cautions"], key=lambda each: each["code"] not in first)
        return [spoken.of_book(each["text"]) for each in in_order]

    @property
    def told(self) -> str:
        """The price that the visitor was told, with tax."""
        return self._money(self.enquiry.result["totals"]["gross"])

    @property
    def ceiling(self) -> str | None:
        """How high it was said to go, where that could be said."""
        gross = self.enquiry.result["ceiling"].get("gross")
        return self._money(gross) if gross else None

    @property
    def urgency(self) -> str:
        """How soon it is wanted."""
        return self.wording.text(URGENCIES[self.enquiry.job["urgency"]])

    @property
    def customer(self) -> str:
        """What kind of customer asks."""
        return self.wording.text(CUSTOMERS[self.enquiry.job["customer"]["kind"]])

    @property
    def call(self) -> str:
        """The address that calls the visitor (RFC 3966): digits, and the plus of a whole number."""
        phone = self.enquiry.contact.phone
        return "tel:" + "+" * phone.startswith("+") + "".join(sign for sign in phone if sign.isdigit())

    @property
    def mail(self) -> str:
        """The address that writes to the visitor (RFC 6068), about this enquiry."""
        return f"mailto:{quote(self.enquiry.contact.email, safe='@')}?subject={self.enquiry.reference}"

    def difference(self, result: Mapping[str, Any]) -> str:
        """By how much another result is more or less than what the visitor was told; blank in another currency."""
        say = self.wording.say
        if result["currency"] != self.enquiry.result["currency"]:
            return ""
        more = Decimal(result["totals"]["gross"]) - Decimal(self.enquiry.result["totals"]["gross"])
        if not more:
            return say("As the visitor was told.")
        amount = self._money(str(abs(more)))
        if more > 0:
            return say("{amount} more than the visitor was told.", amount=amount)
        return say("{amount} less than the visitor was told.", amount=amount)

    def sheet(self) -> dict[str, Any]:
        """What was asked and told, in the sections of a quote's sheet."""
        return quote_sheet(as_quote(self.enquiry), self.wording, now=self.enquiry.received_at, link="")

    def _money(self, amount: str) -> str:
        return TextOf(self.enquiry.result, self.enquiry.job, self.wording).money(amount)


def as_quote(enquiry: Enquiry) -> IssuedQuote:
    """What the visitor was told, in the shape of a quote, to be drawn like one. It is never kept."""
    return IssuedQuote(
        id=enquiry.id,
        number=enquiry.reference,
        revision=1,
        issued_at=enquiry.received_at,
        issued_by="",
        expires_at="9999-12-31T00:00:00.000000Z",
        book=enquiry.book,
        book_version=enquiry.book_version,
        book_digest=enquiry.book_digest,
        job=enquiry.job,
        result=enquiry.result,
        contact=enquiry.contact,
    )
