"""The first answers to requests that may be repeated, at rest until they expire."""

import json
from dataclasses import asdict

from sqlite_utils import Database

from quoter.problems import Conflict
from quoter.records.replies import EMPTIED, Reply
from quoter.store.database import Store


class Replies:
    """Replies by who sent the request and the name that they gave it."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def find(self, holder: str, name: str, now: str) -> Reply | None:
        """The reply that a request of this name got, unless it has expired."""
        sql = "select * from replies where holder = :holder and name = :name and expires_at > :now"
        row = self._store.row(sql, {"holder": holder, "name": name, "now": now})
        return Reply(**row | {"headers": json.loads(row["headers"])}) if row else None

    def keep(self, reply: Reply) -> None:
        """Keeps a reply, and forgets those that have expired. Raises Conflict where there is one of this name."""
        with self._store.write() as database:
            database.execute("delete from replies where expires_at <= ?", [reply.at])
            if self.find(reply.holder, reply.name, reply.at):
                raise Conflict(f"the request {reply.name!r} has been answered meanwhile")
            database.table("replies").insert(asdict(reply) | {"headers": json.dumps(dict(reply.headers))})


def empty_replies(database: Database, about: str) -> int:
    """Stored answers say what was sent, and secrets: of those about a path, and about all below it, nothing stays until
    their day is over but that there was one, so that who repeats the request does not make it anew."""
    sql = f"""
        update replies set status = {EMPTIED}, body = x'', headers = '{{}}', request_sha256 = ''
        where status <> {EMPTIED} and (about = :about or (about > :about || '/' and about < :about || '0'))
    """
    return int(database.execute(sql, {"about": about}).rowcount)
