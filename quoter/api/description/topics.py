"""What the operations are about: the parts of the API in the order in which one reads them, as tags of OpenAPI."""

from collections.abc import Iterable
from dataclasses import dataclass

from quoter.api.http.operations import Operation


@dataclass(frozen=True, slots=True)
class Topic:
    """A part of the API; `blueprints` are the names of those that route its operations."""

    name: str
    about: str
    blueprints: tuple[str, ...]


TOPICS = (
    Topic("Prices", "What a repair costs, for which devices; nothing is kept.", ("devices", "prices", "price_list")),
    Topic("Quotes", "Issued, revised, decided, printed.", ("quotes", "revisions", "decisions", "documents")),
    Topic("Enquiries", "What visitors of the shop's own site ask.", ("enquiries",)),
    Topic("Customers", "What is held on one customer, to read or to erase.", ("customers",)),
    Topic("Rates", "Rate books, their drafts and versions.", ("books", "drafts", "sheets", "effects", "calculations")),
    Topic("Webhooks", "Other programs are told what happens.", ("webhooks",)),
    Topic("The service", "How it is, and what it can do.", ("health", "measures", "docs")),
)
"""Every blueprint of an operation is in one of them."""

_BY_BLUEPRINT = {blueprint: place for place, topic in enumerate(TOPICS) for blueprint in topic.blueprints}


def topic_of(declared: Operation) -> Topic:
    """What an operation is about: its blueprint says."""
    return TOPICS[_BY_BLUEPRINT[declared.blueprint]]


def in_reading_order(operations: Iterable[Operation]) -> list[Operation]:
    """By topic, then by path, wherever they were imported first."""
    return sorted(operations, key=lambda each: (_BY_BLUEPRINT[each.blueprint], each.path, each.method))
