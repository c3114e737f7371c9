"""What stands in the place of what was erased, so that nobody takes a blank for an oversight."""

import datetime as dt

from quoter.records.enquiries import Enquiry
from quoter.records.quotes import Contact, Decision, IssuedQuote
from quoter.service.clock import today
from quoter.words.wording import Wording


def erased_text(held: IssuedQuote | Enquiry, wording: Wording) -> str:
    """On which day the contact was erased where the shop is; "" where it is there, or never was."""
    if held.erased_at is None or held.contact != Contact():
        return ""
    moment = dt.datetime.fromisoformat(held.erased_at)
    day = wording.formats.date(today(moment, held.result["shop"]["timezone"]))
    return wording.say("erased on {date}", date=day)


def decider(decision: Decision, wording: Wording) -> str:
    """Who decided. Nobody decides without a name, so that one that is missing has been erased."""
    return decision.name or wording.say("(name erased)")
