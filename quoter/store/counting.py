"""Numbers that are given once: each counter is a row, and only ever goes up."""

from sqlite_utils import Database


def next_number(database: Database, name: str) -> int:
    """The next number of a counter, within the transaction that uses it."""
    sql = (
        "insert into counters (name, value) values (:name, 1) "
        "on conflict (name) do update set value = value + 1 returning value"
    )
    return int(next(iter(database.execute(sql, {"name": name})))[0])
