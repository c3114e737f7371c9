"""quoter price: a job, or a list of jobs, without a server. quoter openapi: what the server would describe."""

import argparse
import sys
from pathlib import Path
from typing import Any

from quoter.cli.arguments import locale


def add_parser(commands: Any) -> None:
    """Declares the commands."""
    price = commands.add_parser("price", help="price the job, or the list of jobs, in a JSON file")
    price.add_argument("--book", type=Path, required=True, metavar="DIR", help="the folder of the rate book")
    price.add_argument(
        "--locale", type=locale, metavar="TAG", help="language of the formatted text; the job's or the book's if absent"
    )
    price.add_argument("job", metavar="JOB.json", help="a job, or a list of jobs; - reads standard input")
    price.set_defaults(command=_price)
    openapi = commands.add_parser("openapi", help="print the description of the API")
    openapi.set_defaults(command=_openapi)


def _price(options: argparse.Namespace) -> int:
    from orjson import OPT_APPEND_NEWLINE, OPT_INDENT_2, dumps

    from quoter.api.prices.offline import price_document, read_json
    from quoter.books.compile import open_book

    source = sys.stdin.buffer.read() if options.job == "-" else Path(options.job)
    jobs = read_json(source, options.job)
    answer, refused = price_document(jobs, open_book(options.book), options.locale)
    sys.stdout.buffer.write(dumps(answer, option=OPT_INDENT_2 | OPT_APPEND_NEWLINE))
    return 1 if refused else 0


def _openapi(options: argparse.Namespace) -> int:
    import quoter.app  # noqa: F401 - declares every operation
    from quoter.api.description.docs import description_bytes

    sys.stdout.write(description_bytes().decode())
    return 0
