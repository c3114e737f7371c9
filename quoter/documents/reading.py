"""What every document of a quote begins with: the quote, read in one language."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from quoter.records.quotes import IssuedQuote
from quoter.service.clock import today
from quoter.words.shown import TextOf
from quoter.words.wording import Wording

Data = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Reading:
    """A revision in one language: `figures` has every figure as text, in the shape of the figures."""

    quote: IssuedQuote
    wording: Wording
    text: TextOf
    figures: Data

    @classmethod
    def of(cls, quote: IssuedQuote, wording: Wording) -> "Reading":
        """The quote in the words and formats of a reader, and in the owner's own translations."""
        text = TextOf(quote.result, quote.job, wording)
        spoken = wording.with_glossary(quote.result.get("translations", {}))
        return cls(quote, spoken, text, text.quote())

    @property
    def result(self) -> Mapping[str, Any]:
        """What was priced."""
        return self.quote.result

    def label(self) -> str:
        """What the law of the place calls the paper."""
        law = self.result.get("law") or {}
        return self.wording.say("Estimate") if law.get("label") == "estimate" else self.wording.say("Quotation")

    def total_label(self) -> str:
        """What stands at the last figure; where nothing is taxed, nothing is said of tax."""
        is_taxed = Decimal(self.result["totals"]["tax"]) != 0
        return self.wording.say("Total with tax") if is_taxed else self.wording.say("Total")

    def day_of(self, moment: str) -> str:
        """Which day it was where the shop is."""
        instant = dt.datetime.fromisoformat(moment)
        return self.wording.formats.date(today(instant, self.result["shop"]["timezone"]))

    def book_texts(self, texts: Iterable[str]) -> list[str]:
        """Texts of the rate book in the reader's language."""
        return [self.wording.of_book(text) for text in texts]

    def repairs(self) -> list[str]:
        """What is to be repaired."""
        titles = self.result["titles"]["procedures"]
        return self.book_texts(titles[repair["procedure"]] for repair in self.quote.job["repairs"])

    def findings(self) -> list[str]:
        """What was seen on the device."""
        titles = self.result["titles"]["findings"]
        return self.book_texts(titles[code] for code in self.quote.job["findings"])

    def cautions(self) -> list[Mapping[str, Any]]:
        """What endangers people comes first: a swollen cell, what was seen on this device, then the steps' own."""
        of_steps = {step["caution"] for step in self.result["plan"]}
        return sorted(
            self.result["cautions"], key=lambda each: ("swollen" not in each["code"], each["code"] in of_steps)
        )

    def frame(self, label: str) -> Data:
        """What each page says, and in which language; {page} and {pages} are left to whoever prints."""
        return {
            "label": label,
            "locale": self.wording.tag,
            "language": self.wording.language,
            "direction": self.wording.direction,
            "title": f"{label} {self.quote.number}",
            "author": self.result["shop"]["name"],
            "page": self.wording.say("Page {page} of {pages}", page="{page}", pages="{pages}"),
            "number": self.quote.number,
        }


def fact(key: str, label: str, text: str) -> Data:
    """A label and what stands beside it; `key` is for whoever draws it in a way of its own."""
    return {"key": key, "label": label, "text": text}


def told(*facts: Data) -> list[Data]:
    """The facts that say something."""
    return [each for each in facts if each["text"]]
