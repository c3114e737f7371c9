"""quoter price-list: every price of a rate book without a server, byte for byte what the server would answer today."""

import argparse
import sys
from pathlib import Path
from typing import Any

from quoter.cli.arguments import locale

FORMATS = ("json", "csv", "csv-bom", "jsonld")


def add_parser(commands: Any) -> None:
    """Declares the command."""
    listing = commands.add_parser("price-list", help="print every price of a rate book")
    listing.add_argument("--book", type=Path, required=True, metavar="DIR", help="the folder of the rate book")
    listing.add_argument(
        "--format",
        choices=FORMATS,
        default="json",
        help="csv-bom is for Excel, jsonld is schema.org for a page; json if absent",
    )
    listing.add_argument("--locale", type=locale, metavar="TAG", help="language and formats; the book's if absent")
    listing.set_defaults(command=_list)


def _list(options: argparse.Namespace) -> int:
    from quoter.books.compile import open_book
    from quoter.documents.price_list import WRITERS, Reader
    from quoter.service.clock import today, utc_now
    from quoter.service.rates.price_lists import PricedList
    from quoter.words.languages import best_match
    from quoter.words.wording import wording_for

    book = open_book(options.book)
    listed = PricedList(book, today(utc_now(), book.shop.timezone))
    places = range(len(listed.entries))
    wording = wording_for(best_match(None, book.locale, requested=options.locale))
    for piece in WRITERS[options.format](Reader(listed, places, len(places), wording)):
        sys.stdout.buffer.write(piece)
    return 0
