"""quoter customer: exports and erases what is held on one customer. The same use cases as behind the API."""

import argparse
import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from quoter.cli.arguments import add_database, is_meant, opened_store
from quoter.records.customers import FEWEST_DIGITS, NAMED_BY, Who, digits_of

if TYPE_CHECKING:
    from quoter.records.customers import Erasure, Held
    from quoter.service.customers import Customers

BY = "the command line"

NAMED = {
    "email": "an address, in any case of its letters",
    "phone": "a number, by its digits: with and without the code of the country it is two",
    "quote": "the id or number of a quote",
    "enquiry": "the id or reference of an enquiry",
}


def add_parser(commands: Any) -> None:
    """Declares the commands."""
    actions = commands.add_parser("customer", help="export or erase what is held on one customer").add_subparsers(
        required=True, metavar="ACTION"
    )
    export = actions.add_parser("export", help="print everything that is held on a customer, as JSON for them to read")
    erase = actions.add_parser("erase", help="erase names, numbers and free texts of a customer; figures stay")
    erase.add_argument("--accepted", action="store_true", help="also of quotes that somebody has agreed to")
    erase.add_argument("--yes", action="store_true", help="do not ask")
    for action, command in ((export, _export), (erase, _erase)):
        named = action.add_mutually_exclusive_group(required=True)
        for name in NAMED_BY:
            named.add_argument(
                f"--{name}", type=_phone if name == "phone" else _text, metavar="VALUE", help=NAMED[name]
            )
        add_database(action)
        action.set_defaults(command=command)


def _text(text: str) -> str:
    if not text.strip():
        raise argparse.ArgumentTypeError("say whose")
    return text


def _phone(text: str) -> str:
    if len(digits_of(text)) < FEWEST_DIGITS:
        raise argparse.ArgumentTypeError(f"{text!r} is no phone number: it has fewer than {FEWEST_DIGITS} digits")
    return text


def _who(options: argparse.Namespace) -> Who:
    (named_by,) = (name for name in NAMED_BY if getattr(options, name) is not None)
    return Who(named_by, getattr(options, named_by))


@contextmanager
def _customers(options: argparse.Namespace) -> Iterator["Customers"]:
    from quoter.service.clock import utc_now
    from quoter.service.customers import Customers
    from quoter.store.customers import Customers as Records
    from quoter.store.quotes import Quotes

    with opened_store(options) as store:
        yield Customers(Records(store), Quotes(store), utc_now)


def _export(options: argparse.Namespace) -> int:
    from quoter.api.customers.customer_document import customer_document
    from quoter.service.clock import stamp

    with _customers(options) as customers:
        held = customers.held(_who(options))
        document = customer_document(held, stamp(customers.now()))
    if held.is_nothing:
        return _say_nothing_is_held()
    print(json.dumps(document, ensure_ascii=False, indent=2))
    return 0


def _erase(options: argparse.Namespace) -> int:
    with _customers(options) as customers:
        who = _who(options)
        held = customers.held(who)
        if held.is_nothing:
            return _say_nothing_is_held()
        for line in _shown(held, options.accepted):
            print(line, file=sys.stderr)
        if not options.yes and not is_meant("Erase this for good?"):
            print("nothing is erased", file=sys.stderr)
            return 1
        done = customers.erase(who, BY, accepted=options.accepted)
    for line in _told(done):
        print(line)
    return 0


def _say_nothing_is_held() -> int:
    """A slip of the keyboard looks just like it, so it is no success."""
    print("nothing is held on them: nobody has this address or number", file=sys.stderr)
    return 1


def _shown(held: "Held", accepted: bool) -> Iterator[str]:
    """What there is, a line each, with what would become of it."""
    from quoter.api.customers.customer_document import reached
    from quoter.service.customers import is_agreed

    for each in held.quotes:
        quote = each.newest
        kept = is_agreed(quote) and not accepted
        outcome = "kept, as somebody has agreed to it; --accepted erases it too" if kept else "to be erased"
        if each.is_erased:
            outcome = "erased before"
        yield f"quote {quote.number}, {quote.standing}, {reached(quote.contact) or 'no contact'}: {outcome}"
    for enquiry in held.enquiries:
        outcome = "erased before" if enquiry.erased_at else "to be erased"
        yield f"enquiry {enquiry.reference}, {reached(enquiry.contact) or 'no contact'}: {outcome}"


def _told(done: "Erasure") -> Iterator[str]:
    for what, names in (
        ("quotes erased", done.quotes),
        ("enquiries erased", done.enquiries),
        ("erased before", done.before),
        ("quotes kept, as somebody has agreed to them; --accepted erases them too", done.kept),
    ):
        if names:
            yield f"{what}: {', '.join(names)}"
    if not done.is_out_of_file:
        yield "the database was being read: the last bytes leave its files within the hour, or with the next erasure"
