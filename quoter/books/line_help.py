"""What a line of book.toml, a tax profile or a law profile is for, by its key: `codes.full.components 1.rate`."""

from collections.abc import Iterable, Mapping
from fnmatch import fnmatchcase

from quoter.books.explain import holds
from quoter.books.flat import segments
from quoter.books.settings import (
    BAND_SETTINGS,
    BOOK_SETTINGS,
    CODE_SETTINGS,
    COMPONENT_SETTINGS,
    CUSTOMER_SETTINGS,
    FX_RATE,
    LAW_SETTINGS,
    LINE_CODE,
    NOTICE_SETTINGS,
    NOTICE_TEXT,
    RECLASS_SETTINGS,
    TAX_SETTINGS,
    Setting,
)

Within = tuple[tuple[str, tuple[Setting, ...]], ...]

SETTINGS: Mapping[str, Within] = {
    "book.toml": (("", BOOK_SETTINGS), ("parts.markup.", BAND_SETTINGS)),
    "tax": (
        ("", TAX_SETTINGS),
        ("codes.*.components.", COMPONENT_SETTINGS),
        ("codes.*.", CODE_SETTINGS),
        ("customers.*.", CUSTOMER_SETTINGS),
        ("reclass.", RECLASS_SETTINGS),
    ),
    "law": (("", LAW_SETTINGS), ("notices.*.", NOTICE_SETTINGS)),
}
"""By what leads to them; the place in a list is left out, and * is any name."""

NAMED_BY_THE_OWNER: Mapping[str, tuple[tuple[str, Setting], ...]] = {
    "book.toml": (("fx.*", FX_RATE),),
    "tax": (("lines.*", LINE_CODE),),
    "law": (("notices.*.texts.*", NOTICE_TEXT),),
}
"""Lines whose last name is a currency, a kind of line or a language."""


def line_help(file: str, key: str) -> str | None:
    """What the value is for and how it is written; None of a key that there is not."""
    path = ".".join(name for name, _ in segments(key))
    found = next((setting for place, setting in _places(file) if fnmatchcase(path, place)), None)
    return f"{found.help} ({holds(found.reads)})" if found else None


def _places(file: str) -> Iterable[tuple[str, Setting]]:
    for within, settings in SETTINGS[file]:
        yield from ((within + setting.key, setting) for setting in settings)
    yield from NAMED_BY_THE_OWNER[file]
