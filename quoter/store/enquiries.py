"""Enquiries: what visitors of the shop's site asked, whole, and what became of it."""

import json
import zlib
from typing import Any

from quoter.problems import ChangedMeanwhile
from quoter.records.enquiries import Enquiry, EnquiryFilter
from quoter.records.quotes import Contact
from quoter.store.counting import next_number
from quoter.store.database import Store
from quoter.store.quote_search import contact_words, customer_pattern, device_pattern

SAME = (
    "id",
    "reference",
    "received_at",
    "through",
    "origin",
    "locale",
    "book",
    "book_version",
    "book_digest",
    "device_words",
    "noticed",
    "filled_sha256",
    "sender",
    "version",
    "standing",
    "quote",
    "closed_because",
    "erased_at",
)
"""Members of an enquiry that are kept as they are, in columns of the same name."""


class Enquiries:
    """Enquiries by id. What `add` and `change` were given is on disk when they return."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, enquiry: Enquiry) -> Enquiry:
        """Keeps a new enquiry and gives it the next reference of its year, in one transaction."""
        with self._store.write() as database:
            enquiry = enquiry.numbered(next_number(database, f"enquiries {enquiry.received_at[:4]}"))
            database.table("enquiries").insert(_row(enquiry))
        return enquiry

    def change(self, changed: Enquiry) -> None:
        """Keeps an enquiry as it is now: the next version of what was seen.

        Raises ChangedMeanwhile where the enquiry is not at the version before any more.
        """
        with self._store.write() as database:
            row = self._store.row("select version from enquiries where id = :id", {"id": changed.id})
            if row is None or row["version"] != changed.version - 1:
                raise ChangedMeanwhile(
                    f"enquiry {changed.reference} is not what you have seen: it was changed meanwhile"
                )
            kept = {name: getattr(changed, name) for name in ("version", "standing", "quote", "closed_because")}
            database.table("enquiries").update(changed.id, kept)

    def get(self, enquiry_id: str) -> Enquiry | None:
        """The enquiry with this id."""
        return self._one("id = :value", enquiry_id)

    def by_reference(self, reference: str) -> Enquiry | None:
        """The enquiry with this reference."""
        return self._one("reference = :value", reference)

    def by_form(self, filled_sha256: str) -> Enquiry | None:
        """The enquiry that a form has made already."""
        return self._one("filled_sha256 = :value", filled_sha256)

    def of_quote(self, quote_id: str) -> Enquiry | None:
        """The enquiry that a quote was made of."""
        return self._one("quote = :value", quote_id)

    def find(self, wanted: EnquiryFilter) -> list[Enquiry]:
        """The newest enquiries first, at most `wanted.limit`, from after `wanted.after` on."""
        all_of, values = _conditions(wanted)
        sql = f"select * from enquiries where {' and '.join(all_of)} order by id desc limit :limit"
        return [_enquiry(row) for row in self._store.rows(sql, values | {"limit": wanted.limit})]

    def count(self, standing: str) -> int:
        """How many enquiries stand like this."""
        row = self._store.row("select count(*) as n from enquiries where standing = :standing", {"standing": standing})
        return int(row["n"]) if row else 0

    def nth_from(self, sender: str, number: int) -> str | None:
        """When the last enquiry but so many came from a sender; None where there have not been as many."""
        return self._nth("sender", sender, number)

    def nth_through(self, key_id: str, number: int) -> str | None:
        """When the last enquiry but so many came through a key; None where there have not been as many."""
        return self._nth("through", key_id, number)

    def forget_senders(self, before: str) -> None:
        """Empties who sent what came before a moment."""
        with self._store.write() as database:
            database.execute("update enquiries set sender = '' where sender > '' and received_at < ?", [before])

    def _nth(self, column: str, value: str, number: int) -> str | None:
        sql = f"""
            select received_at from enquiries where {column} = :value order by received_at desc limit 1 offset :before
        """
        row = self._store.row(sql, {"value": value, "before": number - 1})
        return str(row["received_at"]) if row else None

    def _one(self, condition: str, value: str) -> Enquiry | None:
        row = self._store.row(f"select * from enquiries where {condition}", {"value": value})
        return _enquiry(row) if row else None


def _conditions(wanted: EnquiryFilter) -> tuple[list[str], dict[str, Any]]:
    """Conditions that must all hold, and the values that they name."""
    possible = {
        "after": ("id < :after", wanted.after),
        "reference": ("reference = :reference", wanted.reference and wanted.reference.strip().upper()),
        "standing": ("standing = :standing", wanted.standing),
        "device": ("device = :device", wanted.device),
        "quote": ("quote = :quote", wanted.quote),
        "words": ("device_words like :words escape '\\'", device_pattern((wanted.words or "").strip())),
        "customer": ("contact_words like :customer escape '\\'", customer_pattern((wanted.customer or "").strip())),
    }
    given = {name: each for name, each in possible.items() if each[1] is not None}
    return ["true", *(condition for condition, _ in given.values())], {
        name: value for name, (_, value) in given.items()
    }


def _row(enquiry: Enquiry) -> dict[str, Any]:
    """Documents are JSON text, the result compressed; currency, gross and device stand beside them to be counted."""
    result = enquiry.result
    return {
        **{name: getattr(enquiry, name) for name in SAME},
        "device": enquiry.job["device"],
        "currency": result["currency"],
        "gross": result["totals"]["gross"],
        "job": _text(enquiry.job),
        "result": zlib.compress(_text(result).encode()),
        "contact_name": enquiry.contact.name,
        "contact_phone": enquiry.contact.phone,
        "contact_email": enquiry.contact.email,
        "contact_words": contact_words(enquiry.contact),
        "may_be_contacted": int(enquiry.may_be_contacted),
    }


def _enquiry(row: dict[str, Any]) -> Enquiry:
    return Enquiry(
        **{name: row[name] for name in SAME},
        job=json.loads(row["job"]),
        result=json.loads(zlib.decompress(row["result"])),
        contact=Contact(name=row["contact_name"], phone=row["contact_phone"], email=row["contact_email"]),
        may_be_contacted=bool(row["may_be_contacted"]),
    )


def _text(document: Any) -> str:
    return json.dumps(document, ensure_ascii=False, separators=(",", ":"))
