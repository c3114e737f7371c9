"""How the database is doing: how much there is of it, and what it has cost in time."""

from pathlib import Path

from quoter.records.measures import StoreState
from quoter.records.webhooks import DELIVERY_STATES
from quoter.store.database import Store


def store_state(store: Store) -> StoreState:
    """Its size, the time spent on it, and what waits in it. Raises Unavailable."""
    rows = store.rows("select state, count(*) as n from deliveries group by state")
    counted = {row["state"]: row["n"] for row in rows}
    return StoreState(
        byte_count=sum(_size(store.path.with_name(store.path.name + ending)) for ending in ("", "-wal")),
        waited_seconds=store.waited_seconds,
        busy_seconds=store.busy_seconds,
        deliveries={state: counted.get(state, 0) for state in DELIVERY_STATES},
    )


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0
