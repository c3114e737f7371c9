"""How the store is doing."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreState:
    """Size and work of the database: bytes on disk, seconds that this process waited for and held its write lock.

    `deliveries` counts webhooks' deliveries by state.
    """

    byte_count: int
    waited_seconds: float
    busy_seconds: float
    deliveries: Mapping[str, int] = field(default_factory=dict)
