"""Versions and drafts of rate books, and measurements of what a draft does."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # every command needs the records, few the drafts
    from quoter.books.draft import CellChange, Draft


@dataclass(frozen=True, slots=True, kw_only=True)
class BookVersion:
    """A published version of a rate book: who published it, when and why, and from which moment it counts.

    `changes` counts what it added, removed, changed and moved against the version before. `returns_to` is the earlier
    version that it says again, where it is one.
    """

    code: str
    version: int
    title: str
    digest: str
    published_at: str
    published_by: str
    reason: str
    counts_from: str
    changes: Mapping[str, int] = field(default_factory=dict)
    returns_to: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredDraft:
    """The one draft of a book. `revision` counts its saves; who saves says which one they started from."""

    code: str
    revision: int
    based_on: int
    opened_at: str
    opened_by: str
    changed_at: str
    changed_by: str
    draft: "Draft"


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedChange:
    """A change of a draft as it is kept for good: who, when, which cell, old and new."""

    code: str
    based_on: int
    revision: int
    at: str
    by: str
    change: "CellChange"

    def __str__(self) -> str:
        """As a person would tell it."""
        place = " ".join(filter(None, (self.change.table, self.change.key, self.change.column)))
        old, new = self.change.old, self.change.new
        return f"{self.by}: {place}: {'nothing' if old is None else old!r} → {'nothing' if new is None else new!r}"


@dataclass(frozen=True, slots=True)
class QuoteRange:
    """Which issued quotes of a book: at most so many of the newest, issued from one moment to before another."""

    limit: int
    since: str | None = None
    until: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectRun:
    """A measurement of what a draft does, in the background: what it was asked for, how far it is, what it found.

    `state` is waiting, running, done, failed or cancelled. `touched_at` is when it last showed a sign of life: one that
    has been silent for a while is begun again.
    """

    id: str
    code: str
    old_version: int
    revision: int
    wanted: QuoteRange
    state: str
    done: int
    total: int
    asked_at: str
    asked_by: str
    touched_at: str
    detail: str = ""
    result: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class EffectFile:
    """A table or a picture that a measurement came to."""

    name: str
    content_type: str
    content: str
