"""A compiled book as bytes, so that it can be put anew where nothing else lies.

What is needed to read and check a book takes three times its memory, and while the book lies scattered between it, the
process cannot give that back.
"""

import copyreg
import io
import pickle
from types import MappingProxyType
from typing import Any

from quoter.book import RateBook


def packed(book: RateBook) -> bytes:
    """A book that has not remembered anything yet. The bytes are for this process alone, and never kept."""
    written = io.BytesIO()
    pickler = pickle.Pickler(written, pickle.HIGHEST_PROTOCOL)
    pickler.dispatch_table = copyreg.dispatch_table | {MappingProxyType: _as_pairs}
    pickler.dump(book)
    return written.getvalue()


def unpacked(content: bytes) -> RateBook:
    """What `packed` was given."""
    book: RateBook = pickle.loads(content)
    return book


def _as_pairs(mapping: MappingProxyType[Any, Any]) -> tuple[Any, ...]:
    return _frozen, (dict(mapping),)


def _frozen(mapping: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(mapping)
