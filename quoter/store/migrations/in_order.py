"""The shape of the database, step by step. A migration that has been released is never edited.

Amounts are TEXT, written with str and read with Decimal; times are UTC text of one width; documents are JSON text.
"""

from sqlite_utils.migrations import Migrations

from quoter.store.migrations.life_of_quotes import life_of_quotes
from quoter.store.migrations.other_programs import (
    announced_and_erased,
    enquiries,
    origins_of_keys,
    replies,
    secrets,
    webhooks,
)
from quoter.store.migrations.quotes_and_rates import effect_runs, keys, quotes_and_revisions, rate_books, sessions

IN_ORDER = (
    rate_books,
    keys,
    quotes_and_revisions,
    sessions,
    effect_runs,
    life_of_quotes,
    origins_of_keys,
    replies,
    enquiries,
    secrets,
    webhooks,
    announced_and_erased,
)
"""A new one comes last. A database remembers by name which ones it has had."""

MIGRATIONS = Migrations("quoter")
for _migration in IN_ORDER:
    MIGRATIONS()(_migration)
