"""The shape of the database, step by step. A migration that has been released is never edited.

Amounts are TEXT, written with str and read with Decimal; times are UTC text of one width; documents are JSON text.
"""

from secrets import token_urlsafe

from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

MIGRATIONS = Migrations("quoter")


@MIGRATIONS()
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


@MIGRATIONS()
def sessions(db: Database) -> None:
    """Sign-ins on the pages, hashed."""
    db.table("sessions").create(
        {"token_sha256": str, "key_id": str, "csrf": str, "created_at": str, "expires_at": str},
        pk="token_sha256",
        not_null={"key_id", "csrf", "created_at", "expires_at"},
        strict=True,
    )


@MIGRATIONS()
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


@MIGRATIONS()
def life_of_quotes(db: Database) -> None:
    """What becomes of a quote: its contact, link and agreement, decisions, and events that stay for good.

    `standing` is the state but for the clock. Names and numbers stand in columns that can be emptied, never in events.
    """
    quotes = db.table("quotes")
    quotes.add_column("version", int, not_null_default=1)
    quotes.add_column("standing", str, not_null_default="issued")
    for name in ("link", "contact_name", "contact_phone", "contact_email", "contact_words"):
        quotes.add_column(name, str, not_null_default="")
    quotes.add_column("agreement", str)
    revisions = db.table("revisions")
    for name, unless_said in (("reason", ""), ("told", "[]"), ("expires_at", "")):
        revisions.add_column(name, str, not_null_default=unless_said)
    _make_decisions(db)
    _make_events(db)
    _give_life_to_old_quotes(db)
    db.execute("create unique index idx_quotes_link on quotes (link) where link <> ''")
    quotes.create_index(["standing", "id"])
    quotes.create_index(["standing", "expires_at"])


def _make_decisions(db: Database) -> None:
    texts = ("decision", "name", "at", "how", "contact", "up_to", "note", "recorded_by", "recorded_at")
    db.table("decisions").create(
        {"quote": str, "version": int, "revision": int, "extra": str, **dict.fromkeys(texts, str)},
        pk=("quote", "version"),
        foreign_keys=[("quote", "quotes", "id")],
        not_null={"revision", *texts},
        strict=True,
    )
    db.table("decisions").create_index(["quote", "revision"])


def _make_events(db: Database) -> None:
    """A table that only grows. (`insert or replace` would remove a row without a delete that a trigger sees.)"""
    db.table("quote_events").create(
        {"quote": str, "version": int, "kind": str, "revision": int, "at": str, "by": str, "data": str},
        pk=("quote", "version"),
        foreign_keys=[("quote", "quotes", "id")],
        not_null={"kind", "revision", "at", "by", "data"},
        strict=True,
    )
    known = "select 1 from quote_events where quote = new.quote and version = new.version"
    for what, when in (("update", ""), ("delete", ""), ("insert", f"when exists ({known})")):
        db.execute(
            f"create trigger quote_events_{what} before {what} on quote_events {when} "
            "begin select raise(abort, 'events of quotes stay as they are'); end"
        )


def _give_life_to_old_quotes(db: Database) -> None:
    """Each gets a link of its own, and the event that it was issued with."""
    db.execute("update revisions set expires_at = (select expires_at from quotes where id = revisions.quote)")
    for row in list(db.query("select quote, issued_at, issued_by from revisions where revision = 1")):
        db.execute("update quotes set link = ? where id = ?", [token_urlsafe(32), row["quote"]])
        event = {"quote": row["quote"], "version": 1, "kind": "issued", "revision": 1, "data": "{}"}
        db.table("quote_events").insert(event | {"at": row["issued_at"], "by": row["issued_by"]})
