"""Published versions of rate books."""

import json
from dataclasses import asdict
from typing import Any

from quoter.books.raw import RawBook, RawRow
from quoter.store.database import Store


class BookVersions:
    """Versions by code and number; a version never changes."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def publish(self, code: str, digest: str, raw: RawBook, at: str) -> int:
        """Keeps the book and gives its version: what says the same has the same number, anything else the next."""
        with self._store.write() as database:
            versions = list(
                database.query("select version, digest from book_versions where code = :code", {"code": code})
            )
            known = {row["digest"]: int(row["version"]) for row in versions}
            if digest in known:
                return known[digest]
            version = max(known.values(), default=0) + 1
            database.table("book_versions").insert(
                {"code": code, "version": version, "digest": digest, "content": _text(raw), "published_at": at}
            )
            return version

    def read(self, code: str, version: int) -> RawBook | None:
        """The text of a version."""
        row = self._store.row(
            "select content from book_versions where code = :code and version = :version",
            {"code": code, "version": version},
        )
        return _raw(row["content"]) if row else None


def _text(raw: RawBook) -> str:
    return json.dumps(asdict(raw) | {"flaws": []}, ensure_ascii=False, separators=(",", ":"))


def _raw(text: str) -> RawBook:
    content: dict[str, Any] = json.loads(text)
    tables = {
        name: tuple(RawRow(row["number"], row["cells"]) for row in rows) for name, rows in content["tables"].items()
    }
    return RawBook(content["settings"], tables, content["tax"])
