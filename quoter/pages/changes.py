"""What a revision changes for its customer: lines, totals and warranty, before and now, in their own words."""

from typing import Any

from quoter.messages import Message
from quoter.records.quotes import IssuedQuote
from quoter.service.quotes.side_by_side import side_by_side
from quoter.words.compared import ComparisonText
from quoter.words.wording import Wording

Data = dict[str, Any]

CHANGES = {
    "changed": Message("≠ changed"),
    "added": Message("+ new"),
    "removed": Message("− gone"),
}


def compared_with(quote: IssuedQuote) -> int:
    """The revision that a customer knows: what they agreed to, else the one before; 0 for the first."""
    agreed = quote.agreement.revision if quote.agreement else quote.revision
    return agreed if agreed != quote.revision else quote.revision - 1


def changes_between(old: IssuedQuote, new: IssuedQuote, wording: Wording) -> Data:
    """Only what is not as it was, but always the totals."""
    comparison = side_by_side(old, new)
    text = ComparisonText(old, new, wording).all(comparison)
    lines = zip(comparison["lines"], text["lines"], strict=True)
    terms = zip(comparison["warranty"], text["warranty"], strict=True)
    return {
        "old": old.revision,
        "new": new.revision,
        "lines": [_line(line, shown, wording) for line, shown in lines if line["change"] != "same"],
        "totals": text["totals"],
        "warranty": [_terms(shown, wording) for each, shown in terms if each["old"] != each["new"]],
    }


def _line(line: Data, shown: Data, wording: Wording) -> Data:
    sides = {side: shown[side]["net"] if shown[side] else "–" for side in ("old", "new")}
    marks = {"kind": line["change"], "change": wording.text(CHANGES[line["change"]])}
    return {"description": shown["description"], "difference": shown["difference"], **sides, **marks}


def _terms(shown: Data, wording: Wording) -> Data:
    kind = "changed" if shown["old"] and shown["new"] else "removed" if shown["old"] else "added"
    sides = {side: ", ".join(shown[side] or ()) or "–" for side in ("old", "new")}
    return {"repair": shown["procedure"], "kind": kind, "change": wording.text(CHANGES[kind]), **sides}
