"""What other programs need: origins of keys, answers to repeated requests, enquiries, webhooks."""

from sqlite_utils import Database


def origins_of_keys(db: Database) -> None:
    """From which sites a key may be used, when it last was, and which one it takes over from."""
    keys = db.table("keys")
    keys.add_column("origins", str, not_null_default="")
    keys.add_column("last_used_at", str)
    keys.add_column("replaces", str)


def replies(db: Database) -> None:
    """The first answer to a request that may be repeated, by holder and Idempotency-Key; `about` is what it created."""
    texts = ("holder", "name", "request_sha256", "headers", "about", "at", "expires_at")
    db.table("replies").create(
        {"status": int, "body": bytes, **dict.fromkeys(texts, str)},
        pk=("holder", "name"),
        not_null={"status", "body", *texts},
        strict=True,
    )
    db.table("replies").create_index(["expires_at"])
    db.table("replies").create_index(["about"])


def enquiries(db: Database) -> None:
    """What visitors of the shop's site asked, priced as they were told; names and words stand in columns of their own.

    `filled_sha256` is of the token of the form that was filled in: one form is one enquiry. `sender` is a hash of the
    network address, for limits, and is emptied after a day.
    """
    erasable = ("noticed", "contact_name", "contact_phone", "contact_email", "contact_words")
    plain = ("reference", "received_at", "through", "origin", "locale", "book", "book_digest", "device", "device_words")
    texts = (*plain, "currency", "gross", "job", "standing", "sender", *erasable)
    numbers = ("book_version", "version", "may_be_contacted")
    optional = ("filled_sha256", "quote", "closed_because", "erased_at")
    db.table("enquiries").create(
        {"id": str, "result": bytes, **dict.fromkeys(numbers, int), **dict.fromkeys((*texts, *optional), str)},
        pk="id",
        foreign_keys=[("quote", "quotes", "id")],
        not_null={"result", *numbers, *texts},
        strict=True,
    )
    table = db.table("enquiries")
    table.create_index(["reference"], unique=True)
    table.create_index(["filled_sha256"], unique=True)
    table.create_index(["standing", "id"])
    table.create_index(["sender", "received_at"])
    table.create_index(["through", "received_at"])
    table.create_index(["quote"])


def secrets(db: Database) -> None:
    """What the service signs with, made at first use: by name, the same for every process."""
    db.table("secrets").create({"name": str, "value": bytes}, pk="name", not_null={"value"}, strict=True)


def webhooks(db: Database) -> None:
    """Addresses that want to be told, what there is to tell, and how far each telling is.

    Secrets are kept as they are: a signature cannot be made from a hash. `place` gives the order of deliveries.
    """
    texts = ("address", "events", "secret", "created_at", "created_by", "note")
    db.table("webhooks").create(
        {
            "id": str,
            "version": int,
            **dict.fromkeys(texts, str),
            **dict.fromkeys(("old_secret", "old_secret_until", "paused_at", "paused_because", "ended_at"), str),
        },
        pk="id",
        not_null={"version", *texts},
        strict=True,
    )
    db.table("announcements").create(
        dict.fromkeys(("id", "kind", "about", "at", "body"), str),
        pk="id",
        not_null={"kind", "about", "at", "body"},
        strict=True,
    )
    required = ("announcement", "webhook", "about", "state", "next_at")
    db.table("deliveries").create(
        {
            "place": int,
            "attempts": int,
            **dict.fromkeys(required, str),
            **dict.fromkeys(("claimed_until", "last_at", "last_detail"), str),
            "last_status": int,
        },
        pk="place",
        foreign_keys=[("announcement", "announcements", "id"), ("webhook", "webhooks", "id")],
        not_null={"attempts", *required},
        strict=True,
    )
    table = db.table("deliveries")
    table.create_index(["announcement", "webhook"], unique=True)
    table.create_index(["state", "next_at"])
    table.create_index(["webhook", "about", "place"])
    table.create_index(["webhook", "state", "place"])


def announced_and_erased(db: Database) -> None:
    """Which revision of a quote has been announced as expired, and when its contact was erased."""
    quotes = db.table("quotes")
    quotes.add_column("announced_expiry_of", int)
    quotes.add_column("erased_at", str)
    unannounced = "standing = 'issued' and announced_expiry_of is not revision"
    db.execute(f"create index idx_quotes_unannounced on quotes (expires_at) where {unannounced}")
