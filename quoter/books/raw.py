"""A rate book as text: what a folder, a workbook or a store holds before anyone has checked it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from quoter.problems import Flaw, Unreadable

WHOLE_BOOK = "book"
"""The table of a flaw that is about none of the files: there is no book at all."""


@dataclass(frozen=True, slots=True)
class RawRow:
    """A row's cells by column; `number` is the row as a spreadsheet counts (the header is 1)."""

    number: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class RawBook:
    """The text of a book. `settings`, `tax` and `law` are the TOML files with their nesting, all scalars as text.

    `flaws` are those of the files themselves: what could not even be read as text.
    """

    settings: Mapping[str, Any]
    tables: Mapping[str, tuple[RawRow, ...]]
    tax: Mapping[str, Any]
    flaws: tuple[Flaw, ...] = field(default=())
    law: Mapping[str, Any] = field(default_factory=dict)

    @property
    def has_law(self) -> bool:
        """Whether the settings name a law profile. Where they do not, what is kept of one counts for nothing."""
        return bool(str(self.settings.get("law_profile") or "").strip())

    @property
    def incomplete(self) -> frozenset[str]:
        """The tables and files of which a part is missing: their flaws name neither a column nor a row's key.

        What seems to be missing there may well be written, so nobody can say that it is not.
        """
        return frozenset(flaw.table for flaw in self.flaws if not flaw.column and not flaw.key)

    def check_is_one(self, where: str = "the file") -> None:
        """Raises Unreadable, naming `where`, if there is no book at all: it would look like one without any row."""
        for flaw in self.flaws:
            if flaw.table == WHOLE_BOOK:
                raise Unreadable(where, f"{flaw.message} ({flaw.suggestion})")
