"""Measurements of what a draft does, with the draft that was asked about and the files that came of it."""

import json
import zlib
from collections.abc import Iterable, Mapping
from typing import Any

from quoter.books.raw import RawBook
from quoter.records.rates import EffectFile, EffectRun, QuoteRange
from quoter.store.database import Store
from quoter.store.raw_text import raw_of_text, text_of_raw

_RUN = """
    select id, code, old_version, revision, quotes, since, until, state, done, total, asked_at, asked_by, touched_at,
           detail, result
    from effect_runs
"""


class EffectRuns:
    """Measurements by id."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, run: EffectRun, raw: RawBook) -> None:
        """Keeps a measurement that has been asked for."""
        with self._store.write() as database:
            database.table("effect_runs").insert(_row(run) | {"content": text_of_raw(raw)})

    def get(self, run_id: str) -> EffectRun | None:
        """A measurement as far as it is."""
        row = self._store.row(f"{_RUN} where id = :id", {"id": run_id})
        return _run(row) if row else None

    def newest(self, code: str) -> EffectRun | None:
        """The measurement of a book that was asked for last."""
        row = self._store.row(f"{_RUN} where code = :code order by id desc limit 1", {"code": code})
        return _run(row) if row else None

    def content(self, run_id: str) -> RawBook:
        """The text that the measurement is about."""
        row = self._store.row("select content from effect_runs where id = :id", {"id": run_id})
        return raw_of_text(row["content"] if row else "{}")

    def claim(self, now: str, silent_since: str) -> EffectRun | None:
        """The next measurement to do: one that waits, or whose worker has been silent for long. Nobody else gets it."""
        with self._store.write() as database:
            sql = f"""{_RUN}
                where state = 'waiting' or (state = 'running' and touched_at < :silent_since) order by id limit 1"""
            row = next(iter(database.query(sql, {"silent_since": silent_since})), None)
            if row is None:
                return None
            begun = row | {"state": "running", "touched_at": now, "done": 0}
            database.execute(
                "update effect_runs set state = 'running', touched_at = :now, done = 0 where id = :id",
                {"now": now, "id": row["id"]},
            )
        return _run(begun)

    def touch(self, run_id: str, done: int, total: int, now: str) -> bool:
        """Says how far a measurement is. False where it has been cancelled, or taken over by somebody else."""
        with self._store.write() as database:
            changed = database.execute(
                """
                update effect_runs set done = :done, total = :total, touched_at = :now
                where id = :id and state = 'running'
                """,
                {"done": done, "total": total, "now": now, "id": run_id},
            )
            return int(changed.rowcount) == 1

    def end(self, run: EffectRun, result: Mapping[str, Any], files: Iterable[EffectFile]) -> None:
        """Keeps what a measurement came to; one that has ended otherwise meanwhile stays as it is."""
        row = _row(run) | {"result": json.dumps(result, ensure_ascii=False, separators=(",", ":"))}
        rows = [_file_row(run, each) for each in files]  # beforehand: who writes keeps everybody else from writing
        with self._store.write() as database:
            ended = database.execute(
                """
                update effect_runs
                set state = :state, done = :done, total = :total, touched_at = :touched_at, detail = :detail,
                    result = :result
                where id = :id and state in ('waiting', 'running')
                """,
                {name: row[name] for name in ("state", "done", "total", "touched_at", "detail", "result", "id")},
            )
            if int(ended.rowcount) == 1:
                database.table("effect_files").insert_all(rows)

    def file(self, run_id: str, name: str) -> EffectFile | None:
        """A file of a measurement."""
        sql = "select name, type, content from effect_files where run = :run and name = :name"
        row = self._store.row(sql, {"run": run_id, "name": name})
        return EffectFile(row["name"], row["type"], zlib.decompress(row["content"]).decode()) if row else None


def _file_row(run: EffectRun, file: EffectFile) -> dict[str, Any]:
    content = zlib.compress(file.content.encode())
    return {"run": run.id, "name": file.name, "type": file.content_type, "content": content}


def _row(run: EffectRun) -> dict[str, Any]:
    own = ("id", "code", "old_version", "revision", "state", "done", "total", "asked_at", "asked_by", "touched_at")
    row = {name: getattr(run, name) for name in own}
    wanted = {"quotes": run.wanted.limit, "since": run.wanted.since, "until": run.wanted.until}
    return row | wanted | {"detail": run.detail}


def _run(row: dict[str, Any]) -> EffectRun:
    row = dict(row)
    wanted = QuoteRange(row.pop("quotes"), row.pop("since"), row.pop("until"))
    result = json.loads(row.pop("result") or "{}")
    return EffectRun(**row, wanted=wanted, result=result)
