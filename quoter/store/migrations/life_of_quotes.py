"""Revisions, decisions, agreements, events."""

from secrets import token_urlsafe

from sqlite_utils import Database


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
