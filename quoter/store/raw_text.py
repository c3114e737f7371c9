"""A rate book's text as one JSON text, as it is kept."""

import json
from typing import Any

from quoter.books.raw import RawBook, RawRow


def text_of_raw(raw: RawBook) -> str:
    """The book as JSON."""
    content = {
        "settings": raw.settings,
        "tax": raw.tax,
        **({"law": raw.law} if raw.law else {}),
        "tables": {name: [[row.number, row.cells] for row in rows] for name, rows in raw.tables.items()},
    }
    return json.dumps(content, default=dict, ensure_ascii=False, separators=(",", ":"))


def raw_of_text(text: str) -> RawBook:
    """What `text_of_raw` came from."""
    content: dict[str, Any] = json.loads(text)
    tables = {name: tuple(RawRow(number, cells) for number, cells in rows) for name, rows in content["tables"].items()}
    return RawBook(content["settings"], tables, content["tax"], law=content.get("law", {}))
