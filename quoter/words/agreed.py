"""What a customer has agreed to so far, as a sentence: the desk, the customer and the bench read the same."""

from decimal import Decimal

from quoter.records.quotes import IssuedQuote
from quoter.words.shown import TextOf
from quoter.words.wording import Wording


def agreed_text(quote: IssuedQuote, wording: Wording) -> str | None:
    """What was agreed, and how far a later price may go without asking again; None where nothing is agreed."""
    agreement, say = quote.agreement, wording.say
    if agreement is None:
        return None
    figures = TextOf(quote.result, quote.job, wording)
    gross, limit = figures.money(agreement.gross), figures.money(agreement.limit)
    places = {"revision": wording.formats.number(Decimal(agreement.revision)), "gross": gross, "limit": limit}
    if agreement.of == "net":
        return say("Agreed: revision {revision}, {gross}. Without asking again, up to {limit} before tax.", **places)
    return say("Agreed: revision {revision}, {gross}. Without asking again, up to {limit}.", **places)
