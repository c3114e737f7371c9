"""Two revisions side by side as text, in the shape of the comparison."""

from collections.abc import Iterable, Mapping
from typing import Any

from quoter.records.quotes import IssuedQuote
from quoter.words.shown import Data, TextOf
from quoter.words.wording import Wording


class ComparisonText:
    """The text of a comparison: each side in the words of its own revision."""

    def __init__(self, old: IssuedQuote, new: IssuedQuote, wording: Wording) -> None:
        self._sides = {"old": TextOf(old.result, old.job, wording), "new": TextOf(new.result, new.job, wording)}

    def description(self, row: Mapping[str, Any]) -> str:
        """What a pair of lines is about, as the newer side has it."""
        return self._sides["new" if row["new"] else "old"].description(row)

    def all(self, comparison: Mapping[str, Any]) -> Data:
        """Every figure."""
        old, new = self._sides["old"], self._sides["new"]
        findings = comparison["findings"]
        return {
            "lines": [self._row(row) for row in comparison["lines"]],
            "totals": {
                name: {
                    **{side: new.money(amounts[side]) for side in self._sides},
                    "difference": new.change(amounts["difference"]),
                }
                for name, amounts in comparison["totals"].items()
            },
            "time": {
                name.removesuffix("_minutes"): {side: new.minutes(minutes[side]) for side in self._sides}
                for name, minutes in comparison["time"].items()
            },
            "findings": {
                "added": [new.finding(code) for code in findings["added"]],
                "removed": [old.finding(code) for code in findings["removed"]],
            },
            "warranty": [self._warranty(each) for each in comparison["warranty"]],
        }

    def _row(self, row: Mapping[str, Any]) -> Data:
        shown = {
            side: text.line({**row[side], "description": row["description"]}) if row[side] else None
            for side, text in self._sides.items()
        }
        return {
            "description": self.description(row),
            **shown,
            "difference": self._sides["new"].change(row["difference"]),
        }

    def _warranty(self, each: Mapping[str, Any]) -> Data:
        named = self._sides["new" if each["new"] is not None else "old"].procedure(each["procedure"])
        sides = {side: self._terms(side, each[side]) for side in self._sides}
        return {"procedure": named, **sides}

    def _terms(self, side: str, terms: Iterable[Mapping[str, Any]] | None) -> list[str] | None:
        return None if terms is None else [self._sides[side].term(term) for term in terms]
