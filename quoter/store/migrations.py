"""The shape of the database, step by step. A migration that has been released is never edited.

Amounts are TEXT, written with str and read with Decimal; times are UTC text of one width; documents are JSON text.
"""

from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

MIGRATIONS = Migrations("quoter")


@MIGRATIONS()
def books_and_versions(db: Database) -> None:
    """Every version of a book that prices were named from, as text that can be compiled again."""
    db.table("book_versions").create(
        {"code": str, "version": int, "digest": str, "content": str, "published_at": str},
        pk=("code", "version"),
        not_null={"digest", "content", "published_at"},
        strict=True,
    ).create_index(["code", "digest"], unique=True)


@MIGRATIONS()
def keys(db: Database) -> None:
    """API keys, hashed."""
    db.table("keys").create(
        {
            "id": str,
            "name": str,
            "scope": str,
            "sees_economics": int,
            "secret_sha256": str,
            "created_at": str,
            "expires_at": str,
            "revoked_at": str,
        },
        pk="id",
        not_null={"name", "scope", "sees_economics", "secret_sha256", "created_at"},
        strict=True,
    )


@MIGRATIONS()
def quotes_and_revisions(db: Database) -> None:
    """A quote and its revisions; a revision holds the job, the book version and the whole result."""
    db.table("counters").create({"name": str, "value": int}, pk="name", not_null={"value"}, strict=True)
    db.table("quotes").create(
        {
            "id": str,
            "number": str,
            "book": str,
            "device": str,
            "device_words": str,
            "revision": int,
            "issued_at": str,
            "expires_at": str,
        },
        pk="id",
        not_null={"number", "book", "device", "device_words", "revision", "issued_at", "expires_at"},
        strict=True,
    )
    db.table("quotes").create_index(["number"], unique=True)
    db.table("quotes").create_index(["device", "id"])
    db.table("revisions").create(
        {
            "quote": str,
            "revision": int,
            "issued_at": str,
            "issued_by": str,
            "book": str,
            "book_version": int,
            "book_digest": str,
            "job": str,
            "result": str,
        },
        pk=("quote", "revision"),
        foreign_keys=[("quote", "quotes", "id")],
        not_null={"issued_at", "issued_by", "book", "book_version", "book_digest", "job", "result"},
        strict=True,
    )
