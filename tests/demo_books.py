"""Reads and compiles the demo's rate books once in a process, since each test has a service that begins with them.

A service still packs, publishes and unpacks a book itself, so that no two have anything in common.
"""

from pathlib import Path

from quoter.book import RateBook
from quoter.books.compile import compiled
from quoter.books.load import read_folder
from quoter.books.raw import RawBook
from quoter.service.rates import shelf

RATES = Path(__file__).parents[1] / "rates"

_read: dict[Path, RawBook] = {}
_compiled: dict[int, RateBook] = {}
"""By the identity of what was read."""


def read_once() -> None:
    """From now on in this process, for folders of the demo alone: tests change copies of them."""
    shelf.read_folder, shelf.compiled = _folder, _book


def known(*folders: Path) -> None:
    """Reads and compiles them now, for those processes that begin as copies of this one."""
    for folder in folders:
        _book(_folder(folder))


def _folder(folder: Path) -> RawBook:
    if folder.parent != RATES:
        return read_folder(folder)
    if folder not in _read:
        _read[folder] = read_folder(folder)
    return _read[folder]


def _book(raw: RawBook) -> RateBook:
    if not any(raw is kept for kept in _read.values()):
        return compiled(raw)
    if id(raw) not in _compiled:
        _compiled[id(raw)] = compiled(raw)
    return _compiled[id(raw)]
