"""The first answers to requests that may be repeated."""

from collections.abc import Mapping
from dataclasses import dataclass

EMPTIED = 0
"""The status of a reply of which nothing is left but that there was one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """The answer that a request with an Idempotency-Key got, by who sent it and the name that they gave it.

    `about` is the path of what was created, by which the answer is found when somebody's data is to be erased.
    """

    holder: str
    name: str
    request_sha256: str
    status: int
    headers: Mapping[str, str]
    body: bytes
    about: str
    at: str
    expires_at: str
