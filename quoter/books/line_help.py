"""What a line of book.toml, a tax profile or a law profile is for, by its key: `codes.full.components 1.rate`."""

from collections.abc import Iterator
from fnmatch import fnmatchcase

from quoter.books.explain import SECTIONS, holds
from quoter.books.flat import segments
from quoter.books.settings import Setting


def line_help(file: str, key: str) -> str | None:
    """What the value is for and how it is written; None of a key that there is not."""
    path = ".".join(name for name, _ in segments(key))
    found = next((setting for place, setting in _places(file) if fnmatchcase(path, place)), None)
    return f"{found.help} ({holds(found.reads)})" if found else None


def _places(file: str) -> Iterator[tuple[str, Setting]]:
    """Where each setting of a document stands."""
    for section in SECTIONS:
        if section.document == file:
            for setting in section.settings:
                yield section.within + ("*" if section.named else setting.key), setting
