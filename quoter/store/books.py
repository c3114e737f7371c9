"""Published versions of rate books."""

import json
from dataclasses import asdict
from typing import Any

from quoter.books.raw import RawBook, RawRow
from quoter.store.database import Store


class BookVersions:
    """Versions by code and number; a version never changes, and the newest is the one that counts."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def publish(self, code: str, digest: str, raw: RawBook, at: str) -> int:
        """Keeps the book and gives its version: the old number where the newest version says the same."""
        with self._store.write() as database:
            newest = next(
                iter(
                    database.query(
                        "select version, digest from book_versions where code = :code order by version desc limit 1",
                        {"code": code},
                    )
                ),
                None,
            )
            if newest and newest["digest"] == digest:
                return int(newest["version"])
            version = int(newest["version"]) + 1 if newest else 1
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
