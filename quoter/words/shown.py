"""Every figure of a quote as text in one locale, in the shape of the figures."""

import datetime as dt
from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from quoter.messages import Message
from quoter.money import ARITHMETIC, Currency
from quoter.words.formats import minutes_text, money_text, quantity_text
from quoter.words.wording import Wording

Data = dict[str, Any]

MINUTES_PER_HOUR = 60
HOURLY_UNIT = Decimal("0.0001")


class TextOf:
    """The text of a priced job: `result` and `job` are plain data as they are stored."""

    def __init__(self, result: Mapping[str, Any], job: Mapping[str, Any], wording: Wording) -> None:
        self._result, self._job = result, job
        self._wording = wording.with_glossary(result.get("translations", {}))
        self._formats = wording.formats
        self._titles = result["titles"]

    def quote(self) -> Data:
        """All of it."""
        result, formats = self._result, self._formats
        discount = self._job["discount"]
        return {
            "locale": formats.tag,
            "direction": formats.direction,
            "device": self._titles["device"],
            "date": formats.date(dt.date.fromisoformat(self._job["date"])),
            "valid_until": formats.date(dt.date.fromisoformat(result["valid_until"])),
            "discount": formats.percent(Decimal(discount["rate"])) if discount else None,
            "lines": [self.line(line) for line in result["lines"]],
            "tax": [self._tax(row) for row in result["tax"]],
            "totals": self.totals(),
            "deposit": self.money(result["deposit"]),
            "time": {name.removesuffix("_minutes"): self.minutes(value) for name, value in result["time"].items()},
            "lead_time": formats.days(result["lead_days"]),
            "warranty": [self._warranty(each) for each in result["warranty"]],
            "contingencies": [
                {"finding": self.finding(each["finding"]), **self._outcome(each)} for each in result["contingencies"]
            ],
            "ceiling": self._outcome(result["ceiling"]),
            "cautions": [self._caution(each) for each in result["cautions"]],
            "alternatives": [
                {
                    "procedure": self.procedure(each["procedure"]),
                    "grade": self._wording.of_book(each["grade"]),
                    **self._outcome(each),
                }
                for each in result["alternatives"]
            ],
        }

    def description(self, line: Mapping[str, Any]) -> str:
        """What a line is about."""
        description = line["description"]
        return self._wording.text(Message(**description))

    def totals(self) -> Data:
        """Of net, tax, gross and cash."""
        return {name: self.money(amount) for name, amount in self._result["totals"].items()}

    def economics(self) -> Data:
        """Of the economics, which are nobody's business but the owner's."""
        economics = self._result["economics"]
        margin = economics["margin"]
        return {
            "cost": self._about(economics["cost"]),
            "margin": None if margin is None else self._formats.percent(Decimal(margin)),
            "floor": self._about(economics["floor"]),
        }

    def plan(self) -> list[Data]:
        """Of the steps on the bench."""
        return [
            {
                "title": self._wording.of_book(step["title"]),
                "tools": [self._wording.of_book(tool) for tool in step.get("tools", ())],
            }
            | {kind: self.minutes(step[f"{kind}_minutes"]) for kind in ("expected", "quoted", "dwell")}
            for step in self._result["plan"]
        ]

    def consumption(self) -> list[Data]:
        """Of what is used up."""
        return [
            {"title": self._wording.of_book(each["title"])}
            | {kind: quantity_text(self._formats, each[kind], each["unit"]) for kind in ("needed", "billed")}
            for each in self._result["consumption"]
        ]

    def cuts(self) -> list[Data]:
        """Of the strips that are cut."""
        return [
            {
                "title": self._wording.of_book(cut["title"]),
                "width": None if cut["width_mm"] is None else self._millimetres(cut["width_mm"]),
                "pieces": [{"length": self._millimetres(piece["length_mm"])} for piece in cut["pieces"]],
            }
            for cut in self._result["cuts"]
        ]

    def _caution(self, caution: Mapping[str, Any]) -> Data:
        """A warning in the language; a quote from before there were words for the customer has those for the bench."""
        text = caution["text"]
        return {"text": self._wording.of_book(text), "customer": self._wording.of_book(caution.get("customer", text))}

    def _millimetres(self, length: str) -> str:
        return self._formats.quantity(Decimal(length), "mm")

    def money(self, amount: str | Decimal) -> str:
        """Of an amount in the currency of the quote."""
        return money_text(self._formats, str(amount), self._result["currency"], self._result["digits"])

    def change(self, difference: str | Decimal) -> str:
        """Of a difference between two amounts: what comes on top has a plus sign."""
        return self._formats.change(Decimal(difference), self._result["currency"], self._result["digits"])

    def measured(self, amount: Decimal, of: str) -> str:
        """Of an amount that is gross or net: who reads it takes it for what is to be paid unless it says more."""
        return (
            self.money(amount) if of == "gross" else self._wording.say("{amount} before tax", amount=self.money(amount))
        )

    def _unit_price(self, price: str) -> str:
        """Consumables cost fractions of a cent: as many decimals as there are, and no fewer than the currency's."""
        decimals = len(price.partition(".")[2])
        return money_text(self._formats, price, self._result["currency"], max(decimals, self._result["digits"]))

    def _about(self, amount: str) -> str:
        """A figure that is nobody's price, to the minor unit."""
        return self.money(str(Currency(self._result["currency"], self._result["digits"]).round(Decimal(amount))))

    def minutes(self, minutes: str) -> str:
        """Of a duration."""
        return minutes_text(self._formats, minutes)

    def line(self, line: Mapping[str, Any]) -> Data:
        """Of a line, or of one side of a pair of lines."""
        formats, quantity, unit = self._formats, line["quantity"], line["unit"]
        shown = minutes_text(formats, quantity) if unit == "min" else quantity_text(formats, quantity, unit)
        return {
            "description": self.description(line),
            "quantity": shown,
            "unit_price": self._hourly(line) if line["unit"] == "min" else self._unit_price(line["unit_price"]),
            "net": self.money(line["net"]),
        }

    def _hourly(self, line: Mapping[str, Any]) -> str:
        """An hour's price, as people say it; to 4 decimals, since a minute's is kept to 6."""
        price = (Decimal(line["unit_price"]) * MINUTES_PER_HOUR).quantize(HOURLY_UNIT, ROUND_HALF_UP)
        return self._wording.say("{price} per hour", price=self._unit_price(format(price.normalize(ARITHMETIC), "f")))

    def _tax(self, row: Mapping[str, Any]) -> Data:
        rate = self._formats.percent(Decimal(row["rate"])) if row["rate"] is not None else None
        return {
            "name": row["name"],
            "rate": rate,
            "taxable": self.money(row["taxable"]),
            "tax": self.money(row["tax"]),
        }

    def _warranty(self, each: Mapping[str, Any]) -> Data:
        return {
            "procedure": self.procedure(each["procedure"]),
            "terms": [self.term(term) for term in each["terms"]],
        }

    def procedure(self, code: str) -> str:
        """What a repair is called."""
        return self._wording.of_book(self._titles["procedures"][code])

    def finding(self, code: str) -> str:
        """What something that was seen is called."""
        return self._wording.of_book(self._titles["findings"][code])

    def term(self, term: Mapping[str, Any]) -> str:
        """Of a warranty term: what it is and how long."""
        title = self._wording.of_book(term["title"])
        return self._wording.say("{term} ({duration})", term=title, duration=self._formats.days(term["days"]))

    def _outcome(self, outcome: Mapping[str, Any]) -> Data:
        if "refused" in outcome:
            return {"refused": outcome["refused"]}
        return {"gross": self.money(outcome["gross"]), "difference": self.change(outcome["difference"])}
