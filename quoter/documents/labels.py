"""Words and figures of a document as its reader reads them; what is drawn knows neither language nor locale."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from quoter.messages import Message


def in_english(message: Message) -> str:
    """The message as it was written."""
    return message.text.format_map(message.parameters)


@dataclass(frozen=True, slots=True)
class Labels:
    """How a reader's locale shows amounts, rates (0.2 is 20 %) and counts, and says a message."""

    money: Callable[[Decimal], str]
    percent: Callable[[Decimal], str]
    count: Callable[[int], str] = str
    text: Callable[[Message], str] = in_english

    def words(self, template: str, **places: str) -> str:
        """A template with its {places} filled, in the reader's language."""
        return self.text(Message(template, places))
