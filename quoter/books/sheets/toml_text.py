"""The TOML files of a book as text."""

from collections.abc import Mapping
from typing import Any

import tomli_w  # the standard library reads TOML and does not write it


def toml(document: Mapping[str, Any]) -> str:
    """The document as TOML: all scalars as text, except yes and no; what is none is left out."""
    return tomli_w.dumps(_writable(document))


def _writable(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(key): _writable(inner) for key, inner in value.items() if inner is not None}
    if isinstance(value, list | tuple):
        return [_writable(inner) for inner in value if inner is not None]
    return value if isinstance(value, bool) else str(value)
