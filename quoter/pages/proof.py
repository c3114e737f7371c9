"""What a decision rests on, a fact each: the shop's proof, for its own people and never for the customer."""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from quoter.pages.quote_words import WAYS, QuoteWords
from quoter.records.quotes import BY_CUSTOMER, DECISIONS, Decision, IssuedQuote, QuoteEvent
from quoter.service.quotes.agreements import agreement_to
from quoter.words.erased import decider
from quoter.words.wording import Wording

Fact = dict[str, str]


def _proof_of(event: QuoteEvent, decided_on: QuoteWords) -> list[Fact]:
    """Who, when, how, where they were reached, how much more, how far, what was noted and who wrote it down."""
    facts = _facts(_decision(event), event.data.get("extra_of", "gross"), decided_on)
    return [{"label": label, "text": text, "by": by} for label, text, by in facts if text or by]


def _facts(decision: Decision, extra_of: str, words: QuoteWords) -> Iterator[tuple[str, str, str]]:
    wording = words.wording
    say = wording.say
    yield say("Who decided"), decider(decision, wording), ""
    yield say("When"), words.moment(decision.at) if decision.at else "", ""
    yield say("How"), wording.text(WAYS[decision.how]), ""
    by_link = decision.how == "link"  # then the page asks for no number, and the one of the quote is kept
    yield say("Contact on file") if by_link else say("Number or address at which they said so"), decision.contact, ""
    yield say("More than agreed before"), "" if decision.extra is None else words.measured(decision.extra, extra_of), ""
    yield say("How far it goes"), _reach(decision, words) if decision.decision == "accepted" else "", ""
    yield say("Note"), decision.note, ""
    by = "" if decision.recorded_by == BY_CUSTOMER else decision.recorded_by
    yield say("Recorded"), words.moment(decision.recorded_at) if decision.recorded_at else "", by


def _reach(decision: Decision, words: QuoteWords) -> str:
    say, agreement = words.wording.say, agreement_to(words.quote, decision.up_to)
    limit = words.money(agreement.limit)
    if decision.up_to == "ceiling":
        return say("Up to the ceiling. Whatever the bench finds is agreed already, up to {limit}.", limit=limit)
    places = {"gross": words.gross, "limit": limit}
    if agreement.of == "net":
        return say("The price, {gross}. A later price up to {limit} before tax needs no new consent.", **places)
    return say("The price, {gross}. A later price up to {limit} needs no new consent.", **places)


def proofs(
    events: Iterable[QuoteEvent], revisions: Iterable[IssuedQuote], wording: Wording, now: str
) -> Iterator[list[Fact]]:
    """Of each event in turn; nothing for those that decide nothing. An erased name says so; the rest is left out."""
    words = {each.revision: QuoteWords(each, wording, now) for each in revisions}
    for event in events:
        yield _proof_of(event, words[event.revision]) if event.kind in DECISIONS else []


def _decision(event: QuoteEvent) -> Decision:
    """As it was recorded; a later one about the same revision does not take its place here."""
    data = event.data
    return Decision(
        decision=event.kind,
        revision=event.revision,
        name=data.get("name", ""),
        at=data["decided_at"],
        how=data["how"],
        contact=data.get("contact", ""),
        extra=Decimal(data["extra"]) if "extra" in data else None,
        up_to=data.get("up_to", "price"),
        note=data.get("note", ""),
        recorded_by=event.by,
        recorded_at=event.at,
    )
