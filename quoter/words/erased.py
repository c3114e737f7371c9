"""What stands in the place of what was erased, so that nobody takes a blank for an oversight."""

import datetime as dt

from quoter.records.quotes import Contact, Decision, IssuedQuote
from quoter.service.clock import today
from quoter.words.wording import Wording


def erased_text(quote: IssuedQuote, wording: Wording) -> str:
    """On which day the contact was erased where the shop is; "" where it is there, or never was."""
    if quote.erased_at is None or quote.contact != Contact():
        return ""
    moment = dt.datetime.fromisoformat(quote.erased_at)
    day = wording.formats.date(today(moment, quote.result["shop"]["timezone"]))
    return wording.say("erased on {date}", date=day)


def decider(decision: Decision, wording: Wording) -> str:
    """Who decided. Nobody decides without a name, so that one that is missing has been erased."""
    return decision.name or wording.say("(name erased)")
