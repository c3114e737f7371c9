"""How a locale writes numbers: compiled once from Babel's patterns, so that writing one is string work."""

from dataclasses import dataclass

from babel import Locale
from babel.numbers import NumberPattern, get_decimal_symbol, get_group_symbol

_THOUSANDS = (3, 3)


@dataclass(frozen=True, slots=True)
class Notation:
    """One sort of number in one locale: what stands around it, its point and its groups of digits.

    `groups` counts the digits of the group next to the point and of every group before that: (3, 2) in India.
    """

    around: tuple[str, str]
    around_negative: tuple[str, str]
    point: str
    separator: str
    groups: tuple[int, int]

    def text_of(self, number: str) -> str:
        """The text of a number that is written as format(value, ",f") writes it: -1,234.50."""
        if number[0] == "-":
            return self._between(self.around_negative, number[1:])
        return self._between(self.around, number)

    def text_of_change(self, number: str) -> str:
        """The same of a difference: more than nothing has a plus sign where a minus sign would stand."""
        if number[0] == "-" or not number.strip("0.,"):
            return self.text_of(number)
        before, after = self.around_negative
        return self._between((before.replace("-", "+"), after.replace("-", "+")), number)

    def _between(self, around: tuple[str, str], number: str) -> str:
        before, after = around
        whole, point, fraction = number.partition(".")
        if self.groups == _THOUSANDS:
            whole = whole.replace(",", self.separator)
        else:
            whole = self._grouped(whole.replace(",", ""))
        return f"{before}{whole}{self.point}{fraction}{after}" if point else f"{before}{whole}{after}"

    def _grouped(self, digits: str) -> str:
        size, size_of_the_rest = self.groups
        parts: list[str] = []
        while len(digits) > size:
            digits, part = digits[:-size], digits[-size:]
            parts.insert(0, part)
            size = size_of_the_rest
        return self.separator.join([digits, *parts])


def notation(pattern: NumberPattern, locale: Locale, currency: str | None = None) -> Notation:
    """What Babel's pattern comes to in a locale, with a currency's symbol where the pattern wants one."""
    before, before_negative = (_affix(text, locale, currency) for text in pattern.prefix)
    after, after_negative = (_affix(text, locale, currency) for text in pattern.suffix)
    return Notation(
        around=(before, after),
        around_negative=(before_negative, after_negative),
        point=get_decimal_symbol(locale),
        separator=get_group_symbol(locale),
        groups=pattern.grouping,
    )


def _affix(text: str, locale: Locale, currency: str | None) -> str:
    """Babel's own reading of a prefix or suffix: the symbol for the currency sign, and no quotes."""
    none = (0, 0)
    alone = NumberPattern(text, (text, text), ("", ""), none, none, none, None, None, number_pattern="")
    return str(alone.apply("0", locale, currency=currency))
