"""Records to keep."""

from dataclasses import replace
from typing import Any

from quoter.records.access import StoredKey
from quoter.records.quotes import IssuedQuote

AT = "2026-03-02T09:30:00.000000Z"

KEY = StoredKey(
    id="0123456789ab",
    name="front desk",
    scope="desk",
    sees_economics=False,
    secret_sha256="0" * 64,
    created_at=AT,
)

QUOTE = IssuedQuote(
    id="019caae4-4a40-7000-8000-000000000000",
    number="",
    revision=1,
    issued_at=AT,
    issued_by="front desk",
    expires_at="2026-04-01T23:00:00.000000Z",
    book="small",
    book_version=1,
    book_digest="0" * 64,
    job={"device": "slate", "repairs": [{"procedure": "battery"}], "discount": None},
    result={
        "currency": "EUR",
        "totals": {"net": "12.30", "gross": "0.10"},
        "economics": {"cost": "7.100000", "margin": None, "floor": "8.000000", "below_floor": False},
        "title": "Ärmel „ß“ ١ 電池 😀",
        "digits": 2,
    },
)


def a_quote(number: int = 0, **changes: Any) -> IssuedQuote:
    """A quote with an id of its own."""
    return replace(QUOTE, id=f"019caae4-4a40-7000-8000-{number:012}", **changes)
