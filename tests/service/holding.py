"""Things that are held on customers, for tests that look for them and erase them."""

import json
import sqlite3
import zlib
from contextlib import closing
from pathlib import Path
from typing import Any

from quoter.records.quotes import Contact, IssuedQuote
from quoter.service.clock import stamp
from quoter.store.database import Store
from quoter.store.quote_search import contact_words

from .desk import DESK, OWNER, Desk


def a_contact(name: str) -> Contact:
    """Everything of it tells the name; its phone number is made of the letters."""
    number = "".join(f"{ord(sign):03}" for sign in name)
    return Contact(name=f"{name} Example", phone=f"+{number}", email=f"{name}@example.org")


def a_customers_quote(desk: Desk, name: str, contact: Contact | None = None) -> IssuedQuote:
    """A quote with a discount whose reason tells the name as well."""
    job = desk.job(discount={"rate": "0.05", "reason": f"{name} came back"})
    published = desk.quoting.shelf.named(None)
    told = ("diagnosis-fee", "data-loss")
    issued = desk.quoting.issue(job, published, OWNER, contact=contact or a_contact(name), told=told)
    return desk.quoting.get(issued.id)


def a_long_story(desk: Desk, name: str) -> IssuedQuote:
    """Issued, declined with a note, revised with a reason, and how to reach them changed: the name in every text."""
    quote = a_customers_quote(desk, name)
    said = {"name": f"{name} Example", "contact": a_contact(name).phone, "note": f"{name} will ask a friend"}
    declined = desk.decide(quote, "declined", how="phone", **said)
    revised = desk.revise(declined, f"{name} wants it sooner", by=OWNER, urgency="express")
    return desk.quoting.change_contact(revised, Contact(name=name, email=a_contact(name).email), DESK.name)


def an_enquiry(desk: Desk, name: str, number: int = 1, quote: IssuedQuote | None = None) -> str:
    """The id of what was asked by the shop's form, as its table keeps it."""
    contact, at = a_contact(name), stamp(desk.now())
    price, job = desk.quoting.price(desk.job(), desk.quoting.shelf.named(None))
    row: dict[str, Any] = {
        "id": f"019caae4-4a40-7000-8000-{number:012}",
        "reference": f"A{at[:4]}-{number:05d}",
        "received_at": at,
        "through": "0",
        "origin": "https://shop.example.org",
        "locale": "en-IE",
        "book": "ballyquarn",
        "book_version": 1,
        "book_digest": "0" * 64,
        "device": job["device"],
        "device_words": "kessoway 5",
        "currency": "EUR",
        "gross": price["totals"]["gross"],
        "job": json.dumps(job),
        "result": zlib.compress(json.dumps(price).encode()),
        "version": 1,
        "standing": "quoted" if quote else "new",
        "sender": f"hash of {name}",
        "noticed": f"{name} dropped it",
        "contact_name": contact.name,
        "contact_phone": contact.phone,
        "contact_email": contact.email,
        "contact_words": contact_words(contact),
        "may_be_contacted": 1,
        "quote": quote.id if quote else None,
    }
    with desk.store.write() as database:
        database.table("enquiries").insert(row)
    return str(row["id"])


def a_reply(store: Store, about: str, name: str) -> None:
    """A stored answer that tells the name."""
    texts = dict.fromkeys(("holder", "request_sha256", "at"), "x") | {"name": f"request {about}", "about": about}
    row = texts | {"status": 201, "headers": "{}", "body": name.encode(), "expires_at": "2099-01-01"}
    with store.write() as database:
        database.table("replies").insert(row)


def files_of(database: Path) -> bytes:
    """Every byte of the database and of what lies beside it, but for the log's index, which holds no content."""
    return b"".join(path.read_bytes() for path in sorted(database.parent.glob(f"{database.name}*")))


def unpacked(database: Path) -> str:
    """Every value of every table as text, results unpacked."""
    with closing(sqlite3.connect(database)) as connection:
        tables = [name for (name,) in connection.execute("select name from sqlite_master where type = 'table'")]
        rows = [row for table in tables for row in connection.execute(f"select * from {table}")]
    return "\n".join(_text(value) for row in rows for value in row)


def _text(value: Any) -> str:
    if not isinstance(value, bytes):
        return str(value)
    try:
        return zlib.decompress(value).decode()
    except zlib.error:
        return value.decode(errors="replace")
