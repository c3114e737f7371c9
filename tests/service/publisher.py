"""A process that edits and publishes a draft again and again until it is killed: python publisher.py DATABASE."""

import sys
from pathlib import Path

from quoter.books.draft import Edit
from quoter.service.clock import utc_now
from quoter.service.rates.rates import Rates
from quoter.service.rates.shelf import Shelf
from quoter.store.books import Books
from quoter.store.database import Store


def publish_for_ever(database: Path) -> None:
    """Says `ready`, then a line before each publication."""
    books = Books(Store(database))
    rates = Rates(books, Shelf(books, utc_now), utc_now)
    print("ready", flush=True)
    for turn in range(1_000_000):
        draft = rates.draft_or_new("ballyquarn", "the publisher")
        edit = Edit(do="set", table="book.toml", key="labour.bench_rate", value=f"{turn % 7 + 1}.{turn % 10}0")
        draft, _ = rates.change(draft, [edit], "the publisher")
        print("publishing", flush=True)
        rates.publish(draft, f"turn {turn}", None, "the publisher")


if __name__ == "__main__":
    publish_for_ever(Path(sys.argv[1]))
