"""From the folder of a rate book to a CSV file of its price list: `python -m benchmarks.list_to_file DIR FILE`."""

import csv
import sys
from pathlib import Path

from benchmarks.jobs import DATE
from quoter.books.compile import open_book
from quoter.engine.price_list import price_list


def write_price_list(book: Path, file: Path) -> None:
    """A row an entry: device, procedure, grade, net, tax, gross."""
    with file.open("w", newline="", encoding="utf-8") as out:
        writer = csv.writer(out)
        for entry in price_list(open_book(book), DATE):
            totals = entry.totals
            amounts = (totals.net, totals.tax, totals.gross) if totals else ()
            writer.writerow((entry.device, entry.procedure, entry.grade, *amounts))


if __name__ == "__main__":
    write_price_list(Path(sys.argv[1]), Path(sys.argv[2]))
