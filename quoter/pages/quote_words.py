"""What a quote stands at, who decided what, and what was agreed, in one reader's words. Nothing is decided here."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from quoter.messages import Message
from quoter.records.quotes import Decision, IssuedQuote
from quoter.service.quotes.agreements import consent_needed
from quoter.words.agreed import agreed_text
from quoter.words.erased import decider, erased_text
from quoter.words.shown import TextOf
from quoter.words.wording import Wording

STATES = {
    "issued": Message("Issued"),
    "accepted": Message("Accepted"),
    "declined": Message("Declined"),
    "withdrawn": Message("Withdrawn"),
    "expired": Message("Expired"),
    "superseded": Message("Superseded"),
}

WAYS = {
    "counter": Message("at the counter"),
    "phone": Message("by phone"),
    "message": Message("by message"),
    "link": Message("on the customer's page"),
}

DECIDED = {
    "accepted": Message("Accepted by {name} on {moment}, {way}."),
    "declined": Message("Declined by {name} on {moment}, {way}."),
    "withdrawn": Message("Withdrawn by {name} on {moment}, {way}."),
}


@dataclass(frozen=True, slots=True)
class QuoteWords:
    """Of one revision, at one moment."""

    quote: IssuedQuote
    wording: Wording
    now: str

    @property
    def state(self) -> str:
        """In a word or two."""
        return self.wording.text(STATES[self.quote.state_at(self.now)])

    def standing(self, newest: int) -> str:
        """What it stands at, as a sentence."""
        say, state = self.wording.say, self.quote.state_at(self.now)
        if state == "superseded":
            return say("Superseded: revision {revision} took its place.", revision=self._number(newest))
        if state == "expired":
            return say("Expired: it held until {date}.", date=self.valid_until)
        if state == "issued":
            return self._waiting()
        if self.quote.decision is None:
            return say("Accepted: what was agreed before covers this revision.")
        return self.decided(self.quote.decision)

    def _waiting(self) -> str:
        """Of what nobody has decided on: how long it holds, and what stands in the way of an agreement."""
        say, consent = self.wording.say, consent_needed(self.quote)
        if consent is not None:
            return say(
                "Waiting for consent: it passes what was agreed by {extra}. It holds until {date}.",
                extra=self.measured(consent.extra, consent.of),
                date=self.valid_until,
            )
        if self.quote.agreement is not None:
            return say(
                "Waiting for a decision: not all is as it was agreed. It holds until {date}.",
                date=self.valid_until,
            )
        return say("Issued: it can be accepted until {date}.", date=self.valid_until)

    def decided(self, decision: Decision) -> str:
        """Who decided what, when and how."""
        return self.wording.say(
            DECIDED[decision.decision].text,
            name=decider(decision, self.wording),
            moment=self.moment(decision.at),
            way=self.wording.text(WAYS[decision.how]),
        )

    def agreed(self) -> str | None:
        """What the customer has agreed to so far, and how far a later price may go."""
        return agreed_text(self.quote, self.wording)

    @property
    def erased(self) -> str:
        """On which day the contact was erased; "" where there is one, or never was."""
        return erased_text(self.quote, self.wording)

    @property
    def issued(self) -> str:
        """When it was issued."""
        return self.moment(self.quote.issued_at)

    @property
    def valid_until(self) -> str:
        """Its last day."""
        return self.wording.formats.date(dt.date.fromisoformat(self.quote.result["valid_until"]))

    @property
    def gross(self) -> str:
        """What the customer pays."""
        return self.money(Decimal(self.quote.result["totals"]["gross"]))

    @property
    def device(self) -> str:
        """Maker and model."""
        device: str = self.quote.result["titles"]["device"]
        return device

    @property
    def repairs(self) -> list[str]:
        """What is to be repaired, as far as the owner has translated it."""
        spoken = self.wording.with_glossary(self.quote.result.get("translations", {}))
        return [spoken.of_book(title) for title in self.quote.result["titles"]["procedures"].values()]

    def money(self, amount: Decimal) -> str:
        """An amount in the quote's currency."""
        return self._figures.money(amount)

    def measured(self, amount: Decimal, of: str) -> str:
        """An amount that is gross or net, as the customer must understand it."""
        return self._figures.measured(amount, of)

    @property
    def _figures(self) -> TextOf:
        return TextOf(self.quote.result, self.quote.job, self.wording)

    def moment(self, text: str) -> str:
        """Day and minute on the shop's clocks."""
        return self.wording.formats.moment(dt.datetime.fromisoformat(text), self.quote.result["shop"]["timezone"])

    def _number(self, count: int) -> str:
        return self.wording.formats.number(Decimal(count))


def law_of(quote: IssuedQuote) -> dict[str, Any]:
    """The law that a revision was issued under; nothing where there is none."""
    return quote.result.get("law") or {}
