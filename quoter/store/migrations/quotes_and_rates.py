"""The first shape: rate books, keys, quotes, sessions, measurements."""

from sqlite_utils import Database


def rate_books(db: Database) -> None:
    """Every version of a book, as text that can be compiled again; the one draft of each; every change of a draft."""
    db.table("book_versions").create(
        {
            "code": str,
            "version": int,
            "title": str,
            "digest": str,
            "content": str,
            "published_at": str,
            "published_by": str,
            "reason": str,
            "counts_from": str,
            "changes": str,
            "returns_to": int,
        },
        pk=("code", "version"),
        not_null={"title", "digest", "content", "published_at", "published_by", "reason", "counts_from", "changes"},
        strict=True,
    )
    db.table("book_drafts").create(
        {
            "code": str,
            "revision": int,
            "based_on": int,
            "opened_at": str,
            "opened_by": str,
            "changed_at": str,
            "changed_by": str,
            "content": str,
        },
        pk="code",
        not_null={"revision", "based_on", "opened_at", "opened_by", "changed_at", "changed_by", "content"},
        strict=True,
    )
    db.table("book_changes").create(
        {
            "id": int,
            "code": str,
            "based_on": int,
            "opened_at": str,
            "revision": int,
            "at": str,
            "by": str,
            "table": str,
            "row": int,
            "key": str,
            "column": str,
            "old": str,
            "new": str,
        },
        pk="id",
        not_null={"code", "based_on", "opened_at", "revision", "at", "by", "table", "key", "column"},
        strict=True,
    )
    db.table("book_changes").create_index(["code", "opened_at", "revision"])


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


def quotes_and_revisions(db: Database) -> None:
    """A quote and its revisions; a revision holds the job, the book version and the whole result, compressed.

    What many quotes are summed up from stands beside it.
    """
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
            "currency": str,
            "net": str,
            "gross": str,
            "cost": str,
            "margin": str,
            "below_floor": int,
            "job": str,
            "result": bytes,
        },
        pk=("quote", "revision"),
        foreign_keys=[("quote", "quotes", "id")],
        not_null={
            "issued_at",
            "issued_by",
            "book",
            "book_version",
            "book_digest",
            "currency",
            "net",
            "gross",
            "cost",
            "below_floor",
            "job",
            "result",
        },
        strict=True,
    )


def sessions(db: Database) -> None:
    """Sign-ins on the pages, hashed."""
    db.table("sessions").create(
        {"token_sha256": str, "key_id": str, "csrf": str, "created_at": str, "expires_at": str},
        pk="token_sha256",
        not_null={"key_id", "csrf", "created_at", "expires_at"},
        strict=True,
    )


def effect_runs(db: Database) -> None:
    """Measurements of what a draft does; `content` is the draft as it was asked about, `result` what was found."""
    db.table("effect_runs").create(
        {
            "id": str,
            "code": str,
            "old_version": int,
            "revision": int,
            "quotes": int,
            "since": str,
            "until": str,
            "state": str,
            "done": int,
            "total": int,
            "asked_at": str,
            "asked_by": str,
            "touched_at": str,
            "detail": str,
            "content": str,
            "result": str,
        },
        pk="id",
        not_null={"code", "old_version", "revision", "quotes", "state", "done", "total", "asked_at", "asked_by"},
        strict=True,
    )
    db.table("effect_files").create(
        {"run": str, "name": str, "type": str, "content": bytes},
        pk=("run", "name"),
        foreign_keys=[("run", "effect_runs", "id")],
        not_null={"type", "content"},
        strict=True,
    )
